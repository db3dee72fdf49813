"""Which way the box faces, and where it stands in the sun.

`search` finds the aim, `hold` one that keeps the plate below a limit, `last_use` till when it is
of use; `schedule` is the aim of a day by the minute, `event_aim` what `aim` answers; `sighting`
how it is sighted; `spots` when each spot of a place is in the sun.
"""
