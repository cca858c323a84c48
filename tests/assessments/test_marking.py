"""Marking a whole form: who is marked, who is not and why, and what lands where."""

from __future__ import annotations

import shutil
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from nbgrader.api import Gradebook, MissingEntry

from assessments.collecting import NOBODY
from assessments.gradebook.checking import NOT_ASSESSED
from assessments.gradebook.plan import NOTEBOOK
from assessments.marking import MarkingReport, mark_form
from assessments.seating import close_seat, open_sitting, seat
from scoring.faults import FaultError
from scoring.form import Form
from scoring.records.index import Index
from scoring.records.log import AnswerLog, read_log
from scoring.records.places import exam_log
from scoring.records.troubles import RecordsError
from tests.assessments.trial import (
    Chooser,
    nothing,
    right,
    sat,
    trial_form,
    trial_library,
    trial_settings,
    wrong,
)

LIBRARY = trial_library()


@dataclass
class Department:
    """Records of its own, and people who sat the trial exam."""

    folder: Path
    released: Path
    form: Form = field(default_factory=trial_form)

    def __post_init__(self) -> None:
        self.settings = trial_settings(self.folder)
        shutil.copytree(self.released, self.settings.records / "course")

    def sits(
        self,
        operator: str,
        choose: Chooser | dict[str, Chooser] = right,
        *,
        closed: bool = True,
        form: Form | None = None,
    ) -> AnswerLog:
        """Seat `operator`, let them answer, and hand in."""
        sat_form = form or self.form
        (slip,) = seat(self.settings, sat_form, LIBRARY.form_digest(sat_form), [operator])
        opened = open_sitting(self.settings, operator, slip.pin)
        assert opened is not None
        log = sat(self.settings, sat_form, operator, choose, closed=closed, sitting=slip.sitting)
        if closed:
            close_seat(self.settings, slip.sitting, log.receipt)
        return log

    def mark(self) -> MarkingReport:
        return mark_form(self.settings, self.form, library=LIBRARY)

    def score(self, report: MarkingReport, operator: str) -> float | None:
        with Gradebook(report.gradebook) as gradebook:
            try:
                found = gradebook.find_submission_notebook(NOTEBOOK, self.form.name, operator)
            except MissingEntry:
                return None
            return float(found.score)


@pytest.fixture
def department(tmp_path: Path, released_course: Path) -> Department:
    return Department(tmp_path, released_course)


def reasons(report: MarkingReport) -> dict[str, str]:
    return {each.operator: each.reason for each in report.not_assessed}


def test_everybody_who_handed_in_is_marked_and_the_rest_is_told_apart(
    department: Department,
) -> None:
    department.sits("OP-001")
    department.sits("OP-002", wrong)
    department.sits("OP-003", nothing)
    department.sits("OP-004", closed=False)
    seat(department.settings, department.form, LIBRARY.form_digest(department.form), ["OP-005"])
    told: list[tuple[int, int]] = []
    report = mark_form(
        department.settings, department.form, library=LIBRARY,
        progress=lambda done, total: told.append((done, total)),
    )  # fmt: skip
    assert report.counted == ("OP-001", "OP-002", "OP-003")
    assert told == [(1, 3), (2, 3), (3, 3)]
    by_operator = {marks.operator: marks for marks in report.marked}
    for operator, marks in by_operator.items():
        wanted = sum(mark.points for mark in marks.decisions)
        assert department.score(report, operator) == pytest.approx(wanted, rel=1e-12)
    index = Index(department.settings.index_url())
    assert {marks.sitting: marks for marks in index.marks()} == {
        marks.sitting: marks for marks in report.marked
    }
    index.close()
    full = sum(mark.maximum for mark in by_operator["OP-001"].decisions)
    assert department.score(report, "OP-001") == pytest.approx(full, rel=1e-12)
    assert department.score(report, "OP-003") == 0
    assert {station.verdict for station in by_operator["OP-001"].stations} == {"competent"}
    assert {station.verdict for station in by_operator["OP-003"].stations} == {"not assessed"}
    assert set(reasons(report)) == {"OP-004", "OP-005"}
    assert all(each.waiting for each in report.not_assessed)
    assert department.score(report, "OP-004") is None
    with Gradebook(report.gradebook) as gradebook:
        assert sorted(student.id for student in gradebook.students) == list(report.counted)
        assert {student.first_name for student in gradebook.students} == {None}
    assert sorted(page.name for page in report.feedback.iterdir()) == [
        "OP-001.html", "OP-002.html", "OP-003.html",
    ]  # fmt: skip


