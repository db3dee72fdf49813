"""The day sheet: one HTML file that needs nothing else.

`page` lays it out by the templates beside it, `parts` takes rows and words from answers,
`drawings` draws the box, `fit` is the sheet of a calibration.
"""
