"""Which way the box faces, and where it stands in the sun.

`search` finds the aim, `hold` one below a limit, `wind` how steep it may stand, `last_use` till
when it is of use; `schedule` is the aim by the minute, `event_aim` what `aim` answers, `off_sun`
why it is not at the sun; `sighting` how it is sighted, `wall_strip` what the walls shade; `spots`
when each spot of a place is in the sun.
"""