def test_marking_again_changes_nothing(department: Department) -> None:
    department.sits("OP-001", {"dose": wrong})
    first = department.mark()
    score = department.score(first, "OP-001")
    department.sits("OP-002")
    second = department.mark()
    assert department.score(second, "OP-001") == score
    assert second.counted == ("OP-001", "OP-002")


def test_one_answer_changed_by_hand_spoils_that_sitting_only(department: Department) -> None:
    edited = department.sits("OP-001", {"agent": wrong})
    department.sits("OP-002")
    before = department.mark()
    assert department.score(before, "OP-001") is not None
    content = edited.path.read_bytes()
    assert b"disinfectant" in content
    edited.path.write_bytes(content.replace(b"disinfectant", b"site-cleaner"))
    report = department.mark()
    assert report.counted == ("OP-002",)
    assert reasons(report)["OP-001"].startswith("line 2: a line that was changed")
    assert department.score(report, "OP-001") is None, "marks of a refused log still stand"
    assert department.score(report, "OP-002") is not None
    index = Index(department.settings.index_url())
    assert [marks.operator for marks in index.marks()] == ["OP-002"]
    index.close()
    sheet = (report.feedback / "OP-001.html").read_text(encoding="utf-8")
    assert "not assessed" in sheet
    assert "line 2" in sheet
    assert str(department.folder) not in sheet


def test_a_log_written_anew_as_a_whole_does_not_fit_its_receipt(department: Department) -> None:
    honest = department.sits("OP-001", wrong)
    honest.path.unlink()
    forged = sat(
        department.settings, department.form, "OP-001", right, sitting=honest.header.sitting
    )
    assert read_log(forged.path).close is not None
    report = department.mark()
    assert report.counted == ()
    assert honest.receipt in reasons(report)["OP-001"]
    assert "rewritten" in reasons(report)["OP-001"]


def test_the_log_of_another_candidate_copied_in_is_refused(department: Department) -> None:
    good = department.sits("OP-001", right)
    bad = department.sits("OP-002", wrong)
    shutil.copyfile(good.path, bad.path)
    report = department.mark()
    assert report.counted == ("OP-001",)
    assert "the log of OP-001" in reasons(report)["OP-002"]


def test_a_log_nobody_was_seated_for_is_not_marked(department: Department) -> None:
    sat(department.settings, department.form, "OP-009", right)
    stray = exam_log(department.settings, "garbled-garbled")
    stray.write_text("no log at all\n")
    report = department.mark()
    assert report.counted == ()
    assert reasons(report)["OP-009"] == "nobody was seated for this sitting"
    assert "nobody was seated" in reasons(report)[NOBODY]


def test_a_lost_log_and_a_lost_closing_line_are_said(department: Department) -> None:
    lost = department.sits("OP-001")
    lost.path.unlink()
    torn = department.sits("OP-002")
    torn.path.write_bytes(torn.path.read_bytes().rsplit(b"\n", 2)[0] + b"\n")
    broken = department.sits("OP-003")
    broken.path.write_bytes(broken.path.read_bytes() + b'{"line":"ans')
    report = department.mark()
    assert report.counted == ()
    assert reasons(report)["OP-001"] == "the answer log is missing"
    assert "closing line" in reasons(report)["OP-002"]
    assert "breaks off" in reasons(report)["OP-003"]
    assert not any(each.waiting for each in report.not_assessed)


def test_a_damaged_seat_file_is_said_and_spoils_one_sitting(department: Department) -> None:
    log = department.sits("OP-001")
    department.sits("OP-002")
    (department.settings.records / "seats" / f"{log.header.sitting}.json").write_text("{")
    report = department.mark()
    assert report.counted == ("OP-002",)
    assert "nobody was seated" in reasons(report)["OP-001"]
    assert "damaged" in reasons(report)[NOBODY]


@pytest.mark.parametrize(("counts", "chosen"), [("first", 0), ("last", 1), ("best", 1)])
def test_the_sitting_that_counts_is_the_one_in_the_gradebook(
    tmp_path: Path, released_course: Path, counts: str, chosen: int
) -> None:
    form = trial_form(id=f"trial-{counts}", counts=counts)
    department = Department(tmp_path, released_course, form)
    department.sits("OP-001", wrong)
    department.sits("OP-001", right)
    report = department.mark()
    assert len(report.marked) == 2
    assert report.counted == ("OP-001",)
    in_order = sorted(report.marked, key=lambda marks: sum(mark.points for mark in marks.decisions))
    wanted = sum(mark.points for mark in in_order[chosen].decisions)
    assert department.score(report, "OP-001") == pytest.approx(wanted, rel=1e-12)


