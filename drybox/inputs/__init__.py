"""What we are told, checked when it is made: the event, its weather, wet side, finish and notes."""
