"""Put in order: Kendall's distance, with hard rules of precedence."""

from __future__ import annotations

from typing import Any

from scoring.marking.refusal import Refusal
from scoring.marking.rule import Credit, Rule, UnreadableAnswer, check_ids, once
from scoring.scenario import Order


def check(decision: Order, value: Any) -> Refusal | None:
    """Say why this is no order of all the items; None when it is one."""
    names = frozenset(item.id for item in decision.items)
    misfit = check_ids(value, names)
    if misfit is None and len(value) != len(names):
        return Refusal("missing_action")
    return misfit


def rule(decision: Order) -> Rule:
    """Compile the rule.

    With d pairs of n(n-1)/2 the wrong way round (Kendall's distance), the credit
    is ``max(0, 1 - 2 d / (n (n - 1) / 2))``: Kendall's tau, floored, so that an
    order drawn by lot earns nothing on average before the floor. The distance is
    Kendall's (Biometrika 1938, 30:81-93; from memory); taking its tau as credit
    is a working judgement. A broken precedence that is unsafe earns 0 whatever
    the distance; one that is not unsafe is named as a mistake and already costs
    its pairs.
    """
    place = {item.id: number for number, item in enumerate(decision.items)}
    pairs = len(place) * (len(place) - 1) // 2
    ranked = sorted(decision.precedence, key=lambda precedence: not precedence.unsafe)

    def mark(value: Any) -> Credit:
        misfit = check(decision, value)
        if misfit is not None:
            raise UnreadableAnswer(misfit)
        ranks = [place[name] for name in value]
        swapped = sum(
            earlier > later for spot, earlier in enumerate(ranks) for later in ranks[spot + 1 :]
        )
        if not swapped:
            return Credit(1.0, "right")
        given = {name: spot for spot, name in enumerate(value)}
        broken = [
            precedence for precedence in ranked if given[precedence.first] > given[precedence.then]
        ]
        unsafe = any(precedence.unsafe for precedence in broken)
        return Credit(
            0.0 if unsafe else max(0.0, 1.0 - 2.0 * swapped / pairs),
            broken[0].first if broken else "wrong",
            once([precedence.mistake for precedence in broken] or [decision.mistake]),
            unsafe,
        )

    return mark