def test_another_version_of_the_form_is_marked_apart(department: Department) -> None:
    later = trial_form(version=2, minutes=30)
    department.sits("OP-001")
    department.sits("OP-002", form=later)
    first = department.mark()
    second = mark_form(department.settings, later, library=LIBRARY)
    assert (first.counted, second.counted) == (("OP-001",), ("OP-002",))
    assert department.score(first, "OP-002") is None


def test_a_form_changed_after_the_exam_is_not_marked(department: Department) -> None:
    department.sits("OP-001")
    department.mark()
    with pytest.raises(FaultError, match="new version"):
        mark_form(department.settings, trial_form(minutes=99), library=LIBRARY)


@pytest.mark.parametrize("content", ["{}", "[1]", "{", '{"nbformat": 4, "cells": 3}'])
@pytest.mark.parametrize("kind", ["source", "release"])
def test_a_damaged_notebook_is_said_and_made_anew_as_the_remedy_says(
    department: Department, content: str, kind: str
) -> None:
    department.sits("OP-001")
    source = department.settings.records / "course" / kind / department.form.name
    (notebook,) = source.glob("*.ipynb")
    notebook.chmod(0o644)
    notebook.write_text(content, encoding="utf-8")
    with pytest.raises(FaultError) as caught:
        department.mark()
    assert "rename it" in caught.value.faults[0].remedy
    notebook.rename(notebook.with_suffix(".damaged"))
    assert department.mark().counted == ("OP-001",)


def test_site_values_changed_since_the_sitting_are_named(department: Department) -> None:
    department.sits("OP-001")
    other = department.folder / "site.yaml"
    text = department.settings.site.read_text(encoding="utf-8")
    other.write_text(text.replace("cut: 0.", "cut: 0.1", 1), encoding="utf-8")
    changed = type(department.settings)(records=department.settings.records, site=other)
    report = mark_form(changed, department.form, library=LIBRARY)
    assert report.counted == ()
    assert "site values" in reasons(report)["OP-001"]
    assert "--site" in report.not_assessed[0].remedy


def test_marks_earned_under_other_site_values_stand(department: Department) -> None:
    department.sits("OP-001")
    before = department.mark()
    score = department.score(before, "OP-001")
    sheet = (before.feedback / "OP-001.html").read_bytes()
    other = department.folder / "site.yaml"
    text = department.settings.site.read_text(encoding="utf-8")
    other.write_text(text.replace("cut: 0.", "cut: 0.1", 1), encoding="utf-8")
    changed = type(department.settings)(records=department.settings.records, site=other)
    report = mark_form(changed, department.form, library=LIBRARY)
    assert [each.kept for each in report.not_assessed] == [True]
    assert score is not None
    assert department.score(report, "OP-001") == score
    assert (report.feedback / "OP-001.html").read_bytes() == sheet
    index = Index(department.settings.index_url())
    assert [marks.operator for marks in index.marks()] == ["OP-001"]
    index.close()


@pytest.mark.parametrize("keep", [0, 20_000])
def test_a_damaged_gradebook_is_said_and_made_anew_as_the_remedy_says(
    department: Department, keep: int
) -> None:
    department.sits("OP-001")
    score = department.score(department.mark(), "OP-001")
    gradebook = department.settings.records / "course" / "gradebook.db"
    for beside in gradebook.parent.glob("gradebook.db-*"):
        beside.unlink()
    whole = gradebook.read_bytes()
    gradebook.write_bytes(whole[:keep] if keep else b"no database at all" * 200)
    with pytest.raises(RecordsError) as caught:
        department.mark()
    assert "Rename this file" in caught.value.faults[0].remedy
    gradebook.rename(gradebook.with_name("damaged.db"))
    assert department.score(department.mark(), "OP-001") == score


def test_every_refusal_carries_a_remedy(department: Department) -> None:
    department.sits("OP-001", closed=True)
    lost = department.sits("OP-002")
    lost.path.unlink()
    stray = sat(department.settings, department.form, "OP-003", right)
    report = department.mark()
    refused = [each for each in report.not_assessed if not each.waiting]
    assert {each.sitting for each in refused} == {lost.header.sitting, stray.header.sitting}
    assert all(each.remedy for each in refused)


def test_no_answer_carries_its_comment_into_the_gradebook(department: Department) -> None:
    department.sits("OP-001", {"dose": nothing})
    report = department.mark()
    with Gradebook(report.gradebook) as gradebook:
        kept = gradebook.find_submission_notebook(NOTEBOOK, department.form.name, "OP-001")
        comments = [comment.comment for comment in kept.comments if comment.comment]
    assert comments == [NOT_ASSESSED]
    sheet = (report.feedback / "OP-001.html").read_text(encoding="utf-8")
    assert "There is no answer." in sheet
