"""Where and when an invented operator works, as far as it changes what he or she does."""

from __future__ import annotations

from collections.abc import Collection
from datetime import datetime

from sample_cohort.plan import NEW, PEOPLE
from sample_cohort.truth import Circumstances, Truth

DAYS_A_MONTH = 365.25 / 12
"""Mean length of a month, days: of the Julian year."""


def circumstances(
    operator: str, when: datetime, truth: Truth, retrained: Collection[str]
) -> Circumstances:
    """Return the circumstances of an operator at a time.

    Parameters
    ----------
    operator : str
        A code of :data:`sample_cohort.plan.PEOPLE`.
    when : datetime
    truth : Truth
        Knows the day of the retraining.
    retrained : collection of str
        Who was chosen for it; not looked at before that day.
    """
    person = PEOPLE[operator]
    months = None
    if operator in NEW:
        months = max(0, (when.date() - NEW[operator]).days) / DAYS_A_MONTH
    after = when.date() >= truth.retraining.day
    return Circumstances(person.site, person.shift, months, after and operator in retrained)
