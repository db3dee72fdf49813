"""What sitters are told: from the moment they sit, by the hour, and anew as the day goes.

`by_sitting` counts every stage from the sitting, `hours` is the rule of each hour, `kept` how
many promises other days keep; `so_far` fixes what was noted of a day under way, `sun_gone`
takes a sun noted gone from it, `now` plans on; `pulls` finds windows that the hands miss.
"""
