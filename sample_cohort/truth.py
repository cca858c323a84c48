"""The planted truth: how good the invented operators are, and where they differ.

Every number here is an assumption, chosen so that a manager meets each kind of
result once. None comes from a real department.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from statistics import NormalDist

from scoring.instance import draw
from scoring.model import Station

_NORMAL = NormalDist()


@dataclass(frozen=True, slots=True)
class StationTruth:
    """How one station goes, on the logit scale of a right answer.

    Attributes
    ----------
    level : float
        Ability of the middle operator against a decision of middle difficulty;
        1.4 means right in 80 of 100.
    spread : float
        Standard deviation of ability between operators, at least 0.
    """

    level: float
    spread: float


@dataclass(frozen=True, slots=True)
class Habit:
    """Something one operator does again and again.

    `shift` is added to the ability at decisions of `topic`, on the logit scale.
    """

    operator: str
    topic: str
    shift: float
    said: str


@dataclass(frozen=True, slots=True)
class Looking:
    """How operators see soil on a drawn instrument (signal detection).

    Attributes
    ----------
    dprime : float
        Distance between soiled and clean places for the middle operator, in
        standard deviations of what is seen.
    slope : float
        How much one unit of ability at the station adds to it.
    caution : float
        Where the middle operator draws the line: above 0 marks fewer places.
    caution_spread : float
        Standard deviation of that line between operators.
    """

    dprime: float = 2.2
    slope: float = 0.8
    caution: float = 0.35
    caution_spread: float = 0.15


STATIONS: Mapping[Station, StationTruth] = {
    "ready": StationTruth(1.6, 0.4),
    # Soaking follows a label, so people are good and alike.
    "soak": StationTruth(1.5, 0.5),
    # Brushing is learnt by watching others, so here it depends on who.
    "brush": StationTruth(1.1, 1.9),
    "rinse": StationTruth(1.3, 0.7),
    # Everybody misses things in the same poor light: the step needs mending, not the people.
    "inspect": StationTruth(0.3, 0.3),
}
"""The planted truth of each station. Assumptions: one step that depends on who, one that is hard
for everybody, and three without news, so that a report can be right or wrong about each."""

HABITS: tuple[Habit, ...] = (
    Habit("OP-107", "dose", -3.0, "pours the cleaner in by eye"),
    Habit("OP-115", "series", -2.5, "uses the same rinse water twice"),
    Habit("OP-120", "protective-equipment", -3.0, "pushes the face shield up when it fogs"),
)
"""People with one bad habit each, at decisions of one topic. Assumptions: large enough that a
trainer would want to hear of them, each at another kind of decision."""


@dataclass(frozen=True)
class Truth:
    """The whole of the planted truth.

    Attributes
    ----------
    stations : mapping of Station to StationTruth
    habits : tuple of Habit
    looking : Looking
    difficulty_spread : float
        Standard deviation of the difficulty of decisions, on the logit scale.
    typical_weight : float
        How many times more often an operator makes his or her typical mistake
        than another one.
    dose_error : float
        Standard deviation of the logarithm of a wrong quantity over the right
        one; 0.5 means that two thirds lie between 0.6 and 1.6 times.
    """

    stations: Mapping[Station, StationTruth] = field(default_factory=lambda: dict(STATIONS))
    habits: tuple[Habit, ...] = HABITS
    looking: Looking = Looking()
    difficulty_spread: float = 0.5
    typical_weight: float = 4.0
    dose_error: float = 0.5

    def ability(self, seed: int, operator: str, station: Station) -> float:
        """Return the ability of an operator at a station, on the logit scale."""
        truth = self.stations[station]
        return truth.level + truth.spread * normal(seed, "ability", operator, station)

    def shift(self, operator: str, topic: str) -> float:
        """Return what the operator's habits add at decisions of `topic`."""
        return sum(
            habit.shift
            for habit in self.habits
            if habit.operator == operator and habit.topic == topic
        )

    def difficulty(self, seed: int, scenario: str, decision: str) -> float:
        """Return the difficulty of a decision, on the logit scale; 0 is the middle."""
        return self.difficulty_spread * normal(seed, "difficulty", scenario, decision)

    def caution(self, seed: int, operator: str) -> float:
        """Return where the operator draws the line when looking for soil."""
        spread = self.looking.caution_spread * normal(seed, "caution", operator)
        return self.looking.caution + spread

    def chance_of_marking(
        self, ability: float, level: float, caution: float, soiled: bool
    ) -> float:
        """Return how likely a place is marked as soiled.

        Parameters
        ----------
        ability, level : float
            The operator's ability at the station and the middle operator's.
        caution : float
            The operator's line.
        soiled : bool
            Whether the place is soiled.
        """
        dprime = max(0.0, self.looking.dprime + self.looking.slope * (ability - level))
        return _NORMAL.cdf((dprime if soiled else -dprime) / 2 - caution)


def normal(seed: int, *names: str) -> float:
    """Return a standard normal number that depends on the seed and the names alone."""
    # Half a step away from 0, where the inverse has no value.
    return _NORMAL.inv_cdf(draw(seed, "sample-cohort", *names) * (1 - 2.0**-52) + 2.0**-53)
