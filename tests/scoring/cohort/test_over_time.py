"""The section on time as a manager meets it: planted truths told, bad input told in sentences."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from html.parser import HTMLParser
from pathlib import Path

import pytest

from scoring.cohort.over_time import time_section
from scoring.cohort.section import Section
from scoring.cohort.table import CohortTable
from scoring.records.people import EventKind, Happening
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml
from tests.scoring.cohort.timed import Timed

ALLOWED = {
    "section", "h3", "p", "ul", "ol", "li", "table", "caption", "thead", "tbody", "tr", "th", "td",
    "figure", "figcaption", "div", "strong", "em", "span",
}  # fmt: skip


@pytest.fixture(scope="module")
def site() -> SiteValues:
    found = sorted((Path(__file__).parents[3] / "lessons" / "sites").glob("*.yaml"))
    return read_yaml(found[0], SiteValues)


class Tags(HTMLParser):
    """Every tag outside drawings, and whether all were closed."""

    def __init__(self) -> None:
        super().__init__()
        self.met: set[str] = set()
        self.open: list[str] = []

    def handle_starttag(self, tag: str, attrs: object) -> None:
        self.met.add(tag)
        self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag


def told(section: Section) -> str:
    """The words of a section, after a check of its HTML."""
    words = re.sub(r"<svg.*?</svg>", "", section.html, flags=re.DOTALL)
    tags = Tags()
    tags.feed(words)
    assert tags.open == []
    assert tags.met <= ALLOWED
    plain = re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", words))
    for bad in (" nan", "inf ", "None", "Traceback", "np.float"):
        assert bad not in plain
    assert section.findings
    for finding in section.findings:
        assert finding.headline.endswith((".", "!"))
        assert finding.support
    return plain


def event(
    day: date,
    *,
    kind: EventKind = "retraining",
    station: str | None = "brush",
    operators: Sequence[str] = (),
) -> Happening:
    return Happening(day, kind, station, tuple(operators), "")  # type: ignore[arg-type]


def codes(first: int, last: int) -> list[str]:
    return [f"OP-{number:04d}" for number in range(first, last + 1)]


HABIT = Timed(operators=48, habit=(("North", "night"), "rinse", 3.0), new=8)


def test_a_shift_that_leaves_the_last_rinse_out_is_told_first(site: SiteValues) -> None:
    section = time_section(HABIT.table(), (), site)
    words = told(section)
    first = section.findings[0]
    assert first.headline.startswith("North, night:")
    assert "rinsing (final water)" in first.headline
    assert "tap water as the last rinse" in first.support
    assert "North, night (stands out)" in words
    rows = next(s for s in section.sheets if s.name == "where-and-when").rows
    assert {row[0] for row in rows if row[-1]} == {"North, night"}


def test_the_section_has_every_part_and_the_same_bytes_each_time(site: SiteValues) -> None:
    table = HABIT.table()
    happened = [event(date(2024, 7, 1), operators=codes(3, 14))]
    section = time_section(table, happened, site)
    words = told(section)
    for title in ("Month by month", "Where and when", "New starters", "Retraining", "Forgetting"):
        assert title in words
    assert "alpha = " in words
    assert "odds ratio" in words
    assert section == time_section(table, happened, site)
    names = re.findall(r'<svg[^>]* id="([^"]+)"', section.html)
    assert names == ["figure-months", "figure-starters", "figure-retraining"]
    alts = re.findall(r'aria-label="([^"]+)"', section.html)
    assert len(alts) == 3
    assert all(len(alt) > 60 for alt in alts)


def test_rows_in_another_order_change_nothing(site: SiteValues) -> None:
    table = HABIT.table()
    mixed = replace(
        table,
        scenarios=table.scenarios.sample(frac=1, random_state=3).reset_index(drop=True),
        mistakes=table.mistakes.sample(frac=1, random_state=4).reset_index(drop=True),
    )
    happened = [event(date(2024, 7, 1), operators=codes(3, 14))]
    assert time_section(mixed, happened, site) == time_section(table, happened, site)


def empty() -> CohortTable:
    table = HABIT.table()
    return table.filtered(operators=[])


@pytest.mark.parametrize(
    ("table", "said"),
    [
        (empty(), "Nothing can be said about time yet."),
        (Timed(months=(3,)).table(), "Only 1 point to set limits from"),
        (Timed(wrong=0.0).table(), "holds no event"),
        (Timed(wrong=1.0).table(), "nothing but events"),
        (Timed(operators=1).table(), "Only one site and shift is known"),
        (Timed(operators=2).table(), "Nobody was in post for less than a year"),
        (Timed(places=(("North", ""),)).table(), "Only one site and shift is known"),
        (Timed(since_known=False).table(), "time in post is known"),
        (Timed(operators=3, new=3).table(), "at least 3 are needed for the department"),
        (Timed(stations=("soak",)).table(), "the rate of wrong decisions is steady."),
        (Timed(months=(0, 1)).table(), "The data cannot tell how fast the work is forgotten."),
    ],
)
def test_a_poor_cohort_is_told_in_sentences(
    table: CohortTable, said: str, site: SiteValues
) -> None:
    happened = [
        event(date(2024, 7, 1), operators=codes(1, 6)),
        event(date(2024, 7, 2), station=None),
        event(date(1999, 1, 1), kind="other", station=None),
    ]
    assert said in told(time_section(table, happened, site))


@pytest.mark.parametrize(
    ("happened", "said"),
    [
        ((), "No retraining is written down."),
        ((event(date(2024, 6, 1), station="inspect", operators=codes(1, 9)),),
         "Nobody has answered this step yet."),
        ((event(date(2031, 6, 1), operators=codes(1, 9)),),
         "There are no answers from 1 June 2031 on."),
        ((event(date(2001, 6, 1), operators=codes(1, 9)),),
         "There are no answers before 1 June 2001."),
        ((event(date(2024, 6, 1)),), "Everybody was retrained on one day."),
        ((event(date(2024, 6, 1), operators=["OP-9999"]),), "No answer of those who were"),
        ((event(date(2024, 6, 1), operators=codes(1, 2)),), "Only 2 retrained people"),
        ((event(date(2024, 6, 1), operators=codes(1, 24)),), "Only 0 people who were not"),
        ((event(date(2031, 6, 1), kind="new_device", operators=[]),), "Not drawn, because"),
        (tuple(event(date(2024, k, 1), operators=codes(k, k + 5)) for k in range(2, 7)),
         "Shown are the latest 3 of 5 retrainings"),
    ],
)  # fmt: skip
def test_an_event_that_tells_nothing_is_told_in_a_sentence(
    happened: tuple[Happening, ...], said: str, site: SiteValues
) -> None:
    assert said in told(time_section(Timed().table(), happened, site))


def test_words_from_files_do_not_become_html(site: SiteValues) -> None:
    table = Timed(places=(("<b>North</b>", "night & day"), ("South", "early")), operators=48,
                  habit=(("<b>North</b>", "night & day"), "rinse", 3.0)).table()  # fmt: skip
    section = time_section(table, (), site)
    assert "<b>" not in section.html
    assert "&lt;b&gt;North" in section.html
