"""Washing, baths, and the wet line's queue.

`wash` plans a wash (`pools` how fast a batch leaves thiosulfate behind, `words` its figures in
words), `water` says for which prints the day's water lasts, `baths` which bath gives out first,
`line` who waits where.
"""
