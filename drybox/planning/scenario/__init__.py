"""What a day is worked out under, and what is not known of it.

`conditions` is the day by the minute (`sun_minutes` sun and shade, `weather_day` by the hour,
`both_skies` without a cloud told, `rain`), `samples` its ensemble, `readings` what was read on
the day; `outside` and `models` are what the simulation takes; `percentiles` what is told of it.
"""
