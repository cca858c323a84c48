"""The lesson as a machine: every scenario to its end, and everything that can go wrong."""

from __future__ import annotations

import json
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from lessons import DEFAULT_SITE, lesson_library
from scoring.records.log import read_log
from scoring.records.places import find_logs
from scoring.settings import Settings
from tests.lessons.page.playing import answer, begin, do, new_lesson, play_on, some_answer

LIBRARY = lesson_library()


def logs(records: Path) -> list[Any]:
    return [read_log(path) for path in find_logs(Settings(records, DEFAULT_SITE), "lesson")]


@pytest.mark.parametrize("scenario", LIBRARY.scenario_ids())
@pytest.mark.parametrize("pick", [0, 5])
def test_every_scenario_plays_to_its_end(tmp_path: Path, scenario: str, pick: int) -> None:
    lesson = new_lesson(tmp_path, LIBRARY.scenario(scenario).station)
    summary = play_on(lesson, begin(lesson, scenario=scenario), pick)
    assert summary["kind"] == "summary"
    (log,) = logs(tmp_path)
    assert log.close is not None
    assert [each.decision for each in log.answers] == [
        decision.id for decision in LIBRARY.scenario(scenario).decisions
    ]
    station = summary["stations"][0]
    assert station["n"] == len(log.answers)
    assert 0 <= station["low"] <= station["share"] <= station["high"] <= 1
    assert f"from {len(log.answers)} answers" in station["said"]


def test_what_to_practise_next_can_be_opened(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path, "ready")
    summary = play_on(lesson, begin(lesson))
    assert summary["practise"]
    for item in summary["practise"]:
        station = LIBRARY.scenario(item["id"]).station
        way = {"do": "choose"} if station == "ready" else {"to": f"/learn/{station}"}
        assert way.items() <= item.items()
    here = next(item for item in summary["practise"] if "do" in item)
    assert do(lesson, here["do"], id=here["id"])["kind"] == "intro"


def test_every_screen_is_json_and_names_itself(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path, "inspect")
    screens = [lesson.screen, begin(lesson)]
    while screens[-1]["kind"] == "decision":
        screens.append(answer(lesson, screens[-1]))
        screens.append(do(lesson, "next"))
    for screen in screens:
        assert json.loads(json.dumps(screen, allow_nan=False)) == screen
        assert {"kind", "language", "heading", "progress", "saved", "notice"} <= screen.keys()
        assert screen["heading"]


def test_saved_is_said_only_when_it_is_on_disk(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path)
    screen = begin(lesson)
    assert screen["saved"] == ""
    followed = answer(lesson, screen)
    (log,) = logs(tmp_path)
    assert followed["saved"] == f"saved {log.answers[0].at.astimezone():%H:%M}"


def test_an_answer_sent_twice_counts_once(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path)
    screen = begin(lesson)
    first = answer(lesson, screen)
    again = answer(lesson, screen, pick=1)
    assert again == first
    assert len(logs(tmp_path)[0].answers) == 1


@settings(max_examples=60, deadline=None)
@given(
    action=st.dictionaries(
        st.sampled_from(["do", "id", "token", "values", "decision", "value", "junk"]),
        st.recursive(
            st.none() | st.booleans() | st.integers() | st.floats() | st.text(max_size=12),
            lambda inner: (
                st.lists(inner, max_size=3)
                | st.dictionaries(st.text(max_size=5), inner, max_size=3)
            ),
            max_leaves=6,
        ),
    ),
    done=st.sampled_from(
        ["hello", "sign_in", "choose", "begin", "answer", "next", "again", "retry", "nonsense"]
    )
    | st.sampled_from(["hint", "what_if", "summary"]),
)
def test_no_action_a_page_can_send_breaks_it(action: dict[str, Any], done: str) -> None:
    with tempfile.TemporaryDirectory() as folder:
        lesson = new_lesson(Path(folder))
        begin(lesson)
        screen = lesson.handle({**action, "do": done})
        assert screen is None or screen["kind"] in {"sign_in", "choose", "intro", "decision"}
        assert logs(Path(folder))[0].answers == ()


@pytest.mark.parametrize("value", [None, "", "no-such", 3, [], {}, {"amount": 3}, True])
def test_an_answer_that_does_not_fit_is_told_and_not_stored(tmp_path: Path, value: Any) -> None:
    lesson = new_lesson(tmp_path)
    screen = begin(lesson, scenario="soak-clamp-dried")
    told = do(lesson, "answer", decision=screen["id"], value=value)
    assert told["kind"] == "decision"
    assert told["notice"]
    assert logs(tmp_path)[0].answers == ()


@pytest.mark.parametrize("code", ["", "17", "OPERATOR-1", "OP-12345678", "=OP-1", "<b>OP-1</b>"])
def test_a_wrong_code_is_explained(tmp_path: Path, code: str) -> None:
    lesson = new_lesson(tmp_path)
    screen = do(lesson, "sign_in", values={"operator": code})
    assert screen["kind"] == "sign_in"
    assert code[:20] in screen["notice"]
    assert "for example OP-017" in screen["notice"]


