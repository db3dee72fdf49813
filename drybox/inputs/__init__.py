"""What we are told: place, box, paper, weather and event, checked when made."""
