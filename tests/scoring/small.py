"""The small invented kit of tests/data/small, loaded; and right answers to any instance."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

from scoring.form import Form
from scoring.instance import Instance
from scoring.library import Library
from scoring.records.header import make_header, seated_instances
from scoring.records.reading import ReadLog, read_log
from scoring.records.whole import Given, write_whole_log
from scoring.site import SiteValues
from scoring.units import from_base_unit
from scoring.yaml_file import read_yaml

DATA = Path(__file__).parent.parent / "data"
SMALL = DATA / "small"
START = datetime(2026, 3, 2, 8, 0, tzinfo=UTC)


@cache
def small_library() -> Library:
    return Library([SMALL / "scenarios"], SMALL / "instruments")


@cache
def small_site() -> SiteValues:
    return read_yaml(SMALL / "sites" / "small-site.yaml", SiteValues)


@cache
def small_form() -> Form:
    return read_yaml(SMALL / "forms" / "small-exam.yaml", Form)


def right_answer(instance: Instance, decision_id: str) -> Any:
    decision = instance.scenario.decision(decision_id)
    if decision.kind == "choose_one":
        return next(option.id for option in decision.options if option.credit == 1)
    if decision.kind == "choose_several":
        return tuple(tick.id for tick in decision.ticks if tick.right)
    if decision.kind == "order":
        return tuple(item.id for item in decision.items)
    if decision.kind == "quantity":
        key = instance.keys[decision_id]
        unit = decision.units[-1]
        return {"amount": from_base_unit((key.low + key.high) / 2, unit), "unit": unit}
    return tuple(sorted(instance.soiled))


def sat_log(
    folder: Path,
    sitting: str = "small-sitting-1",
    operator: str = "OP-001",
    changed: dict[tuple[str, str], Any] | None = None,
    left_out: frozenset[tuple[str, str]] = frozenset(),
    handed_in: bool = True,
    started: datetime = START,
) -> ReadLog:
    """A sitting of the small form: all right, but for `changed` and `left_out`."""
    library, form, site = small_library(), small_form(), small_site()
    header = make_header(
        library, form, site, sitting=sitting, operator=operator, language="en", started=started
    )
    answers = []
    for name, instance in seated_instances(library, site, header).items():
        for decision in instance.scenario.decisions:
            key = (name, decision.id)
            if key in left_out:
                continue
            value = (changed or {}).get(key, right_answer(instance, decision.id))
            at = started + timedelta(seconds=20 * (1 + len(answers)))
            answers.append(Given(at, name, decision.id, value, 20.0))
    path = folder / f"{sitting}.jsonl"
    write_whole_log(path, header, answers, started + timedelta(hours=1) if handed_in else None)
    return read_log(path)