def test_a_code_in_small_letters_is_the_same_person(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path)
    assert do(lesson, "sign_in", values={"operator": " op-017 "})["who"] == "OP-017"


def test_a_new_kernel_goes_on_where_the_page_was(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path)
    followed = answer(lesson, begin(lesson))
    unread = do(new_lesson(tmp_path), "hello", token=followed["token"])
    assert unread["kind"] == "consequence"
    assert unread["before"] == followed["before"]
    assert unread["after"] == followed["after"]
    fresh = new_lesson(tmp_path)
    asked = do(
        fresh, "hello", token=do(new_lesson(tmp_path), "hello", token=followed["token"])["token"]
    )
    assert asked["said"] == followed["said"]
    asked = do(fresh, "next")
    assert do(new_lesson(tmp_path), "hello", token=asked["token"])["id"] == asked["id"]
    assert len(logs(tmp_path)[0].answers) == 1


def test_a_played_lesson_comes_back_as_its_summary(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path)
    summary = play_on(lesson, begin(lesson))
    again = do(new_lesson(tmp_path), "hello", token=summary["token"])
    assert again["kind"] == "summary"
    assert again["stations"] == summary["stations"]


@pytest.mark.parametrize("token", ["", "x", "../../etc/passwd", "0" * 32 + ".0", 7, ["a"], {}])
def test_an_unknown_token_leads_to_the_sign_in_and_is_forgotten(tmp_path: Path, token: Any) -> None:
    screen = do(new_lesson(tmp_path), "hello", token=token)
    assert screen["kind"] == "sign_in"
    assert screen["token"] == ""


def test_a_token_of_another_station_is_not_followed(tmp_path: Path) -> None:
    token = begin(new_lesson(tmp_path, "soak"))["token"]
    assert do(new_lesson(tmp_path, "rinse"), "hello", token=token)["kind"] == "sign_in"


def test_somebody_else_signs_in_and_the_page_forgets(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path)
    begin(lesson)
    screen = do(lesson, "sign_out")
    assert (screen["kind"], screen["token"], screen["who"]) == ("sign_in", "", "")


def test_a_hint_is_shown_once_asked_for_stays_and_costs_what_it_said(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path)
    screen = begin(lesson, scenario="soak-clamp-dried")
    assert "25 %" in screen["hint"]["costs"]
    words = LIBRARY.words("soak-clamp-dried", "en").decisions[screen["id"]]
    assert words.hint not in json.dumps(screen)
    asked = do(lesson, "hint", decision=screen["id"])
    assert asked["hint"]["text"] == words.hint
    assert do(lesson, "hint", decision=screen["id"]) == asked
    again = new_lesson(tmp_path)
    assert do(again, "hello", token=screen["token"])["kind"] == "intro"
    assert do(again, "begin")["hint"] == asked["hint"]
    scenario = LIBRARY.scenario("soak-clamp-dried")
    right = next(option.id for option in scenario.decisions[0].options if option.credit == 1)
    do(again, "answer", decision=screen["id"], value=right)
    (log,) = logs(tmp_path)
    assert [event.what for event in log.events].count("hint") == 1
    assert again.practice is not None
    mark = again.practice.marks().decisions[0]
    assert (mark.credit, mark.hinted, mark.unsafe) == (0.75, True, False)


def test_a_hint_for_another_decision_is_not_given(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path)
    screen = begin(lesson, scenario="soak-clamp-dried")
    assert do(lesson, "hint", decision="time") == screen
    assert logs(tmp_path)[0].events == ()


def test_the_choice_shows_what_is_due_and_the_weeks(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path)
    shown = do(lesson, "sign_in", values={"operator": "OP-017"})
    assert shown["practise"] == shown["weeks"] == []
    summary = play_on(lesson, begin(lesson, scenario="soak-clamp-dried"))
    assert len(summary["practise"]) == 2
    shown = do(lesson, "again")
    assert len(shown["practise"]) == 2
    (week,) = shown["weeks"]
    assert week["n"] == summary["stations"][0]["n"]
    assert week["share"] == summary["stations"][0]["share"]


def test_what_was_done_before_is_shown(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path)
    play_on(lesson, begin(lesson, scenario="soak-clamp-dried"))
    answer(lesson, begin(lesson, scenario="soak-suction-air"))
    states = {item["id"]: item["state"] for item in do(lesson, "again")["items"]}
    assert states["soak-clamp-dried"].startswith("Done on 20")
    assert states["soak-suction-air"] == "Begun"
    assert do(lesson, "choose", id="soak-suction-air")["kind"] == "consequence"
    other = new_lesson(tmp_path)
    shown = do(other, "sign_in", values={"operator": "OP-018"})
    assert {item["state"] for item in shown["items"]} == {"New"}


def test_opened_elsewhere_is_told_and_nothing_is_written(tmp_path: Path) -> None:
    first = new_lesson(tmp_path)
    screen = begin(first)
    answer(new_lesson_at(tmp_path, screen["token"]), screen)
    told = answer(first, screen)
    assert told["kind"] == "problem"
    assert "second time" in told["what"]
    assert told["button"]["do"] == "reload"
    assert len(logs(tmp_path)[0].answers) == 1


