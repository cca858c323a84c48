"""What an answer does to the instrument: handling changes, then the bench runs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from scoring.attempt import AnswerValue
from scoring.bench.handling import Handling, HandlingChange
from scoring.bench.state import State
from scoring.bench.steps import run_step
from scoring.instance import Instance, filled
from scoring.scenario import Decision
from scoring.units import in_base_unit


@dataclass(frozen=True, slots=True)
class Moment:
    """The instrument and how it is handled, after some decision (or before the first)."""

    handling: Handling
    state: State


def opening(instance: Instance) -> Moment:
    """Return the moment before the first decision."""
    return Moment(instance.handling, instance.state)


def after(instance: Instance, decision: Decision, value: AnswerValue, moment: Moment) -> Moment:
    """Return the moment after answering `decision` with `value`.

    Parameters
    ----------
    instance : Instance
        The scenario being played.
    decision : Decision
        The decision answered.
    value : str, tuple of str or dict
        The answer, as the answer log holds it; it must fit the decision
        (:func:`scoring.marking.credit.check_answer`).
    moment : Moment
        The moment before.

    Returns
    -------
    Moment

    Raises
    ------
    TypeError
        A quantity is answered with something else.
    """
    handling, state = moment.handling, moment.state
    if decision.kind == "choose_one":
        option = next(option for option in decision.options if option.id == value)
        handling = _set(handling, option.handling, instance)
    elif decision.kind == "choose_several":
        for tick in decision.ticks:
            change = tick.handling if tick.id in value else tick.handling_without
            handling = _set(handling, change, instance)
    elif decision.kind == "quantity":
        if not isinstance(value, dict):
            raise TypeError(f"a quantity needs an amount and a unit, not {value!r}")
        amount = in_base_unit(float(value["amount"]), str(value["unit"]))
        handling = handling.changed(**{decision.sets: amount})
    elif decision.kind == "order":
        items = {item.id: item for item in decision.items}
        for name in value:
            item = items[str(name)]
            handling = _set(handling, item.handling, instance)
            if item.step is not None:
                state = run_step(item.step, state, handling, instance.instrument, instance.site)
    if decision.step is not None:
        state = run_step(decision.step, state, handling, instance.instrument, instance.site)
    return Moment(handling, state)


def replay(instance: Instance, answers: Sequence[AnswerValue]) -> list[Moment]:
    """Return the moments of a whole play: before the first decision, then after each answer.

    Parameters
    ----------
    instance : Instance
        The scenario.
    answers : sequence of AnswerValue
        One for each decision, in order; fewer play only so far.
    """
    moments = [opening(instance)]
    for decision, value in zip(instance.scenario.decisions, answers, strict=False):
        moments.append(after(instance, decision, value, moments[-1]))
    return moments


def looking_ahead(instance: Instance, decision: Decision, moment: Moment) -> Moment:
    """Return where `moment`, just reached by answering `decision`, leads.

    Returns `moment` itself for a decision that looks nowhere ahead.
    """
    if decision.ahead is None:
        return moment
    handling = _set(moment.handling, decision.ahead.handling, instance)
    state = run_step(
        decision.ahead.step, moment.state, handling, instance.instrument, instance.site
    )
    return Moment(handling, state)


def _set(handling: Handling, change: HandlingChange, instance: Instance) -> Handling:
    settings = filled(change.settings(), instance.named)
    return handling.changed(**settings) if settings else handling
