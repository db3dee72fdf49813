"""The day sheet: one HTML file that needs nothing else.

`page` lays it out by the templates beside it, `parts` takes rows and words from answers, `day_view`
the first screen and the evening before, `pocket` the numbers that tapped tickets are counted down
by, `drawings` draws the box, `charts` the curves, `fit` is the sheet of a calibration.
"""
