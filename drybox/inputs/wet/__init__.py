"""The wet side as told: stages, sheets, baths and the wash.

`process` is the wet process, shipped or the user's own; `wash` what is known before a wash;
`side` reads paper and process of an event or of options alone.
"""
