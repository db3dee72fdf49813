"""The whole event day from its results: `moments` puts what plan, aim and setting out say in order.

`series` is the day by the minute. They work out nothing of their own, so that no number differs
from theirs.
"""
