"""One print: how long, how hot, and which way of drying.

`drying` dries it each way and `ways` chooses; `set_out` is when the box goes out; `lay_print` is
one laid on, `lay_ons` and `lookups` at many times, `sheet_day` what the sheet shows of them,
`series` the run as told; `hot_metal` and `cures` are how hot and what helps.
"""
