"""The method in plain words: what `drybox explain` says.

`answer` finds the topic, `topic` is one; `sun`, `prints`, `finishing` and `measuring` hold them.
"""
