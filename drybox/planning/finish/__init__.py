"""From dry to flat and in its folder.

`sheet` is a print as its curl sees it.
"""
