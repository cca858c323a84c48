"""A sitting's log to its marks: one bad item spoils itself only; other files are refused."""

from __future__ import annotations

import dataclasses
from pathlib import Path
from typing import Any

import pytest

from scoring.faults import FaultError
from scoring.form import Form
from scoring.instance import Instance
from scoring.marking.marks import DecisionMark, SittingMarks
from scoring.marking.sitting import UNANSWERED, UNREADABLE, Marker, mark_sitting
from scoring.records.header import seated_instances
from scoring.records.reading import ReadLog
from tests.scoring.small import sat_log, small_form, small_library, small_site


def instances_of(log: ReadLog) -> dict[str, Instance]:
    return seated_instances(small_library(), small_site(), log.header)


def marked(log: ReadLog) -> SittingMarks:
    return mark_sitting(small_form(), instances_of(log), log)


def mark_of(marks: SittingMarks, decision: str) -> DecisionMark:
    return next(mark for mark in marks.decisions if mark.decision == decision)


def test_all_right_earns_all_points(tmp_path: Path) -> None:
    marks = marked(sat_log(tmp_path))
    assert [mark.credit for mark in marks.decisions] == [1.0] * 6
    assert [mark.maximum for mark in marks.decisions] == [1.0, 1.0, 1.5, 1.0, 4.0, 2.0]
    soak, inspect = marks.stations
    assert (soak.station, soak.verdict, soak.share) == ("soak", "competent", 1.0)
    # Two decisions of unequal weight are too little evidence, however right.
    assert (inspect.station, inspect.verdict) == ("inspect", "borderline")
    assert (marks.operator, marks.form, marks.complete) == ("OP-001", "small-exam_v1", True)


def test_a_missing_answer_is_not_assessed(tmp_path: Path) -> None:
    marks = marked(sat_log(tmp_path, left_out=frozenset({("small-soak", "dose")})))
    missing = mark_of(marks, "dose")
    assert (missing.assessed, missing.reason, missing.points) == (False, UNANSWERED, 0.0)
    assert marks.stations[0].unanswered == 1


def test_a_station_without_answers_is_not_assessed(tmp_path: Path) -> None:
    marks = marked(
        sat_log(tmp_path, left_out=frozenset({("small-look", "mark"), ("small-look", "steps")}))
    )
    assert marks.stations[1].verdict == "not assessed"


@pytest.mark.parametrize(
    "value",
    ["rubbish", ("a", "b"), {"amount": 50.0, "unit": "min"}, {"amount": "NaN", "unit": "mL"}],
)
def test_an_unreadable_answer_spoils_only_itself(tmp_path: Path, value: Any) -> None:
    marks = marked(sat_log(tmp_path, changed={("small-soak", "dose"): value}))
    spoilt = mark_of(marks, "dose")
    assert (spoilt.assessed, spoilt.reason, spoilt.credit) == (False, UNREADABLE, 0.0)
    assert sum(mark.assessed for mark in marks.decisions) == 5
    assert marks.stations[1] == marked(sat_log(tmp_path / "right")).stations[1]


def test_an_answer_to_an_unknown_decision_spoils_nothing(tmp_path: Path) -> None:
    log = sat_log(tmp_path)
    strange = [
        log.answers[0].model_copy(update={"decision": "no-such"}),
        log.answers[0].model_copy(update={"scenario": "no-such"}),
    ]
    marks = marked(dataclasses.replace(log, answers=(*log.answers, *strange)))
    assert marks.unplaced == ("small-soak/no-such", "no-such/agent")
    assert dataclasses.replace(marks, unplaced=()) == marked(log)


def test_the_last_answer_to_a_decision_counts(tmp_path: Path) -> None:
    log = sat_log(tmp_path)
    again = log.answers[0].model_copy(update={"value": "disinfectant"})
    marks = marked(dataclasses.replace(log, answers=(*log.answers, again)))
    assert mark_of(marks, "agent").reason == "disinfectant"
    assert marks.stations[0].verdict == "not yet"
    assert marks.stations[0].failed_critical == ("small-soak/agent",)


def test_an_unreadable_last_answer_is_not_the_earlier_one(tmp_path: Path) -> None:
    log = sat_log(tmp_path)
    again = log.answers[0].model_copy(update={"value": "rubbish"})
    marks = marked(dataclasses.replace(log, answers=(*log.answers, again)))
    assert not mark_of(marks, "agent").assessed
    assert marks.stations[0].verdict == "not yet"


