"""The whole event day from its results: `moments` puts what plan, aim and setting out say in order.

It works out nothing of its own, so that no number differs from theirs.
"""
