"""How much depends on who: intervals, and the share of differences between operators.

Each module settles one figure. Nothing here knows of a page or a file.
"""
