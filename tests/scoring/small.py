"""The small invented kit of tests/data/small, loaded; and sittings of its form."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from functools import cache
from pathlib import Path
from typing import Any

from scoring.form import Form
from scoring.library import Library
from scoring.marking.right import right_answer
from scoring.records.header import make_header, seated_instances
from scoring.records.reading import ReadLog, read_log
from scoring.records.whole import Given, write_whole_log
from scoring.site import SiteValues
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
            value = (changed or {}).get(key, right_answer(decision, instance))
            at = started + timedelta(seconds=20 * (1 + len(answers)))
            answers.append(Given(at, name, decision.id, value, 20.0))
    path = folder / f"{sitting}.jsonl"
    write_whole_log(path, header, answers, started + timedelta(hours=1) if handed_in else None)
    return read_log(path)
