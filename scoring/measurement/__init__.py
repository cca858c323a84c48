"""What an exam or an assessor measures, and how well: items, reliability, agreement, cut scores.

Each module settles one kind of figure from plain arrays. Nothing here knows of a
page, a file or a person's name.
"""
