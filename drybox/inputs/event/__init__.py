"""The event file: everything that one day's question needs.

`event` reads it whole; `place` and `spots` are where, `box` and `paper` what is used, `ways` the
ways of drying, `limits` what counts as dry and as too hot, `day` and `sitters` who comes and
when; `tour` is a table of several events.
"""
