"""The demo does the whole job on the invented department, inside its time."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import time
from pathlib import Path

from nbgrader.api import Gradebook

from sample_cohort.plan import OPERATORS
from scoring.records.index import Index

COMMAND = [sys.executable, "-c", "from assessments.command.main import main; main()", "demo"]
LONGEST_S = 60
"""The promise of the README, on two cores."""


def run_demo(folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*COMMAND, "--folder", str(folder)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=180,
        env={**os.environ, "NO_COLOR": "1", "COLUMNS": "200"},
        check=False,
    )


def test_demo_from_nothing_to_report_and_again(tmp_path: Path) -> None:
    folder = tmp_path / "a folder with spaces"
    began = time.monotonic()
    ran = run_demo(folder)
    assert ran.returncode == 0, ran.stderr
    assert time.monotonic() - began < LONGEST_S
    report = (folder / "cohort-report.html").read_text(encoding="utf-8")
    assert "Invented data" in report
    assert all(code in report for code in OPERATORS)
    assert str(folder / "cohort-report.html") in ran.stdout
    assert "sinkside learn" in ran.stdout

    said = re.search(r"(\d+) sittings marked; (\d+) handed in", ran.stdout)
    assert said is not None
    sittings, handed_in = (int(number) for number in said.groups())
    records = folder / "records"
    index = Index(f"sqlite:///{records / 'index.sqlite'}")
    assert len(index.sittings()) == sittings
    index.close()
    with Gradebook(f"sqlite:///{records / 'course' / 'gradebook.db'}") as gradebook:
        submitted = sum(
            len(gradebook.assignment_submissions(assignment.name))
            for assignment in gradebook.assignments
        )
    assert submitted == handed_in

    logs = {path.name: path.read_bytes() for path in (records / "exams").glob("*.jsonl")}
    assert len(logs) == sittings
    again = run_demo(folder)
    assert again.returncode == 0, again.stderr
    assert {path.name: path.read_bytes() for path in (records / "exams").glob("*.jsonl")} == logs
