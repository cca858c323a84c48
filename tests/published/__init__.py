"""Published worked examples, and what the kit computes for them.

Each module beside this one holds the cases of one area as `CASES`; the figures
stand in ``tests/data/published`` with the status that each was found with.
``python -m tests.published`` prints the whole table.
"""
