"""Forecasts: tables of the hours to come.

`csv_file` reads whatever a site or a spreadsheet saved (`columns` and `times` know its headings
and clocks), `json_file` a service's own form; `fetch` asks a service, politely by `web`.
"""
