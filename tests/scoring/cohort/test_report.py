"""The printed report as a reader meets it: one page, semantic, safe, right at every edge."""

from __future__ import annotations

import re
from datetime import date
from html.parser import HTMLParser
from pathlib import Path

import pytest

from scoring import KIT_VERSION
from scoring.cohort.brief import MOST_FINDINGS, make_brief
from scoring.cohort.outcome import station_outcomes
from scoring.cohort.render import Heading, body, page
from scoring.cohort.report import REPORT_NAME, REPORT_STEM, TABLES_FOLDER, write_report
from scoring.cohort.saying import percent, span
from scoring.cohort.steps_section import HALF, points_to
from scoring.faults import FaultError
from scoring.marking.marks import SittingMarks
from scoring.site import SiteValues
from scoring.variation.between import BetweenShare
from scoring.yaml_file import read_yaml
from tests.scoring.cohort.made import department, sitting, tabulate

DAY = date(2026, 3, 1)
SITE = Path(__file__).parents[2] / "data" / "small" / "sites" / "small-site.yaml"
VOID = {"meta", "link", "br", "img", "use", "path", "hr", "input"}


class Reader(HTMLParser):
    """Collects tags in order and checks that they nest."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.feed(text)
        assert self.open == [], self.open

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))

    def handle_endtag(self, tag: str) -> None:
        if tag not in VOID:
            assert self.open.pop() == tag

    def named(self, tag: str) -> list[dict[str, str | None]]:
        return [attributes for name, attributes in self.tags if name == tag]


def written(folder: Path, marks: list[SittingMarks], title: str = "Invented bay", **more) -> str:
    path = write_report(make_brief(tabulate(marks)), folder, Heading(title, True, DAY, **more))
    assert path == folder / REPORT_NAME
    return path.read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def site() -> SiteValues:
    return read_yaml(SITE, SiteValues)


@pytest.fixture(scope="module")
def marks() -> list[SittingMarks]:
    found = department({"soak": 0.3, "brush": 1.8, "rinse": 0.8, "inspect": 0.8})
    found = [s for s in found if (s.operator, s.form) != ("OP-109", "form_v2")]
    return [s for s in found if s.operator != "OP-124" or s.form == "form_v4"]


@pytest.fixture(scope="module")
def text(marks: list[SittingMarks], tmp_path_factory: pytest.TempPathFactory) -> str:
    return written(tmp_path_factory.mktemp("report"), marks, origin=[("Seed", "1")])


def test_it_stands_alone(text: str) -> None:
    reader = Reader(text)
    assert not reader.named("script")
    assert not re.search(r"""(src|href)\s*=\s*["'](https?:)?//""", text)
    assert not re.search(r"@import|@font-face|url\((?!#)", text)
    assert all(str(a["href"]).startswith(TABLES_FOLDER) for a in reader.named("a"))
    assert [link["href"] for link in reader.named("link")] == ["data:,"]


def test_its_order_is_limits_findings_steps_people_plan_method(text: str) -> None:
    heads = re.findall(r"<h[12][^>]*>([^<]+)</h[12]>", text)
    assert heads == [
        "Invented bay", "In short", "Steps: what depends on who, and where the risk sits",
        "Operators by code", "Plan: what to practise, and who", "Method", "Origin and files",
    ]  # fmt: skip
    assert text.index("never proves") < text.index("In short")
    assert text.index("Invented data.") < text.index("<h1>")


def test_tables_have_captions_and_every_head_a_scope(text: str) -> None:
    reader = Reader(text)
    assert len(reader.named("table")) == len(reader.named("caption")) >= 7
    assert {head["scope"] for head in reader.named("th")} == {
        "col", "row", "rowgroup",
    }  # fmt: skip
    ids = [a["id"] for _, a in reader.tags if a.get("id")]
    assert len(ids) == len(set(ids))


def test_each_figure_has_a_caption_and_says_its_finding(text: str) -> None:
    reader = Reader(text)
    assert len(reader.named("figure")) == len(reader.named("figcaption")) == 4
    pictures = [a for _, a in reader.tags if a.get("role") == "img"]
    assert len(pictures) == 4
    assert all(len(a["aria-label"] or "") > 80 for a in pictures)
    assert all(a["aria-hidden"] == "true" for a in reader.named("svg"))


def test_the_headline_figure_stands_there_with_interval_and_n(
    text: str, marks: list[SittingMarks]
) -> None:
    brief = make_brief(tabulate(marks))
    brush = next(o for o in station_outcomes(tabulate(marks)) if o.station == "brush")
    assert isinstance(brush.between, BetweenShare)
    assert percent(brush.between.share) in brief.findings[0].headline
    assert brief.findings[0].headline in text
    assert span(brush.between.low, brush.between.high, sign="") in text
    assert "24 operators, 92 sittings" in re.sub(r"<[^>]+>", "", text)


def test_people_stand_by_code_and_not_by_result(text: str) -> None:
    codes = re.findall(
        r'<th scope="row" class="keep">(OP-\d+)(?: \*)?</th><td class="number keep">', text
    )
    assert codes == [f"OP-{number}" for number in range(101, 125)]
    assert not re.search(r"\brank(ed|ing)?\b(?! people)", text)


