"""Weather years: what is typical of a place.

`typical` makes one year of a file and puts it onto an event's dates; `layouts` knows which kind
of file it is, `formats` reads each kind, `plain_csv` writes our own; `fetch` asks for a year.
"""
