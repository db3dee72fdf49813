"""What field notes teach of box, hand, paper and place.

`calibration` is the whole; `measured` and `noted_weather` make days of notes, `cases` and
`model` what the simulation says of them, `fit` the least squares, `said` and `curves` what came
of it; `shadow_lines` learns obstacles, `promise_keeping` counts promises kept.
"""
