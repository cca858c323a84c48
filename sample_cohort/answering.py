"""How an invented operator answers one decision: right, or with a mistake that people make."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import TypeVar

from sample_cohort.truth import USUAL, Circumstances, Truth, normal
from scoring.attempt import AnswerValue
from scoring.bench.handling import Handling
from scoring.instance import Instance, draw
from scoring.scenario import ChooseOne, ChooseSeveral, Decision, MarkPlaces, Order, Quantity
from scoring.units import COUNTED, from_base_unit, in_base_unit

DIGITS = 2
"""Significant digits to which people give a measured quantity. An assumption."""

USUAL_UNIT = 0.9
"""Part of the answers given in the unit that the decision names first. An assumption."""

_RANGES = {
    setting.name: (setting.metadata["low"], setting.metadata["high"])
    for setting in dataclasses.fields(Handling)
}
"""What can be set at the sink: the page takes no other quantity."""

Item = TypeVar("Item")


@dataclass(frozen=True)
class Operator:
    """One invented operator: a code, under a truth and a seed.

    Attributes
    ----------
    code : str
    truth : Truth
    seed : int
    at : Circumstances
        Where and when, as far as it matters.
    """

    code: str
    truth: Truth
    seed: int
    at: Circumstances = USUAL

    def answer(self, instance: Instance, decision: Decision, occasion: str) -> AnswerValue:
        """Return the answer to a decision on one occasion; the same arguments give the same."""
        luck = (self.code, occasion, instance.scenario.id, decision.id)
        if decision.kind == "mark_places":
            return self._places(instance, decision, luck)
        right = draw(self.seed, *luck, "right") < self.chance(instance, decision)
        if decision.kind == "choose_one":
            return self._one(decision, right, luck)
        if decision.kind == "choose_several":
            return self._several(decision, right, luck)
        if decision.kind == "order":
            return self._order(decision, right, luck)
        return self._quantity(instance, decision, right, luck)

    def chance(self, instance: Instance, decision: Decision) -> float:
        """Return how likely the operator settles this decision rightly."""
        ability = self._ability(instance, decision)
        difficulty = self.truth.difficulty(self.seed, instance.scenario.id, decision.id)
        return 1.0 / (1.0 + math.exp(difficulty - ability))

    def _ability(self, instance: Instance, decision: Decision) -> float:
        ability = self.truth.ability(self.seed, self.code, instance.scenario.station, self.at)
        return ability + self.truth.shift(self.code, decision.topic, self.at)

    def _one(self, decision: ChooseOne, right: bool, luck: tuple[str, ...]) -> str:
        options = [option for option in decision.options if (option.credit == 1.0) == right]
        return self._typical(options, decision, luck).id

    def _several(
        self, decision: ChooseSeveral, right: bool, luck: tuple[str, ...]
    ) -> tuple[str, ...]:
        wrong = set()
        if not right:
            wrong.add(self._typical(decision.ticks, decision, luck).id)
            if draw(self.seed, *luck, "second") < 0.3:
                second = int(draw(self.seed, *luck, "which") * len(decision.ticks))
                wrong.add(decision.ticks[second].id)
        ticked = tuple(tick.id for tick in decision.ticks if tick.right != (tick.id in wrong))
        if ticked:
            return ticked
        # The page takes no empty answer: whoever finds nothing right ticks something wrong.
        return (self._typical([t for t in decision.ticks if not t.right], decision, luck).id,)

    def _order(self, decision: Order, right: bool, luck: tuple[str, ...]) -> tuple[str, ...]:
        names = [item.id for item in decision.items]
        if right:
            return tuple(names)
        if decision.precedence and draw(self.seed, *luck, "rule") < 0.7:
            broken = self._typical(decision.precedence, decision, luck)
            names.remove(broken.then)
            names.insert(names.index(broken.first), broken.then)
        else:
            place = int(draw(self.seed, *luck, "place") * (len(names) - 1))
            names[place], names[place + 1] = names[place + 1], names[place]
        return tuple(names)

    def _quantity(
        self, instance: Instance, decision: Quantity, right: bool, luck: tuple[str, ...]
    ) -> AnswerValue:
        key = instance.keys[decision.id]
        other = 1 + int(draw(self.seed, *luck, "unit") * (len(decision.units) - 1))
        usual = draw(self.seed, *luck, "usual") < USUAL_UNIT or len(decision.units) == 1
        unit = decision.units[0 if usual else other]
        if right:
            base = key.low + draw(self.seed, *luck, "within") * (key.high - key.low)
        else:
            # The operator's own bias (who pours too much does so again) and the day's error.
            error = 0.7 * normal(self.seed, "bias", self.code, decision.rule)
            error += 0.7 * normal(self.seed, *luck, "error")
            base = (key.low + key.high) / 2 * math.exp(self.truth.dose_error * error)
            base = min(max(base, _RANGES[decision.sets][0]), _RANGES[decision.sets][1])
        amount = _as_said(from_base_unit(base, unit), unit)
        if right and not key.low <= in_base_unit(amount, unit) <= key.high:
            amount = from_base_unit(base, unit)
        return {"amount": amount, "unit": unit}

    def _places(
        self, instance: Instance, decision: MarkPlaces, luck: tuple[str, ...]
    ) -> tuple[str, ...]:
        station = instance.scenario.station
        ability = self._ability(instance, decision)
        level = self.truth.stations[station].level
        caution = self.truth.caution(self.seed, self.code)
        return tuple(
            place
            for place in instance.instrument.places
            if draw(self.seed, *luck, place)
            < self.truth.chance_of_marking(ability, level, caution, place in instance.soiled)
        )

    def _typical(self, items: Sequence[Item], decision: Decision, luck: tuple[str, ...]) -> Item:
        """Pick one; each operator has a favourite among those of a decision."""
        favourite = int(draw(self.seed, "favourite", self.code, decision.id) * len(items))
        weights = [
            self.truth.typical_weight if place == favourite else 1.0 for place in range(len(items))
        ]
        left = draw(self.seed, *luck, "pick") * sum(weights)
        for item, weight in zip(items, weights, strict=True):
            left -= weight
            if left < 0:
                return item
        return items[-1]


def _as_said(amount: float, unit: str) -> float:
    """Round as people do: whole things whole, the rest to two significant digits, never to 0."""
    if unit in COUNTED:
        return float(max(0, round(amount)))
    return float(f"{amount:.{DIGITS}g}")
