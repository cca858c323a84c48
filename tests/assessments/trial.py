"""A small exam made of the lessons' scenarios, and logs of people who sat it."""

from __future__ import annotations

import datetime
import secrets
from collections.abc import Callable, Mapping
from pathlib import Path
from typing import Any

from lessons import DEFAULT_SITE, lesson_library
from scoring.attempt import AnswerValue
from scoring.form import Form
from scoring.instance import Instance
from scoring.library import Library
from scoring.marking.right import right_answer
from scoring.records.header import make_header, seated_instances
from scoring.records.log import AnswerLog
from scoring.records.places import exam_log
from scoring.scenario import Decision
from scoring.settings import Settings
from scoring.site import SiteValues
from scoring.units import COUNTED, from_base_unit
from scoring.yaml_file import read_yaml

SCENARIOS = ("soak-clamp-dried", "inspect-clamp-ceiling-lamp", "rinse-suction-hurry")

Chooser = Callable[[Decision, Instance], AnswerValue | None]
"""What somebody answers to a decision; None leaves it unanswered."""


def trial_settings(folder: Path) -> Settings:
    return Settings(records=folder / "records", site=DEFAULT_SITE)


def trial_form(version: int = 1, **changes: Any) -> Form:
    content = {
        "schema_version": 1, "id": "trial", "version": version, "purpose": "exam",
        "title": {"en": "A trial exam"},
        "scenarios": [{"id": name, "weight": 1.0 + 0.7 * place}
                      for place, name in enumerate(SCENARIOS)],
        "minutes": 25,
    }  # fmt: skip
    return Form.model_validate(content | changes)


def trial_library() -> Library:
    return lesson_library()


right = right_answer
"""The answer that earns everything."""


def wrong(decision: Decision, instance: Instance) -> AnswerValue:
    """An answer that earns less."""
    if decision.kind == "choose_one":
        return min(decision.options, key=lambda option: option.credit).id
    if decision.kind == "choose_several":
        return tuple(tick.id for tick in decision.ticks)
    if decision.kind == "order":
        return tuple(item.id for item in reversed(decision.items))
    if decision.kind == "quantity":
        key = instance.keys[decision.id]
        unit = decision.units[0]
        amount = from_base_unit((key.floor + key.low) / 2, unit)
        if unit in COUNTED:
            amount = float(int(amount))
        return {"amount": amount, "unit": unit}
    return ()


def nothing(decision: Decision, instance: Instance) -> None:
    return None


def sat(
    settings: Settings,
    form: Form,
    operator: str,
    choose: Chooser | Mapping[str, Chooser],
    *,
    library: Library | None = None,
    closed: bool = True,
    sitting: str = "",
) -> AnswerLog:
    """Write the log of somebody who sat `form`, answering by `choose`."""
    books = library or trial_library()
    site = read_yaml(settings.site, SiteValues)
    sitting = sitting or secrets.token_hex(16)
    header = make_header(
        books, form, site, sitting=sitting, operator=operator, language="en",
        started=datetime.datetime.now().astimezone(),
    )  # fmt: skip
    log = AnswerLog.start(exam_log(settings, sitting), header)
    for name, instance in seated_instances(books, site, header).items():
        for decision in instance.scenario.decisions:
            chooser = choose if callable(choose) else choose.get(decision.id, right)
            value = chooser(decision, instance)
            if value is not None:
                log.answer(name, decision.id, value, 4.0)
    if closed:
        log.close()
    return log
