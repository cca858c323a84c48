"""New starters, retraining and forgetting: planted truths are told, and what is missing is said."""

from __future__ import annotations

from datetime import date

import numpy as np
import pytest

from scoring.cohort.answers_in_time import AnswersInTime, answers_in_time, some_of
from scoring.cohort.new_starters import NewStarters, new_starters
from scoring.cohort.retrained import MOST_EACH, retrainings
from scoring.cohort.retraining_chart import retraining_figure
from scoring.cohort.sign_off import expiry_found, expiry_rows, sign_offs
from scoring.cohort.starting_curve import StartingCurve, curve_found, starting_curve
from scoring.cohort.time_findings import retrained_found, starters_found
from scoring.evidence import Estimate, TooLittleEvidence
from scoring.records.people import Happening
from scoring.site import PassRules
from scoring.variation.bernoulli_cusum import signal_probabilities
from scoring.variation.learning_cusum import learning_cusum
from scoring.variation.retraining import RetrainingEffect
from tests.scoring.cohort.timed import Timed

RULES = PassRules(cut=0.6, expiry_months=12, source="invented for the test")


def followed(made: Timed) -> tuple[AnswersInTime, NewStarters]:
    answers = answers_in_time(made.table())
    found = new_starters(answers)
    assert isinstance(found, NewStarters)
    return answers, found


def test_verdicts_are_those_of_the_learning_cusum_for_the_careful_order() -> None:
    answers, found = followed(Timed(operators=40, new=10, learn=1.0))
    verdicts = set()
    for one in found.starters:
        row: list[int] = []
        ends: list[int] = []
        code = answers.operators.index(one.operator)
        for k in np.flatnonzero(answers.operator == code):
            right = int(answers.decisions[k] - answers.wrong[k])
            row += [0] * right + [1] * int(answers.wrong[k])
            ends.append(len(row))
        path = learning_cusum(row, found.design).path
        shown = [end for end in ends if path[end - 1] >= found.design.h - 1e-9]
        assert one.after == (shown[0] if shown else None)
        assert one.verdict == ("shown" if shown else "not shown")
        assert one.rate.n == len(row)
        assert (one.more == 0) == bool(shown)
        verdicts.add(one.verdict)
    assert verdicts == {"shown", "not shown"}


def test_who_stays_behind_is_passed_as_rarely_as_promised() -> None:
    """Everybody new truly fails p1 throughout: no more pass than the chain of answers allows."""
    made = Timed(operators=400, new=200, learn=0.0, spread=0.0, months=range(10))
    table = made.table()
    rng = np.random.default_rng(8)
    new = table.scenarios["operator"].isin([f"OP-{k + 1:04d}" for k in range(200)])
    old_rate = 0.25
    table.scenarios.loc[~new, "right"] = 5 - rng.binomial(5, old_rate, int((~new).sum()))
    behind = 0.4  # twice the odds of 0.25
    table.scenarios.loc[new, "right"] = 5 - rng.binomial(5, behind, int(new.sum()))
    found = new_starters(answers_in_time(table))
    assert isinstance(found, NewStarters)
    assert found.design.p0 == pytest.approx(old_rate, abs=0.011)
    answered = 10 * 3 * 5
    promised = signal_probabilities(found.design, behind, answered)[-1]
    passed = sum(one.verdict == "shown" for one in found.starters)
    assert passed <= 200 * promised + 3 * np.sqrt(200 * promised)


def test_a_first_day_is_too_little_evidence() -> None:
    answers, found = followed(Timed(operators=20, new=2, months=(0,)))
    assert not answers.empty
    assert {one.verdict for one in found.starters} == {"too little evidence"}
    assert "too few answers" in starters_found(found).support


def test_the_level_is_reached_when_the_planted_curve_reaches_it() -> None:
    """Lacking 2 on the logit scale, fading by e in 3 months: 5 in 100 are left after 6 to 7."""
    answers, new = followed(Timed(operators=60, new=20, learn=2.0, months=range(18), seed=6))
    found = starting_curve(answers, new)
    assert isinstance(found, StartingCurve)
    assert found.curve.learning
    until = found.curve.until
    assert isinstance(until, Estimate)
    assert until.low is not None
    assert until.low < 6.6
    assert until.high is None or until.high > 6.6
    assert "An average new starter is within 5 in 100" in curve_found(found).headline
    assert found.counted[0][1].estimate > found.counted[-1][1].estimate


def test_nobody_learns_where_nobody_lacks_anything() -> None:
    answers, new = followed(Timed(operators=60, new=20, learn=0.0, seed=7))
    found = starting_curve(answers, new)
    assert isinstance(found, StartingCurve)
    assert not found.curve.learning
    assert "do not show" in curve_found(found).headline