def test_a_limit_brings_a_probability_and_a_verdict_for_each_code(
    marks: list[SittingMarks], site: SiteValues
) -> None:
    brief = make_brief(tabulate(marks), (), site)
    people = next(section for section in brief.sections if section.id == "operators")
    sheet = people.sheets[0]
    assert [row[0] for row in sheet.rows] == [f"OP-{number}" for number in range(101, 125)]
    verdicts = {str(row[8]) for row in sheet.rows}
    assert verdicts <= {"above the limit", "not shown above", "too little evidence"}
    for row in sheet.rows:
        _, wrong, answers, raw, rate, low, high, exceeds = row[:8]
        assert raw == wrong / answers
        assert 0 < low < rate < high < 1
        assert 0 <= exceeds <= 1
    assert f"limit of {percent(1 - site.passing.cut)}" in people.findings[0].support


def test_findings_are_six_at_most_and_steps_first(
    marks: list[SittingMarks], site: SiteValues
) -> None:
    brief = make_brief(tabulate(marks), (), site)
    assert [section.id for section in brief.sections] == [
        "steps", "time", "operators", "plan", "method",
    ]  # fmt: skip
    assert [finding.topic for finding in brief.findings[:2]] == ["who", "risk"]
    assert len(brief.findings) <= MOST_FINDINGS
    assert brief.findings[-1].topic == "plan"


def test_method_names_version_and_origin(text: str) -> None:
    assert f"<dt>Version of the kit</dt><dd>{KIT_VERSION}</dd>" in text
    assert "<dt>Seed</dt><dd>1</dd>" in text


def test_it_says_so_only_when_data_are_invented(tmp_path: Path, marks: list[SittingMarks]) -> None:
    path = write_report(make_brief(tabulate(marks[:8])), tmp_path, Heading("Bay", False, DAY))
    assert "nvented" not in path.read_text(encoding="utf-8").partition("<body>")[2]


def test_the_same_marks_give_the_same_bytes(tmp_path: Path, marks: list[SittingMarks]) -> None:
    assert written(tmp_path / "one", marks) == written(tmp_path / "two", marks)
    for one in (tmp_path / "one" / TABLES_FOLDER).iterdir():
        assert one.read_bytes() == (tmp_path / "two" / TABLES_FOLDER / one.name).read_bytes()


def test_every_table_that_is_offered_is_there(tmp_path: Path, marks: list[SittingMarks]) -> None:
    offered = [str(a["href"]) for a in Reader(written(tmp_path, marks)).named("a")]
    assert len(offered) == 10
    assert all((tmp_path / address).stat().st_size > 30 for address in offered)
    assert sorted(path.name for path in tmp_path.rglob("*") if path.is_file()) == sorted(
        [REPORT_NAME, f"{REPORT_STEM}.pdf", *(address.rpartition("/")[2] for address in offered)]
    )


def test_a_title_or_origin_with_html_or_a_formula_stays_text(tmp_path: Path) -> None:
    attack = '<script>alert(1)</script>"=1+1'
    text = written(tmp_path, [], title=attack, origin=[(attack, attack)])
    assert not Reader(text).named("script")
    assert text.count("&lt;script&gt;") == 4


def few(credit: float, operators: int) -> list[SittingMarks]:
    return [
        sitting(f"OP-{n}", f"f{form}", {"soak": [credit] * 4, "brush": [credit] * 4})
        for n in range(1, operators + 1)
        for form in range(3)
    ]


@pytest.mark.parametrize(
    ("marks", "said"),
    [
        ([], "There is nothing to show yet."),
        ([sitting("OP-1", "f", {"soak": [0.5]}, complete=False)], "1 sitting was not handed in."),
        ([sitting("OP-1", "f", {"soak": [None, None]})], "There is nothing to show yet."),
        ([sitting("OP-1", "f", {"soak": [1.0, 0.5]})], "Only 1 operator; at least 5 are needed."),
        (few(1.0, 8), "Every sitting has the same score"),
        (few(1.0, 8), "No mistake was made here."),
        (few(0.0, 8), "Every sitting has the same score"),
        (few(0.5, 3), "Only 3 operators"),
    ],
    ids=["empty", "unfinished", "blank", "one", "all pass", "no mistake", "all fail", "few"],
)
def test_every_edge_is_a_sentence_and_never_a_wrong_number(
    marks: list[SittingMarks], said: str, tmp_path: Path
) -> None:
    text = written(tmp_path, marks)
    Reader(text)
    assert said in text
    assert not re.search(r"\bnan\b|\bNone\b|\binf\b", text)


def test_what_the_figure_points_to_rests_on_the_whole_interval(marks: list[SittingMarks]) -> None:
    for outcome in station_outcomes(tabulate(marks)):
        assert isinstance(outcome.between, BetweenShare)
        said = points_to(outcome)
        if outcome.between.low > HALF:
            assert said.startswith("More than half")
        elif outcome.between.high < HALF:
            assert said.startswith("Less than half")
        else:
            assert said.startswith("Perhaps half")


def test_more_people_than_a_sheet_holds_go_to_the_file(tmp_path: Path) -> None:
    text = written(tmp_path, department({"soak": 1.0}, operators=61, forms=3))
    assert "too many operators for one sheet" in text
    rows = (tmp_path / TABLES_FOLDER / "operators.csv").read_text(encoding="utf-8-sig").splitlines()
    assert len(rows) == 1 + 61


def test_the_served_page_shows_the_same_parts(marks: list[SittingMarks]) -> None:
    brief, heading = make_brief(tabulate(marks)), Heading("Bay", True, DAY)
    assert body(brief, heading, ()) in page(brief, heading, ())


def test_a_folder_that_cannot_be_written_is_said_with_the_remedy(tmp_path: Path) -> None:
    blocked = tmp_path / "file"
    blocked.write_text("in the way")
    with pytest.raises(FaultError, match="another folder"):
        write_report(make_brief(tabulate([])), blocked, Heading("Bay", True, DAY))
    assert blocked.read_text() == "in the way"
