"""Marking: answers to credit, credit to a station's result. Pure functions, no language."""