def test_a_retraining_is_told_beside_what_chance_alone_does() -> None:
    """The worst are chosen and nothing is done: the plain comparison claims a rise, the model not.

    Of 20 departments at most 4 intervals of the model miss 0: with 5 in 100 each, that is what
    99 in 100 tests would see.
    """
    missed = 0
    naive = []
    for seed in range(20):
        table = Timed(operators=40, months=range(8), seed=seed, spread=0.8).table()
        brush = table.scenarios["station"] == "brush"
        early = table.scenarios["at"].map(table.sittings["month"]) < "2024-05"
        share = table.scenarios[brush & early].groupby("operator")["right"].sum()
        chosen = tuple(share.sort_values(kind="stable").index[:10])
        happening = Happening(date(2024, 5, 1), "retraining", "brush", chosen, "")
        (one,) = retrainings(answers_in_time(table), [happening])
        assert isinstance(one.effect, RetrainingEffect)
        naive.append(one.effect.naive.value)
        low, high = one.effect.points.low, one.effect.points.high
        assert low is not None
        assert high is not None
        missed += not low <= 0 <= high
    assert missed <= 4
    assert np.mean(naive) > 4


def test_a_strong_retraining_is_told_as_help_and_drawn() -> None:
    table = Timed(operators=60, months=range(10), seed=3, level=0.5).table()
    chosen = tuple(f"OP-{k + 1:04d}" for k in range(0, 60, 3))
    rows = (
        table.scenarios["operator"].isin(chosen)
        & (table.scenarios["station"] == "brush")
        & (table.scenarios["at"].map(table.sittings["month"]) >= "2024-06")
    )
    table.scenarios.loc[rows, "right"] = 4
    happening = Happening(date(2024, 6, 1), "retraining", "brush", chosen, "")
    found = retrainings(answers_in_time(table), [happening])
    said = retrained_found(found[0])
    assert "helped" in said.headline
    assert "luck does not last" in said.support
    drawn = retraining_figure(found)
    assert drawn is not None
    assert "the retraining itself" in drawn.alt


def test_of_many_people_an_even_part_is_modelled() -> None:
    answers = answers_in_time(Timed(operators=300, months=range(4)).table())
    wanted = np.ones(300, dtype=bool)
    kept = np.flatnonzero(some_of(answers, wanted, MOST_EACH))
    assert len(kept) == MOST_EACH
    assert np.ptp(np.diff(kept)) <= 1
    assert some_of(answers, wanted, 500).all()
    chosen = tuple(f"OP-{k + 1:04d}" for k in range(150))
    happening = Happening(date(2024, 3, 1), "retraining", "brush", chosen, "")
    (one,) = retrainings(answers, [happening])
    assert isinstance(one.effect, RetrainingEffect)
    assert (one.effect.retrained, one.effect.others) == (MOST_EACH, MOST_EACH)


AWAY = (0, 1, 2, 4, 9, 10, 16, 17, 24)
"""Months with a sitting: gaps of 1, 2, 5, 6 and 7 months."""


def test_forgetting_gives_a_proposal_and_its_reason() -> None:
    made = Timed(operators=80, months=AWAY, forget=0.25, level=-1.5, seed=2)
    rows = sign_offs(answers_in_time(made.table()), RULES)
    assert {row.longest for row in rows} == {max(row.longest for row in rows)}
    assert all(row.proposal is not None for row in rows)
    for row in rows:
        months = row.proposal.months if row.proposal else None
        assert months is not None
        assert 0 <= months.value <= min(row.longest, RULES.expiry_months)
    assert "fades first" in expiry_found(rows, RULES).headline
    assert [line["step"] for line in expiry_rows(rows)] == ["Soak", "Brush", "Rinse"]


def test_without_forgetting_or_without_gaps_the_data_cannot_tell() -> None:
    kept = sign_offs(answers_in_time(Timed(operators=40, months=AWAY, seed=5).table()), RULES)
    assert all(row.proposal is None for row in kept)
    assert "do not show" in expiry_found(kept, RULES).headline
    assert {line["proposal"] for line in expiry_rows(kept)} == {"the data cannot tell"}
    monthly = sign_offs(answers_in_time(Timed().table()), RULES)
    assert all(isinstance(row.curve, TooLittleEvidence) for row in monthly)
    assert "cannot tell how fast" in expiry_found(monthly, RULES).headline
    assert expiry_rows(monthly) == []
    once = sign_offs(answers_in_time(Timed(months=(0,)).table()), RULES)
    assert expiry_found(once, RULES).support.startswith("Nobody has sat a step twice.")
