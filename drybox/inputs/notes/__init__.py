"""Field notes: what was measured and seen.

`note` is one note, `phrases` how it is typed, `odd` what is odd about it; `store` keeps them in
`database`, `csv_file` writes and reads them; `fits` keeps what was learnt from them,
`fitted_event` puts that into an event, and `day_notes` what was noted on its own day.
"""
