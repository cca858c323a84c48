"""What a manager sees of a cohort: tables, figures, findings in words, the printed report.

Steps come first and people, by code, second: the report helps to mend a step,
not to rank a person.
"""
