"""The ways of drying a print, by name; what each is like stands in the table ``ways``."""

from __future__ import annotations

WAYS = ("sun_plate", "line_shade", "screen_shade", "line_sun", "blotters", "warm_plate", "warm_air")

LINE_WAYS = ("line_shade", "line_sun", "screen_shade")
"""Those in which prints hang or lie free, many at a time."""
