"""The nbgrader course: the form as an assignment, marks from the answer logs into the gradebook.

Nothing of a candidate's is ever run. A submitted notebook is a copy for the
record; the marks come from the answer log alone.
"""
