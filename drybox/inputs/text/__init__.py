"""How typed text is read: files, keys, dates, coordinates.

`file_text` and `toml_lines` open a file and know its lines, `settings` takes checked values out
of its tables; `dates` and `coordinates` read what people write; `near_names` finds what was
meant; `ranges` is the check that every record makes when it is made.
"""
