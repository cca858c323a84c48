"""Hypothesis without a deadline: a busy machine is no fault of the code under test."""

from hypothesis import settings

settings.register_profile("no-deadline", deadline=None)
settings.load_profile("no-deadline")
