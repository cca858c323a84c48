"""Choose one and choose several."""

from __future__ import annotations

from typing import Any

from scoring.marking.refusal import Refusal
from scoring.marking.rule import Credit, Rule, UnreadableAnswer, check_ids, once
from scoring.scenario import ChooseOne, ChooseSeveral


def check_one(decision: ChooseOne, value: Any) -> Refusal | None:
    """Say why this is none of the options; None when it is one."""
    if not isinstance(value, str):
        return Refusal("no_choice")
    if all(option.id != value for option in decision.options):
        return Refusal("unknown_choice")
    return None


def rule_one(decision: ChooseOne) -> Rule:
    """Compile the rule: the credit the file gives to the option."""
    table = {
        option.id: Credit(
            option.credit,
            option.id,
            () if option.mistake is None else (option.mistake,),
            option.unsafe,
        )
        for option in decision.options
    }

    def mark(value: Any) -> Credit:
        misfit = check_one(decision, value)
        if misfit is not None:
            raise UnreadableAnswer(misfit)
        return table[value]

    return mark


def check_several(decision: ChooseSeveral, value: Any) -> Refusal | None:
    """Say why these are no ticks; None when they are.

    No tick at all is no answer: every such decision has a right box.
    """
    misfit = check_ids(value, frozenset(tick.id for tick in decision.ticks))
    if misfit is None and not value:
        return Refusal("no_box")
    return misfit


def rule_several(decision: ChooseSeveral) -> Rule:
    """Compile the rule: right ticks minus wrong ticks, over the number right, not below 0.

    So ticking every box earns nothing that guessing would not.
    """
    right = frozenset(tick.id for tick in decision.ticks if tick.right)
    ranked = sorted(decision.ticks, key=lambda tick: not tick.unsafe)
    mistake_of = {tick.id: tick.mistake for tick in decision.ticks}
    unsafe = frozenset(tick.id for tick in decision.ticks if tick.unsafe)
    rank = [tick.id for tick in ranked]
    everything_right = Credit(1.0, "right")

    def mark(value: Any) -> Credit:
        misfit = check_several(decision, value)
        if misfit is not None:
            raise UnreadableAnswer(misfit)
        ticked = frozenset(value)
        if ticked == right:
            return everything_right
        off = ticked ^ right
        hits = len(ticked & right)
        wrong = [name for name in rank if name in off]
        return Credit(
            max(0.0, (hits - (len(ticked) - hits)) / len(right)),
            wrong[0],
            once([mistake_of[name] for name in wrong]),
            not unsafe.isdisjoint(off),
        )

    return mark
