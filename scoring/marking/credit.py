"""One answer to credit, by the rule of its kind of decision."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from scoring.instance import Instance
from scoring.marking import choice, order, places, quantity
from scoring.marking.refusal import ENGLISH, Refusal, RefusalCode
from scoring.marking.rule import Credit, Rule, UnreadableAnswer
from scoring.scenario import Decision

__all__ = ["Credit", "UnreadableAnswer", "check_answer", "credit", "rule_of"]


def check_answer(
    decision: Decision,
    value: Any,
    instance: Instance | None = None,
    sentences: Mapping[RefusalCode, str] = ENGLISH,
) -> str | None:
    """Say why an answer cannot be taken, or return None when it can.

    Never raises, whatever JSON holds: the value comes from a page or a file.

    Parameters
    ----------
    decision : Decision
        What was asked.
    value : object
        Any value that JSON can hold.
    instance : Instance, optional
        When given, marked places must also be places of its instrument.
    sentences : mapping of str to str
        What is said, by code (:mod:`scoring.marking.refusal`), in the person's
        language; English where it has none.

    Returns
    -------
    str or None
        One plain sentence that does not give the right answer away.
    """
    refusal = _refusal(decision, value, instance)
    return None if refusal is None else refusal.said(sentences)


def _refusal(decision: Decision, value: Any, instance: Instance | None) -> Refusal | None:
    if decision.kind == "choose_one":
        return choice.check_one(decision, value)
    if decision.kind == "choose_several":
        return choice.check_several(decision, value)
    if decision.kind == "order":
        return order.check(decision, value)
    if decision.kind == "quantity":
        return quantity.check(decision, value)
    known = None if instance is None else frozenset(instance.instrument.places)
    return places.check(value, known)


def rule_of(decision: Decision, instance: Instance) -> Rule:
    """Compile the rule of a decision for one instance: a function from value to `Credit`.

    Made once for a form and then used for many sittings. The function raises
    `UnreadableAnswer` with the sentence of `check_answer`.
    """
    if decision.kind == "choose_one":
        return choice.rule_one(decision)
    if decision.kind == "choose_several":
        return choice.rule_several(decision)
    if decision.kind == "order":
        return order.rule(decision)
    if decision.kind == "quantity":
        return quantity.rule(decision, instance.keys[decision.id])
    return places.rule(decision, frozenset(instance.instrument.places), instance.soiled)


def credit(decision: Decision, value: Any, instance: Instance) -> Credit:
    """Return what an answer is worth, why, and which mistakes it made.

    Raises
    ------
    UnreadableAnswer
        The answer cannot be taken; see `check_answer`.
    """
    return rule_of(decision, instance)(value)