def new_lesson_at(records: Path, token: str) -> Any:
    lesson = new_lesson(records)
    do(lesson, "hello", token=token)
    do(lesson, "begin")
    return lesson


def test_an_edited_record_is_refused_and_kept(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path)
    screen = begin(lesson, scenario="soak-clamp-dried")
    token = answer(lesson, screen)["token"]
    answer(lesson, do(lesson, "next"))
    (path,) = find_logs(Settings(tmp_path, DEFAULT_SITE), "lesson")
    lines = path.read_bytes().split(b"\n")
    chosen = some_answer(screen).encode()
    lines[1] = lines[1].replace(chosen, b"disinfectant" if chosen != b"disinfectant" else b"water")
    path.write_bytes(b"\n".join(lines))
    edited = path.read_bytes()
    fresh = new_lesson(tmp_path)
    told = do(fresh, "hello", token=token)
    assert told["kind"] == "problem"
    assert "changed or damaged" in told["what"]
    assert "line" in told["what"]
    assert path.read_bytes() == edited
    listed = do(fresh, "start_over")
    assert listed["kind"] == "choose"
    assert "1 of your earlier records could not be read" in listed["intro"]


def test_a_torn_last_line_costs_nothing_before_it(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path)
    token = answer(lesson, begin(lesson))["token"]
    (path,) = find_logs(Settings(tmp_path, DEFAULT_SITE), "lesson")
    with path.open("ab") as file:
        file.write(b'{"line":"answer","seq":2,"at":"2026-')
    assert do(new_lesson(tmp_path), "hello", token=token)["kind"] == "consequence"
    assert len(logs(tmp_path)[0].answers) == 1


def test_an_answer_that_cannot_be_written_stays_on_the_page(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path)
    screen = begin(lesson)
    (path,) = find_logs(Settings(tmp_path, DEFAULT_SITE), "lesson")
    away = path.with_name("away")
    path.rename(away)
    told = answer(lesson, screen)
    assert told["kind"] == "decision"
    assert "could not be written down" in told["notice"]
    assert told["saved"] == ""
    away.rename(path)
    assert answer(lesson, screen)["kind"] == "consequence"


def test_a_records_folder_that_is_a_file_is_told(tmp_path: Path) -> None:
    blocked = tmp_path / "records"
    blocked.write_text("no folder", encoding="utf-8")
    lesson = new_lesson(blocked)
    do(lesson, "sign_in", values={"operator": "OP-017"})
    told = do(lesson, "choose", id="soak-clamp-dried")
    assert told["kind"] == "problem"
    assert told["remedy"]


def test_a_malformed_site_file_is_told(tmp_path: Path) -> None:
    site = tmp_path / "site.yaml"
    site.write_text("schema_version: 1\nid: x\n", encoding="utf-8")
    lesson = new_lesson(tmp_path / "records", site=site)
    do(lesson, "sign_in", values={"operator": "OP-017"})
    told = do(lesson, "choose", id="soak-clamp-dried")
    assert told["kind"] == "problem"
    assert "wanted" in told["what"]


def test_a_lesson_begun_under_other_site_values_is_not_mixed_with_these(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path)
    token = answer(lesson, begin(lesson))["token"]
    other = DEFAULT_SITE.with_name("invented-two-bays.yaml")
    told = do(new_lesson(tmp_path, site=other), "hello", token=token)
    assert told["kind"] == "problem"
    assert "another version" in told["what"]


def test_soil_to_be_found_is_told_by_no_word_before_it_is_marked(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path, "inspect")
    screen = begin(lesson, scenario="inspect-clamp-ceiling-lamp")
    while screen["control"] != "mark_places":
        assert "dried" not in screen["picture"]["alt"]
        followed = answer(lesson, screen)
        assert "dried" not in followed["after"]["alt"]
        screen = do(lesson, "next")
    assert "dried" not in screen["picture"]["alt"]
    assert "dried" in answer(lesson, screen)["after"]["alt"]


def test_the_path_of_a_lesson_loads_nothing_heavy() -> None:
    heavy = ("pandas", "matplotlib", "scipy", "numpy", "sqlalchemy", "rich", "typer", "jinja2")
    code = (
        "import sys, lessons.page.lesson as lesson\n"
        "from pathlib import Path\nimport tempfile\n"
        "from lessons import DEFAULT_SITE\nfrom scoring.settings import Settings\n"
        "played = lesson.Lesson(Settings(Path(tempfile.mkdtemp()), DEFAULT_SITE), 'soak')\n"
        "played.handle({'do': 'sign_in', 'values': {'operator': 'OP-1'}})\n"
        "played.handle({'do': 'choose', 'id': 'soak-clamp-dried'})\n"
        f"print([name for name in {heavy!r} if name in sys.modules])"
    )
    ran = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert ran.stdout.strip() == "[]"
