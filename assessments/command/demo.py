"""The verb `demo`: the whole path once, on an invented department, ending by itself."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path

from rich.markup import escape

from assessments import exam_library
from assessments.checklist_files import checklists
from assessments.command.cohort import say_findings, write_reports
from assessments.command.progress import counting, said
from assessments.exam_form import FORMS, exam_forms
from assessments.gradebook.course import Course
from assessments.gradebook.direct import store_marks
from assessments.gradebook.plan import plan_cells
from assessments.gradebook.troubles import gradebook_troubles
from lessons import DEFAULT_SITE
from lessons import HERE as LESSONS
from sample_cohort import FORMS as SAMPLE_FORMS
from sample_cohort import SCENARIOS
from sample_cohort.generate import write_cohort
from sample_cohort.observing import write_observations
from sample_cohort.plan import SITES, SITTINGS, forms_sat
from sample_cohort.truth import Truth
from scoring.faults import FaultError
from scoring.form import Form
from scoring.library import Library
from scoring.marking.attempts import counting as counting_sittings
from scoring.marking.sitting import Marker
from scoring.records.index import Index, Marked
from scoring.records.log import read_log
from scoring.settings import Settings
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml

TITLE = "Ostrevale and Merrowholt sample departments (invented)"
RECORDS = "records"
SIGN = "invented-data.txt"
"""A file that tells a demo folder from somebody's own, so that nothing of theirs is overwritten."""


def run_demo(folder: Path) -> None:
    """Write the invented department's logs, mark them, store the marks, write the report.

    Raises
    ------
    FaultError
        `folder` holds something else.
    """
    began = time.monotonic()
    folder = folder.absolute()
    _claim(folder)
    settings = Settings(records=folder / RECORDS, site=DEFAULT_SITE)
    sites = {
        place: read_yaml(LESSONS / "sites" / f"{values}.yaml", SiteValues)
        for place, values in SITES.items()
    }
    library = Library([*exam_library().scenario_folders, SCENARIOS], LESSONS / "instruments")
    forms = forms_sat(exam_forms((FORMS, SAMPLE_FORMS)))
    with counting("Writing answer logs") as tell:
        summary = write_cohort(
            settings, forms, library, sites, progress=lambda done: tell(done, SITTINGS)
        )
    said.print(
        f"{len(sites)} invented departments: {len(summary.operators)} operators, "
        f"{len(summary.forms)} exam forms, {len(summary.logs)} sittings, {summary.answers} answers."
    )
    watched = checklists()
    with counting("Writing observations") as tell:
        seen = write_observations(
            settings, watched, summary.retrained, summary.seed,
            progress=lambda done: tell(done, done),
        )  # fmt: skip
    said.print(
        f"{len(seen)} observations at the sink with {len(watched)} checklists, "
        f"by {len(Truth().raters)} assessors."
    )
    with counting("Marking") as tell:
        marked = list(_marked(summary.logs, forms, library, sites.values(), tell))
    index = Index(settings.index_url())
    try:
        index.store(marked)
    finally:
        index.close()
    with counting("Filling the gradebook") as tell:
        course = Course(settings)
        stored = 0
        for done, form in enumerate(forms, start=1):
            stored += _into_gradebook(course, form, library, marked)
            tell(done, len(forms))
    said.print(f"{len(marked)} sittings marked; {stored} handed in and in the gradebook.")
    reports = write_reports(
        settings, folder, TITLE, [("Seed of the invented data", str(summary.seed))]
    )
    said.print("\n[bold]What the figures say[/bold]")
    say_findings(reports.findings)
    said.print("\n[bold]What to open next[/bold]")
    for what, written in reports.written:
        said.print(f"  {what + ':':<31}{escape(str(written.html))}")
        said.print(f"  {'  the same to print:':<31}{escape(str(written.pdf))}")
    said.print("  The lessons and exam room:     uv run sinkside learn")
    where = escape(str(settings.records))
    said.print(f'  The pages, to choose from:     uv run sinkside cohort --records "{where}"')
    said.print(f"\nDone in {time.monotonic() - began:.0f} s. All of this is invented data.")


def _claim(folder: Path) -> None:
    sign = folder / SIGN
    if folder.exists() and any(folder.iterdir()) and not sign.exists():
        raise FaultError.one(
            folder,
            "the folder",
            found="files that are not the demo's",
            wanted="an empty folder, or one that an earlier demo made",
            remedy="Name another folder with --folder.",
        )
    folder.mkdir(parents=True, exist_ok=True)
    sign.write_text(
        "Everything in this folder is invented data, made by `sinkside demo`. It may be deleted.\n",
        encoding="utf-8",
    )


def _marked(
    logs: tuple[Path, ...],
    forms: tuple[Form, ...],
    library: Library,
    sites: Iterable[SiteValues],
    tell: Callable[[int, int], None],
) -> Iterator[Marked]:
    def marker(form: Form, site: SiteValues) -> Marker:
        return Marker(form, lambda scenario, seed: library.instance(scenario, site, seed))

    markers = {(form.name, site.id): marker(form, site) for form in forms for site in sites}
    for done, path in enumerate(logs, start=1):
        log = read_log(path)
        header = log.header
        yield Marked(log, markers[f"{header.form}_v{header.form_version}", header.site].mark(log))
        tell(done, len(logs))


def _into_gradebook(course: Course, form: Form, library: Library, marked: list[Marked]) -> int:
    sat = [(one.log.header.started, one.marks) for one in marked if one.marks.form == form.name]
    chosen = [marks for _, marks in counting_sittings(sat, form.counts).values()]
    assignment = course.release(form, library)
    with gradebook_troubles(course.url):
        return store_marks(course.url, assignment, plan_cells(form, library), chosen)
