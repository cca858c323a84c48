"""The command on bad input: a message with the remedy, a code that is not 0, no traceback."""

from __future__ import annotations

import json
import os
import re
import socket
import subprocess
import sys
import tempfile
from pathlib import Path

import pytest

import assessments
import lessons
from assessments.command.outcome import Outcome, guarded

COMMAND = [sys.executable, "-c", "from assessments.command.main import main; main()"]
SCENARIO = lessons.HERE / "scenarios" / "soak" / "soak-clamp-dried.yaml"
FORM = assessments.HERE / "forms" / "hand-cleaning-a.yaml"


def sinkside(*arguments: str | Path, records: Path) -> subprocess.CompletedProcess[str]:
    environment = {
        **os.environ,
        "SINKSIDE_RECORDS": str(records),
        "COLUMNS": "100",
        "NO_COLOR": "1",
    }
    return subprocess.run(
        [*COMMAND, *map(str, arguments)],
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
        env=environment,
        check=False,
    )


def refused(ran: subprocess.CompletedProcess[str], outcome: Outcome, *said: str) -> str:
    """Assert a clear refusal and return what was said."""
    text = re.sub(r"\s+", " ", ran.stderr)
    assert ran.returncode == outcome, ran.stderr
    assert "Traceback" not in ran.stderr + ran.stdout
    assert "remedy:" in text
    for part in said:
        assert part in text
    return text


@pytest.fixture
def records(tmp_path: Path) -> Path:
    return tmp_path / "records"


def test_a_malformed_scenario(tmp_path: Path, records: Path) -> None:
    broken = tmp_path / SCENARIO.name
    text = SCENARIO.read_text(encoding="utf-8")
    broken.write_text(
        text.replace("station: soak", "station: soaking").replace(
            "kind: quantity", "kind: amount", 1
        ),
        encoding="utf-8",
    )
    ran = sinkside("check", broken, records=records)
    refused(ran, Outcome.FAULTS, broken.name, "station (line", "soaking", "amount")


def test_yaml_that_is_none(tmp_path: Path, records: Path) -> None:
    broken = tmp_path / "scenario.yaml"
    broken.write_text("id: [unclosed\nstation: soak\n", encoding="utf-8")
    refused(sinkside("check", broken, records=records), Outcome.FAULTS, "line")


def test_a_form_that_names_a_missing_scenario(tmp_path: Path, records: Path) -> None:
    broken = tmp_path / FORM.name
    text = FORM.read_text(encoding="utf-8")
    broken.write_text(text.replace("exam-brush-clamp", "exam-brush-clmap"), encoding="utf-8")
    ran = sinkside("check", broken, records=records)
    refused(ran, Outcome.FAULTS, broken.name, "exam-brush-clmap")


def test_a_form_that_does_not_exist(records: Path) -> None:
    ran = sinkside("exam", "seat", "no-such-form", "OP-1", records=records)
    refused(ran, Outcome.FAULTS, "no-such-form", "hand-cleaning-a_v1")


def test_a_doubled_and_a_malformed_operator_code(records: Path) -> None:
    ran = sinkside("exam", "seat", "hand-cleaning-a", "OP-1", "OP-1", "op 7", records=records)
    refused(ran, Outcome.FAULTS, "OP-1, 2 times", "op 7")
    assert not list(records.rglob("*.json"))  # nobody is seated when somebody cannot be


def test_a_roster_with_a_formula_and_html_as_names(tmp_path: Path, records: Path) -> None:
    roster = tmp_path / "roster.csv"
    roster.write_text(
        'code,name\nOP-1,=HYPERLINK("x")\nOP-2,<img src=x onerror=alert(1)>\nOP-3,Ana Ruiz\n',
        encoding="utf-8",
    )
    slips = tmp_path / "slips.html"
    ran = sinkside(
        "exam", "seat", "hand-cleaning-a", "--roster", roster, "--slips", slips, records=records
    )
    if ran.returncode == Outcome.DONE:
        page = slips.read_text(encoding="utf-8")
        assert "<img" not in page
    else:
        refused(ran, Outcome.FAULTS, "line 2")
        assert not slips.exists()


def test_slips_that_cannot_be_written_name_the_way_on(tmp_path: Path, records: Path) -> None:
    (tmp_path / "file").write_text("", encoding="utf-8")
    seat = ["exam", "seat", "hand-cleaning-a", "OP-1", "--slips"]
    ran = sinkside(*seat, tmp_path / "file" / "slips.html", records=records)
    refused(ran, Outcome.FAULTS, "--new-pins", "seated")
    ran = sinkside(*seat, tmp_path / "slips.html", "--new-pins", records=records)
    assert ran.returncode == Outcome.DONE
    assert "OP-1" in (tmp_path / "slips.html").read_text(encoding="utf-8")


