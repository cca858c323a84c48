"""Invented departments whose truth is known, to show and to test what the kit can find out."""

from pathlib import Path

HERE = Path(__file__).parent

SCENARIOS = HERE / "scenarios"
"""Scenarios that only the sample cohort sits: broken on purpose."""

FORMS = HERE / "forms"
"""The forms that hold them."""
