"""What each retraining did: one model with everybody's answers, beside the plain comparison."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from scoring.cohort.answers_in_time import AnswersInTime, Floats, Ints, day_said, some_of
from scoring.cohort.saying import STATION_WORK
from scoring.evidence import TooLittleEvidence
from scoring.model import STATIONS
from scoring.records.people import Happening
from scoring.variation.retraining import RetrainingEffect, retraining_effect

MOST_RETRAININGS = 3
"""Retrainings that a report works out, the latest ones: each costs a figure's room and a model. A
working judgement; the text says when there are more."""

DAYS_A_PERIOD = 30.4375
"""Days of one period of the model's calendar: a mean month of the Julian year."""

LEARNT_AFTER = 24.0
"""Months in post after which nobody is taken to learn by being there alone. A working judgement,
no source."""

MOST_EACH = 80
"""Most retrained people, and most others, in one model, evenly spread over the codes: more make
the page slower and the interval a little narrower. A working judgement; the text says so."""

SEED = 1
"""Of the simulated comparison without effect; any number does, and the same gives the same."""


@dataclass(frozen=True, slots=True)
class Retrained:
    """One retraining.

    Attributes
    ----------
    event : Happening
    step : str
        The work it concerned, inside a sentence.
    effect : RetrainingEffect or TooLittleEvidence
    """

    event: Happening
    step: str
    effect: RetrainingEffect | TooLittleEvidence


def retrainings(answers: AnswersInTime, events: Sequence[Happening]) -> tuple[Retrained, ...]:
    """Return the latest `MOST_RETRAININGS` retrainings, by day."""
    latest = [event for event in events if event.kind == "retraining"][-MOST_RETRAININGS:]
    return tuple(
        Retrained(
            event,
            STATION_WORK[event.station] if event.station else "all steps together",
            _effect(answers, event),
        )
        for event in latest
    )


def _effect(answers: AnswersInTime, event: Happening) -> RetrainingEffect | TooLittleEvidence:
    rows = np.ones(len(answers.at), dtype=bool)
    if event.station is not None:
        rows = answers.station == STATIONS.index(event.station)
    if not rows.any():
        where = "this step" if event.station else "any step"
        return TooLittleEvidence("answers", f"Nobody has answered {where} yet.", 0)
    offset = (answers.day[rows] - np.datetime64(event.day)).astype(np.int64)
    said = day_said(event.day)
    if (offset < 0).all():
        return TooLittleEvidence("after", f"There are no answers from {said} on.", int(rows.sum()))
    if (offset >= 0).all():
        text = f"There are no answers before {said}."
        return TooLittleEvidence("before", text, int(rows.sum()))
    if not event.operators:
        text = (
            "Everybody was retrained on one day. Without people who were not, nothing tells the "
            "retraining from whatever else changed then."
        )
        return TooLittleEvidence("others", text, 0)
    chosen = np.isin(np.array(answers.operators, dtype=object), event.operators)
    if not chosen.any():
        text = "No answer of those who were retrained is in the data."
        return TooLittleEvidence("retrained", text, 0)
    here = np.zeros(len(chosen), dtype=bool)
    here[answers.operator[rows]] = True
    if not (here & chosen).any():
        text = "No answer of those who were retrained is at this step."
        return TooLittleEvidence("retrained", text, 0)
    used = some_of(answers, here & chosen, MOST_EACH) | some_of(answers, here & ~chosen, MOST_EACH)
    kept = used[answers.operator[rows]]
    codes = [answers.operators[code] for code in np.flatnonzero(used & chosen)]
    return _fitted(answers, np.flatnonzero(rows)[kept], offset[kept], codes)


def _fitted(
    answers: AnswersInTime, rows: Ints, offset: Ints, retrained: Sequence[str]
) -> RetrainingEffect | TooLittleEvidence:
    """Fit the model to counts by operator, scenario and month."""
    period = np.floor(offset / DAYS_A_PERIOD).astype(np.int64)
    scenarios = len(answers.scenarios)
    pair = answers.operator[rows] * scenarios + answers.scenario[rows]
    span = int(np.ptp(period)) + 1
    cells, at = np.unique(pair * span + period - period.min(), return_inverse=True)
    n = np.bincount(at, answers.decisions[rows])
    wrong = np.bincount(at, answers.wrong[rows])
    operator, scenario = np.divmod(cells // span, scenarios)
    fixed = {}
    learnt = _learnt(answers.in_post[rows], at)
    if np.ptp(learnt) > 0:
        fixed["in post"] = learnt.tolist()
    return retraining_effect(
        n - wrong,
        n,
        operators=np.array(answers.operators, dtype=object)[operator].tolist(),
        scenarios=np.array(answers.scenarios, dtype=object)[scenario].tolist(),
        times=cells % span + period.min() + 0.5,
        retrained=retrained,
        at=0.0,
        seed=SEED,
        fixed=fixed,
        interval="wald",
    )


def _learnt(in_post: Floats, at: Ints) -> Floats:
    """Return the logarithm of one and the months in post, those not known as long in post."""
    months = np.where(np.isnan(in_post), LEARNT_AFTER, np.clip(in_post, 0.0, LEARNT_AFTER))
    each: Floats = np.bincount(at, np.log1p(months)) / np.bincount(at)
    return each
