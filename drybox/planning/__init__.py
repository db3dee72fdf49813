"""What to do: aim, set-out, ways of drying, the event day."""
