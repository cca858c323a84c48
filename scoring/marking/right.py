"""The answer that earns everything: for checking a scenario, and for showing where it leads."""

from __future__ import annotations

import math

from scoring.attempt import AnswerValue
from scoring.instance import Instance
from scoring.scenario import Decision
from scoring.units import COUNTED, from_base_unit


def right_answer(decision: Decision, instance: Instance, unit: str | None = None) -> AnswerValue:
    """Return an answer to `decision` that is worth full credit in this instance.

    Parameters
    ----------
    decision : Decision
    instance : Instance
    unit : str, optional
        Unit of a quantity; the bench's own when left out.

    Returns
    -------
    str, tuple of str or dict
        The first of several right options; the middle of a quantity's window,
        a whole number where things are counted.
    """
    if decision.kind == "choose_one":
        return next(option.id for option in decision.options if option.credit == 1)
    if decision.kind == "choose_several":
        return tuple(tick.id for tick in decision.ticks if tick.right)
    if decision.kind == "order":
        return tuple(item.id for item in decision.items)
    if decision.kind == "quantity":
        key = instance.keys[decision.id]
        asked = unit or key.unit
        amount = from_base_unit((key.low + key.high) / 2, asked)
        if asked in COUNTED:
            amount = float(max(math.ceil(key.low), math.floor(amount)))
        return {"amount": amount, "unit": asked}
    return tuple(sorted(instance.soiled))
