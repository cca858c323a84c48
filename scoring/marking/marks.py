"""The result of marking: one mark a decision, one result a station, one sitting."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from scoring.marking.rule import Looked
from scoring.model import Station

Verdict = Literal["not assessed", "not yet", "borderline", "competent"]


@dataclass(frozen=True, slots=True)
class DecisionMark:
    """The mark of one decision.

    Attributes
    ----------
    scenario, decision : str
        Where it belongs.
    station : Station
        Station of the scenario.
    assessed : bool
        False when there is no readable answer; then `credit` is 0 and the
        decision is not counted as answered.
    credit : float
        Share of the points, 0 to 1.
    maximum : float
        Points the decision is worth (its weight times the scenario's).
    reason : str
        A code that the words file has a sentence for (an option id, ``right``,
        ``too_low``, …), or why it was not assessed.
    mistakes : tuple of str
        Catalogue ids of the mistakes made.
    unsafe : bool
        An unsafe answer was given.
    critical : bool
        The decision is critical.
    hinted : bool
        A hint was asked for, which costs credit (:mod:`scoring.marking.hints`).
    looked : Looked or None
        Of marked places: hits, misses, false alarms and correct rejections.
    off : float or None
        Of a quantity: natural logarithm of the amount over the middle of the right window.
    """

    scenario: str
    decision: str
    station: Station
    assessed: bool
    credit: float
    maximum: float
    reason: str
    mistakes: tuple[str, ...] = ()
    unsafe: bool = False
    critical: bool = False
    hinted: bool = False
    looked: Looked | None = None
    off: float | None = None

    @property
    def points(self) -> float:
        """Credit times maximum."""
        return self.credit * self.maximum


@dataclass(frozen=True, slots=True)
class StationResult:
    """What one sitting shows of one station.

    `share` is points over maximum of the whole station (an unanswered decision
    adds to the maximum and not to the points); `low` and `high` are its 95 %
    interval and `decisions` the number of answers it rests on.
    """

    station: Station
    verdict: Verdict
    points: float
    maximum: float
    share: float
    low: float
    high: float
    decisions: int
    unanswered: int
    failed_critical: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class SittingMarks:
    """All marks of one sitting.

    `complete` is False while the sitting was not handed in. `unplaced` names
    answers (``scenario/decision``) that fit no decision of the form.
    """

    sitting: str
    operator: str
    form: str
    complete: bool
    decisions: tuple[DecisionMark, ...]
    stations: tuple[StationResult, ...]
    unplaced: tuple[str, ...] = ()