def test_details_that_cannot_be_written_end_in_no_traceback(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path / "missing"))

    def broken() -> None:
        raise ValueError("something nobody thought of")

    assert guarded(broken) == Outcome.BROKEN
    assert "could not be written" in capsys.readouterr().err


def sample_log(records: Path) -> Path:
    """One real answer log, written through the demo's own generator."""
    from assessments import exam_library
    from assessments.exam_form import exam_forms
    from sample_cohort.generate import write_cohort
    from sample_cohort.plan import SITES
    from scoring.settings import Settings
    from scoring.site import SiteValues
    from scoring.yaml_file import read_yaml

    site = read_yaml(lessons.DEFAULT_SITE, SiteValues)
    settings = Settings(records=records, site=lessons.DEFAULT_SITE)
    sites = dict.fromkeys(SITES, site)
    summary = write_cohort(settings, exam_forms(), exam_library(), sites)
    return summary.logs[0]


def test_an_edited_answer_log_is_refused_with_the_line_named(records: Path) -> None:
    log = sample_log(records)
    assert sinkside("check", log, records=records).returncode == Outcome.DONE
    lines = log.read_text(encoding="utf-8").splitlines(keepends=True)
    number = next(at for at, line in enumerate(lines, start=1) if '"amount"' in line)
    changed = json.loads(lines[number - 1])
    changed["value"]["amount"] += 1
    lines[number - 1] = json.dumps(changed, separators=(",", ":")) + "\n"
    log.write_text("".join(lines), encoding="utf-8", newline="")
    refused(sinkside("check", log, records=records), Outcome.FAULTS, log.name, f"line {number}")


def test_a_truncated_answer_log_says_what_is_kept(records: Path) -> None:
    log = sample_log(records)
    whole = log.read_bytes()
    log.write_bytes(whole[:-40])
    text = refused(sinkside("check", log, records=records), Outcome.FAULTS, log.name)
    assert "kept" in text
    assert log.read_bytes() == whole[:-40]


def test_a_port_in_use(records: Path) -> None:
    with socket.socket() as taken:
        taken.bind(("127.0.0.1", 0))
        taken.listen()
        port = str(taken.getsockname()[1])
        ran = sinkside("learn", "--port", port, "--no-browser", records=records)
    refused(ran, Outcome.PORT_TAKEN, port, "--port")


def test_records_that_cannot_be_written(tmp_path: Path) -> None:
    blocked = tmp_path / "records"
    blocked.write_text("a file where the folder should be", encoding="utf-8")
    ran = sinkside("exam", "seat", "hand-cleaning-a", "OP-1", records=blocked)
    assert ran.returncode in (Outcome.FAULTS, Outcome.STORAGE)
    assert "remedy:" in ran.stderr
    assert "Traceback" not in ran.stderr
    assert blocked.read_text(encoding="utf-8") == "a file where the folder should be"


def test_a_demo_folder_that_is_somebodys_own(tmp_path: Path, records: Path) -> None:
    own = tmp_path / "thesis"
    own.mkdir()
    (own / "chapter.txt").write_text("mine", encoding="utf-8")
    ran = sinkside("demo", "--folder", own, records=records)
    refused(ran, Outcome.FAULTS, "files that are not the demo's", "--folder")
    assert (own / "chapter.txt").read_text(encoding="utf-8") == "mine"


def test_site_values_that_contradict_themselves(tmp_path: Path, records: Path) -> None:
    site = tmp_path / "our-site.yaml"
    text = lessons.DEFAULT_SITE.read_text(encoding="utf-8")
    text = re.sub(r"contact_min: .*", "contact_min: 90", text)
    site.write_text(re.sub(r"^id: .*", "id: our-site", text, flags=re.M), encoding="utf-8")
    ran = sinkside("check", site, records=records)
    refused(ran, Outcome.FAULTS, "contact_min")


def test_an_unknown_verb_is_a_usage_error(records: Path) -> None:
    ran = sinkside("clean", records=records)
    assert ran.returncode == Outcome.USAGE
    assert "--help" in ran.stderr


@pytest.mark.parametrize("verb", [(), ("demo",), ("learn",), ("exam",), ("cohort",), ("check",)])
def test_help_in_plain_words(verb: tuple[str, ...], records: Path) -> None:
    ran = sinkside(*verb, "--help", records=records)
    assert ran.returncode == Outcome.DONE
    assert "Usage: sinkside" in ran.stdout
