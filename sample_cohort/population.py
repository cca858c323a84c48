"""What the planted truth means for the marks: the share between operators, as it truly is.

The truth is planted on the logit scale of single decisions, but the report speaks
of scores. So a population far larger than any department is sent through the same
answering and the same marking, and its share is taken as the truth.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from sample_cohort.answering import Operator
from sample_cohort.truth import Truth
from scoring.evidence import TooLittleEvidence
from scoring.form import Form
from scoring.instance import Instance
from scoring.library import Library
from scoring.marking.credit import rule_of
from scoring.model import Station
from scoring.site import SiteValues
from scoring.variation.between import BetweenShare, between_share
from scoring.variation.two_way import lay_out

POPULATION = 1500
"""Operators simulated: enough that the interval of a share is about five points wide."""


def population_shares(
    forms: Sequence[Form],
    library: Library,
    site: SiteValues,
    seed: int,
    truth: Truth | None = None,
    operators: int = POPULATION,
) -> Mapping[Station, BetweenShare | TooLittleEvidence]:
    """Return the share between operators at each station in a large population.

    Parameters
    ----------
    forms : sequence of Form
        Every operator sits all of them.
    library : Library
    site : SiteValues
    seed : int
        The cohort's seed: decisions are as hard as in the cohort, operators are others.
    truth : Truth, optional
        The planted truth; the kit's own when left out. Its habits belong to
        operators of the cohort, so nobody here has one.
    operators : int
        How many, at least 5.

    Raises
    ------
    ValueError
        A scenario of a form has no seed, so that people would meet different ones.
    """
    planted = truth or Truth()
    scores: dict[Station, tuple[list[str], list[str], list[float]]] = {}
    people = [Operator(f"POP-{number}", planted, seed) for number in range(1, operators + 1)]
    for form in forms:
        for part in form.scenarios:
            if part.seed is None:
                raise ValueError(f"{form.name}: {part.id} has no seed of its own")
            instance = library.instance(part.id, site, part.seed)
            columns = scores.setdefault(instance.scenario.station, ([], [], []))
            for person, share in zip(people, _shares(instance, people, form.name), strict=True):
                columns[0].append(person.code)
                columns[1].append(form.name)
                columns[2].append(share)
    return {station: between_share(lay_out(*columns)) for station, columns in scores.items()}


def _shares(instance: Instance, people: Sequence[Operator], form: str) -> list[float]:
    """Return the share of points of each operator, one scenario a station as in the forms."""
    rules = [(decision, rule_of(decision, instance)) for decision in instance.scenario.decisions]
    maximum = sum(decision.weight for decision, _ in rules)
    return [
        sum(
            decision.weight * rule(person.answer(instance, decision, form)).credit
            for decision, rule in rules
        )
        / maximum
        for person in people
    ]
