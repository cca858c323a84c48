"""The planted truth: how good the invented operators are, and where they differ.

Every number here is an assumption, chosen so that a manager meets each kind of
result once. None comes from a real department.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from datetime import date
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
    Habit("OP-210", "protective-equipment", -3.0, "pushes the face shield up when it fogs"),
)
"""People with one bad habit each, at decisions of one topic. Assumptions: large enough that a
trainer would want to hear of them, each at another kind of decision."""


WORSE: Mapping[str, float] = {"OP-112": -1.6, "OP-217": -1.6}
"""Operators who are truly worse at every station, and by how much on the logit scale: at a
decision that the middle operator gets right in 80 of 100, about 47 of 100. Assumptions."""


@dataclass(frozen=True, slots=True)
class ShiftHabit:
    """Something that one shift of one site leaves out.

    `by` is added to the ability at decisions of `topic` and at checklist items that
    name one of `mistakes`, on the logit scale.
    """

    site: str
    shift: str
    topic: str
    mistakes: tuple[str, ...]
    by: float
    said: str


SHIFT_HABIT = ShiftHabit(
    "Merrowholt", "night", "final-water", ("M63", "M84"), -3.0,
    "leaves the rinse with treated water out",
)  # fmt: skip
"""One shift of one site. An assumption, large enough to hurt and small enough to hide in a mean
over all shifts."""


@dataclass(frozen=True, slots=True)
class Learning:
    """How new starters come up: `below` at the start, closing by the factor e in `months`."""

    below: float
    months: float


LEARNING = Learning(2.0, 3.0)
"""Half of what a new starter lacks is learnt in two months. An assumption."""


@dataclass(frozen=True, slots=True)
class Retraining:
    """A retraining at one station, for those who scored lowest before it."""

    station: Station
    day: date
    chosen: int
    effect: float
    months_before: int


RETRAINING = Retraining("brush", date(2025, 7, 1), 12, 0.6, 3)
"""A modest real effect, on the logit scale, for a quarter of the operators: those with the lowest
share of right answers at brushing in the three months before. Chosen so, a plain difference of
before and after would claim more. Assumptions."""


RATERS: Mapping[str, float] = {"AS-1": 0.0, "AS-2": -0.1, "AS-3": 0.1, "AS-4": 1.5}
"""Assessors, and how much more readily each writes "done", on the logit scale: three alike and one
lenient. Assumptions."""


@dataclass(frozen=True, slots=True)
class Rating:
    """How assessors see an item of a checklist.

    Attributes
    ----------
    sharp : float
        Logit of writing what was done: 2.6 is right in 93 of 100.
    unseen : float
        Part of the items that could not be watched.
    item_spread : float
        Standard deviation of the difficulty of items, on the logit scale.
    overall_noise : float
        Standard deviation of the overall rating about what was done, in grades.
    """

    sharp: float = 2.6
    unseen: float = 0.03
    item_spread: float = 0.7
    overall_noise: float = 0.5


BROKEN: Mapping[str, str] = {"sample-brush-broken-key": "exam-brush-grasper-gauge"}
"""A scenario whose key is wrong on purpose, and the sound one that it was copied from: people
answer it as they would the sound one."""


@dataclass(frozen=True, slots=True)
class Circumstances:
    """Where and when a person answers, as far as it changes the answer.

    Attributes
    ----------
    site, shift : str
    months_in_post : float or None
        None for somebody long in post.
    retrained : bool
        After the retraining, and chosen for it.
    """

    site: str = ""
    shift: str = ""
    months_in_post: float | None = None
    retrained: bool = False


USUAL = Circumstances()
"""Somebody long in post, at no place in particular."""


@dataclass(frozen=True)
class Truth:
    """The whole of the planted truth.

    Attributes
    ----------
    stations : mapping of Station to StationTruth
    habits : tuple of Habit
    looking : Looking
    worse : mapping of str to float
    shift_habit : ShiftHabit
    learning : Learning
    retraining : Retraining
    raters : mapping of str to float
    rating : Rating
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
    worse: Mapping[str, float] = field(default_factory=lambda: dict(WORSE))
    shift_habit: ShiftHabit = SHIFT_HABIT
    learning: Learning = LEARNING
    retraining: Retraining = RETRAINING
    raters: Mapping[str, float] = field(default_factory=lambda: dict(RATERS))
    rating: Rating = Rating()
    difficulty_spread: float = 0.5
    typical_weight: float = 4.0
    dose_error: float = 0.5

    def ability(
        self, seed: int, operator: str, station: Station, at: Circumstances = USUAL
    ) -> float:
        """Return the ability of an operator at a station, on the logit scale.

        Parameters
        ----------
        seed : int
        operator : str
        station : Station
        at : Circumstances
        """
        truth = self.stations[station]
        ability = truth.level + truth.spread * normal(seed, "ability", operator, station)
        ability += self.worse.get(operator, 0.0)
        if at.months_in_post is not None:
            ability -= self.learning.below * math.exp(-at.months_in_post / self.learning.months)
        if at.retrained and station == self.retraining.station:
            ability += self.retraining.effect
        return ability

    def shift(self, operator: str, topic: str, at: Circumstances = USUAL) -> float:
        """Return what habits add at decisions of `topic`: the operator's own and the shift's."""
        own = sum(
            habit.shift
            for habit in self.habits
            if habit.operator == operator and habit.topic == topic
        )
        return own + (self.shift_habit.by if topic == self.shift_habit.topic
                      and self._has_shift_habit(at) else 0.0)  # fmt: skip

    def item_shift(self, mistakes: Collection[str], at: Circumstances) -> float:
        """Return what the shift's habit adds at a checklist item that names these mistakes."""
        named = set(mistakes) & set(self.shift_habit.mistakes)
        return self.shift_habit.by if named and self._has_shift_habit(at) else 0.0

    def _has_shift_habit(self, at: Circumstances) -> bool:
        return (at.site, at.shift) == (self.shift_habit.site, self.shift_habit.shift)

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