def test_a_sitting_not_handed_in_is_marked_and_says_so(tmp_path: Path) -> None:
    marks = marked(sat_log(tmp_path, handed_in=False))
    assert not marks.complete
    assert marks.stations[0].share == 1.0


def test_many_sittings_are_marked_as_one_at_a_time(tmp_path: Path) -> None:
    library, site = small_library(), small_site()
    marker = Marker(small_form(), lambda scenario, seed: library.instance(scenario, site, seed))
    for number in range(30):
        log = sat_log(
            tmp_path,
            f"small-sitting-{number}",
            changed={
                ("small-soak", "dose"): {"amount": 10.0 + 2 * number, "unit": "mL"},
                ("small-soak", "wear"): ("eyes", "sandals") if number % 2 else ("gloves",),
            },
        )
        assert marker.mark(log) == mark_sitting(
            small_form(), seated_instances(library, site, log.header), log
        )


# --- the ground must be the same ---


def refused(form: Form, instances: dict[str, Instance], log: ReadLog) -> list[str]:
    with pytest.raises(FaultError) as error:
        mark_sitting(form, instances, log)
    return [fault.item for fault in error.value.faults]


def test_a_changed_form_is_refused_by_name(tmp_path: Path) -> None:
    log = sat_log(tmp_path)
    easier = small_form().model_copy(update={"cut": 0.1})
    assert refused(easier, instances_of(log), log) == ["form small-exam_v1"]


def test_another_version_or_form_is_refused(tmp_path: Path) -> None:
    log = sat_log(tmp_path)
    newer = small_form().model_copy(update={"version": 2})
    assert refused(newer, instances_of(log), log) == ["form"]
    fewer = small_form().model_copy(update={"scenarios": small_form().scenarios[:1]})
    assert refused(fewer, instances_of(log), log) == ["form small-exam_v1"]


def test_a_changed_key_is_refused_by_scenario(tmp_path: Path) -> None:
    log = sat_log(tmp_path)
    instances = instances_of(log)
    soak = instances["small-soak"]
    heavier = [part.model_copy(update={"weight": 9.0}) for part in soak.scenario.decisions]
    scenario = soak.scenario.model_copy(update={"decisions": tuple(heavier)})
    instances["small-soak"] = dataclasses.replace(soak, scenario=scenario)
    assert refused(small_form(), instances, log) == ["scenario small-soak"]


def test_changed_site_values_are_refused_by_name(tmp_path: Path) -> None:
    log = sat_log(tmp_path)
    cleaner = small_site().cleaner.model_copy(update={"temperature_max_c": 45.0})
    site = small_site().model_copy(update={"cleaner": cleaner})
    instances = seated_instances(small_library(), site, log.header)
    assert refused(small_form(), instances, log) == ["site values small-site"]


def test_another_seed_or_no_instance_is_refused(tmp_path: Path) -> None:
    log = sat_log(tmp_path)
    instances = instances_of(log)
    instances["small-soak"] = dataclasses.replace(instances["small-soak"], seed=1)
    assert refused(small_form(), instances, log) == ["scenario small-soak"]
    del instances["small-soak"]
    assert refused(small_form(), instances, log) == ["scenario small-soak"]


def test_a_fixed_seed_must_be_the_one_that_was_sat(tmp_path: Path) -> None:
    log = sat_log(tmp_path)
    parts = tuple(part.model_copy(update={"seed": 5}) for part in small_form().scenarios)
    fixed = small_form().model_copy(update={"scenarios": parts})
    assert "seed of small-soak" in refused(fixed, instances_of(log), log)


def test_the_forms_cut_goes_before_the_sites(tmp_path: Path) -> None:
    log = sat_log(tmp_path, changed={("small-soak", "wear"): ("gloves", "sandals")})
    strict = marked(log).stations[0]
    assert strict.share == pytest.approx(3.5 / 4.5)
    form = small_form().model_copy(update={"cut": 0.3})
    library = small_library()
    header = log.header.model_copy(update={"form_digest": library.form_digest(form)})
    lenient = mark_sitting(form, instances_of(log), dataclasses.replace(log, header=header))
    assert (strict.verdict, lenient.stations[0].verdict) == ("borderline", "competent")
