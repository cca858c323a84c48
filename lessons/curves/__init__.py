"""The trainer's page of curves: what each quantity does, at the department's own values."""
