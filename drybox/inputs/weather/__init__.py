"""The weather a day is worked out for.

`weather` is the record; `words` what the event says in words and numbers, `event_weather` the
event's table and the file it names; `usual_air` what is usual where nobody told it; `checks` what
a column may hold, `odd` what is hard to believe and `time_marks` what the times of rows mark;
`wind` the wind near the ground; `look` reads any weather file without an event.
"""
