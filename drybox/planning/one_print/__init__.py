"""One print: how long, how hot, and which way of drying.

`drying` dries it each way and `ways` chooses; `set_out` is when the box goes out, `lay_ons` and
`lookups` laying on at other times, `sheet_day` what the sheet shows of them, `series` the run as
told; `hot_metal` and `cures` are how hot and what helps.
"""
