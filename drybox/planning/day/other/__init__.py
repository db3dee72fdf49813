"""What other days would bring that are no change of the resources, each a simulation of its own.

`opening` is the day an hour earlier, `plate` the day with a cooler plate or one that faces the sun.
"""
