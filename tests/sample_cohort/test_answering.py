"""Every answer an invented operator gives is one that the page could have sent."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace

import pytest

from sample_cohort.answering import Operator
from sample_cohort.truth import StationTruth, Truth
from scoring.form import Form
from scoring.instance import Instance
from scoring.library import Library
from scoring.marking.credit import check_answer, rule_of
from scoring.model import STATIONS
from scoring.site import SiteValues


@pytest.fixture(scope="module")
def instances(library: Library, site: SiteValues, forms: Sequence[Form]) -> list[Instance]:
    return [
        library.instance(part.id, site, part.seed or 0) for form in forms for part in form.scenarios
    ]


def of_level(level: float) -> Truth:
    stations = {station: StationTruth(level, 0.0) for station in STATIONS}
    return replace(Truth(), stations=stations, habits=(), difficulty_spread=0.0)


def test_every_answer_can_be_taken_and_marked(instances: Sequence[Instance]) -> None:
    for number in range(60):
        operator = Operator(f"POP-{number}", Truth(), 9)
        for instance in instances:
            for decision in instance.scenario.decisions:
                value = operator.answer(instance, decision, "form")
                assert check_answer(decision, value, instance) is None, (decision.id, value)
                assert 0 <= rule_of(decision, instance)(value).credit <= 1


def test_a_perfect_operator_earns_everything_but_what_eyes_miss(
    instances: Sequence[Instance],
) -> None:
    operator = Operator("POP-1", of_level(40.0), 2)
    for instance in instances:
        for decision in instance.scenario.decisions:
            if decision.kind != "mark_places":
                value = operator.answer(instance, decision, "form")
                assert rule_of(decision, instance)(value).credit == 1.0, (decision.id, value)


def test_a_hopeless_operator_makes_only_mistakes(instances: Sequence[Instance]) -> None:
    operator = Operator("POP-1", of_level(-40.0), 2)
    for instance in instances:
        for decision in instance.scenario.decisions:
            if decision.kind in ("choose_one", "order", "choose_several"):
                value = operator.answer(instance, decision, "form")
                assert rule_of(decision, instance)(value).credit < 1.0, (decision.id, value)


def test_every_wrong_option_is_chosen_by_somebody(instances: Sequence[Instance]) -> None:
    for instance in instances:
        for decision in instance.scenario.decisions:
            if decision.kind != "choose_one":
                continue
            given = Counter(
                Operator(f"POP-{number}", of_level(0.0), 4).answer(instance, decision, "form")
                for number in range(120)
            )
            assert set(given) == {option.id for option in decision.options}


def test_people_repeat_their_own_mistakes(instances: Sequence[Instance]) -> None:
    """The favourite of three wrong options is taken far oftener than one time in three."""
    instance = instances[0]
    decision = next(
        d for i in instances for d in i.scenario.decisions
        if d.kind == "choose_one" and len(d.options) == 4
    )  # fmt: skip
    instance = next(i for i in instances if decision in i.scenario.decisions)
    shares = []
    for number in range(40):
        operator = Operator(f"POP-{number}", of_level(-40.0), 4)
        given = Counter(operator.answer(instance, decision, f"day-{day}") for day in range(40))
        shares.append(given.most_common(1)[0][1] / 40)
    assert sum(shares) / len(shares) > 0.55


def test_right_is_as_frequent_as_the_truth_says(instances: Sequence[Instance]) -> None:
    truth = of_level(1.0)
    right = total = 0
    for number in range(150):
        operator = Operator(f"POP-{number}", truth, 6)
        for instance in instances[:8]:
            for decision in instance.scenario.decisions:
                if decision.kind == "choose_one":
                    value = operator.answer(instance, decision, "form")
                    right += rule_of(decision, instance)(value).credit == 1.0
                    total += 1
    assert right / total == pytest.approx(0.7311, abs=3.5 * (0.7311 * 0.2689 / total) ** 0.5)


def test_the_same_occasion_gives_the_same_answer_and_another_may_not(
    instances: Sequence[Instance],
) -> None:
    operator = Operator("OP-101", Truth(), 1)
    answers = [
        [operator.answer(i, d, occasion) for i in instances for d in i.scenario.decisions]
        for occasion in ("form-a", "form-a", "form-b")
    ]
    assert answers[0] == answers[1]
    assert answers[0] != answers[2]
