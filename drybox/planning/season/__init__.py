"""The year, and a tour of fairs.

`season` sums up by month and hour; `year` and `weather` lay a year out, `aim` is how the box
faces through it, `times` dries a print every ten minutes; `tour` does several places.
"""
