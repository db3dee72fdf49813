"""Files made for the user: whole or not at all.

`write` writes any of them; `json_record` and `csv_table` are an answer for programs,
`series_csv` and `fit_curves` the numbers behind it, `calendar_file` the day's moments.
"""
