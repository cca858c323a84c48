"""Every fault a trainer can make, said with file, item, found, wanted and remedy; no traceback."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from scoring.check import ExtraKind, check_files, label_faults
from scoring.faults import Fault
from scoring.library import Library
from scoring.model import Identifier, Model
from tests.scoring.small import DATA, SMALL, sat_log

LOOK, SOAK = "scenarios/small-look.yaml", "scenarios/small-soak.yaml"
LOOK_WORDS, SOAK_WORDS = "scenarios/small-look.en.yaml", "scenarios/small-soak.en.yaml"
FORM, SITE, PROBE = "forms/small-exam.yaml", "sites/small-site.yaml", "instruments/probe.yaml"


class Labels(Model):
    """Words of an instrument as another package might own them."""

    instrument: Identifier
    language: str
    places: dict[str, str]


LABELS = ExtraKind("words of an instrument", Labels, label_faults)


@pytest.fixture
def kit(tmp_path: Path) -> Path:
    shutil.copytree(SMALL, tmp_path / "kit")
    return tmp_path / "kit"


def check(kit: Path, *paths: Path) -> list[Fault]:
    library = Library([kit / "scenarios"], kit / "instruments")
    return check_files(paths or [kit], library, extra=[LABELS])


def change(kit: Path, name: str, old: str, new: str) -> None:
    text = (kit / name).read_text(encoding="utf-8")
    assert old in text
    (kit / name).write_text(text.replace(old, new, 1), encoding="utf-8")


def test_the_small_kit_is_sound(kit: Path) -> None:
    assert check(kit) == []


def test_a_single_file_is_checked_with_what_lies_beside_it(kit: Path) -> None:
    assert check(kit, kit / SOAK_WORDS, kit / FORM, kit / SITE) == []
    faults = check(kit, kit / SOAK)
    assert [fault.found for fault in faults] == ["no site values to try it under"]


CHANGES = [
    # file, old, new, where, part of found, part of wanted
    (SOAK, "credit: 0.5", "credit: lots", "decisions[1].options[2].credit (line 21)", "lots",
     "a number"),
    (SOAK, "credit: 0.5", "credit: 5", "decisions[1].options[2].credit", "5", "1 or less"),
    (SOAK, "credit: 0.5, ", "", "decisions[1].options[2].credit (line 21)", "nothing", "this item"),
    (SOAK, "credit: 0.5", "credti: 0.5", "decisions[1].options[2].credti", "0.5", "no such item"),
    (SOAK, "kind: quantity", "kind: amount", "decisions[3].kind (line 33)", "amount",
     "choose_one, choose_several"),
    (SOAK, "station: soak", "station: sink", "station (line 3)", "sink", "ready, soak"),
    (SOAK, "schema_version: 1", "schema_version: 2", "schema_version", "2", "1"),
    (SOAK, "id: small-soak", "id: other", "id (line 2)", "small-soak.yaml", "other.yaml"),
    (SOAK, "instrument: probe", "instrument: lancet", "instrument (line 4)", "lancet", "there"),
    (SOAK, "    tip: {fresh", "    tipp: {fresh", "start.soil.tipp (line 10)", "tipp", "tip"),
    (SOAK, "fresh: 200", "fresh: -2", "start.soil.tip.fresh", "-2", "0 to"),
    (SOAK, "fresh: 200", "slime: 200", "start.soil.tip.slime", "slime", "fresh, dried"),
    (SOAK, "$litres", "$liters", "start.handling.bath_l (line 12)", "$liters", "litres"),
    (SOAK, "[5, 8, 10]", "[5, 8, 101]", "start.handling.bath_l", "101", "0.5 to 100"),
    (SOAK, "bath_l: $litres", "bath_l: $site_rinse_l", "start.handling.bath_l", "$site_rinse_l",
     "litres"),
    (SOAK, "fresh: 200", "fresh: $site_dose_ml", "start.soil.tip.fresh", "$site_dose_ml", "litres"),
    (LOOK, "strokes: 15", "strokes: $site_agent", "decisions[2].items[2].handling.strokes",
     "$site_agent", "soil_ug"),
    (LOOK, "minutes: 15", "minutes: $site_dose_ml", "decisions[2].items[1].handling.minutes",
     "$site_dose_ml", "site_contact_min"),
    (SOAK, "[5, 8, 10]", "[]", "parameters.litres.choices", "an empty list", "length 1"),
    (SOAK, "  litres: {", "  spare: {choices: [1], unit: L}\n  litres: {",
     "parameters.spare (line 7)", "nothing uses", "$spare"),
    (SOAK, "mistake: M06", "mistake: M99", "decisions[1].options[3].mistake", "M99", "catalogue"),
    (SOAK, "[T4, B14]", "[T4, Z9]", "decisions[1].basis.facts[2]", "Z9", "catalogue"),
    (SOAK, "{facts: [T4, B14]}", "{}", "decisions[1].basis", "no items", "names facts"),
    (SOAK, "{facts: [T4, B14]}", "{source: local rules}", "decisions[1].basis", "items",
     "together with its status"),
    (SOAK, "topic: dose", "topic: potion", "decisions[3].topic (line 34)", "potion", "agent, bath"),
    (SOAK, "id: detergent", "id: cleaner", "decisions[1]", "items", "stands twice"),
    (SOAK, "id: wear", "id: agent", "the whole file", "items", "'agent' stands twice"),
    (SOAK, "id: sandals", "id: right", "decisions[2].ticks[4].id", "right", "another name"),
    (SOAK, "units: [mL, L, fl oz]", "units: [mL, min]", "decisions[3].units[2]", "min",
     "mL, L, fl oz"),
    (SOAK, "units: [degC, degF]", "units: [degF]", "decisions[4].units", "degF", "degC among"),
    (SOAK, "units: [degC, degF]", "units: [degC, kelvin]", "decisions[4].units[2]", "kelvin",
     "degC, degF"),
    (SOAK, "sets: dose_ml", "sets: minutes", "decisions[3].sets", "minutes", "a setting in mL"),
    (LOOK, "how_many: 2", "how_many: 9", "start.scattered", "items", "how_many is 9"),
    (LOOK, "[tip, lumen, joint, grip]", "[tip, lumen, tip, grip]", "start.scattered.places[3]",
     "tip", "once"),
    (LOOK, "{dried: $soil_ug}", "{mineral: $soil_ug}", "decisions[1].kind", "no place is soiled",
     "some places soiled"),
    (LOOK, "{first: soak, then: brush", "{first: brush, then: soak", "decisions[2]", "items",
     "its own precedence forbids"),
    (LOOK, "{first: soak, then: brush", "{first: rinse, then: look", "decisions[2].precedence[2]",
     "second time", "once"),
    (LOOK, "then: brush", "then: steam", "decisions[2]", "items", "'steam', which is no item"),
    (SOAK_WORDS, "scenario: small-soak", "scenario: small-sock", "scenario (line 2)", "small-sock",
     "that is there"),
    (SOAK_WORDS, "language: en", "language: de", "scenario", "small-soak.en.yaml",
     "small-soak.de.yaml"),
    (SOAK_WORDS, "  warmth:\n", "  heat:\n", "decisions", "no decision warmth", "warmth"),
    (SOAK_WORDS, "  warmth:\n", "  heat:\n", "decisions.heat (line 25)", "heat", "agent, dose"),
    (SOAK_WORDS, "eyes: \"Goggles\", ", "", "decisions.wear.answers", "no answer eyes", "eyes"),
    (SOAK_WORDS, "eyes: \"Goggles\"", "hat: \"Hat\", eyes: \"G\"", "decisions.wear.answers.hat",
     "hat", "eyes, gloves"),
    (SOAK_WORDS, "too_high: \"Too much.\"", "much: \"No.\"", "decisions.dose.reasons",
     "no reason too_high", "too_high"),
    (SOAK_WORDS, "\"Too little.\"", "\" \"", "decisions.dose.reasons.too_low", "nothing", "text"),
    (SOAK_WORDS, "{litres} litres?", "{liters} litres?", "decisions.dose.question", "{liters}",
     "litres"),
    (SOAK_WORDS, "{site_dose}", "{right_dose}", "decisions.dose.question", "gives a right answer",
     "no answer before"),
    (SOAK_WORDS, "\"Eyes need cover.\"", "\"{right_dose}\"", "decisions.wear.reasons.eyes",
     "gives a right answer", "no answer before"),
    (FORM, "id: small-look", "id: small-looks", "scenarios[2].id (line 8)", "small-looks",
     "that is there"),
    (FORM, "id: small-look", "id: small-soak", "the whole file", "items", "stands twice"),
    (FORM, "title: {en:", "title: {de:", "the whole file", "items", "no English"),
    (SITE, "  cut: 0.8", "  cut: 80", "passing.cut", "80", "below 1"),
    (SITE, "contact_max: 30", "contact_max: 3", "cleaner", "items", "contact_min must be below"),
    (SITE, "passing:", "severity: {M99: 2}\npassing:", "severity.M99", "M99", "catalogue"),
    (PROBE, "bore_mm: 3.0, ", "", "places.lumen", "items", "a lumen needs both"),
    (PROBE, "id: probe", "id: prod", "id", "probe.yaml", "prod.yaml"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("name", "old", "new", "item", "found", "wanted"), CHANGES, ids=lambda value: str(value)[:24]
)
def test_a_fault_is_said_where_it_is(
    kit: Path, name: str, old: str, new: str, item: str, found: str, wanted: str
) -> None:
    change(kit, name, old, new)
    faults = check(kit)
    hits = [
        fault
        for fault in faults
        if fault.item.startswith(item) and found in fault.found and wanted in fault.wanted
    ]
    assert hits, [str(fault) for fault in faults]
    assert Path(hits[0].file) == kit / name
    assert all(fault.remedy.endswith(".") for fault in faults)


def test_a_brush_width_needs_a_lumen(kit: Path) -> None:
    change(kit, SOAK, "rule: temperature", "rule: brush_width")
    change(kit, SOAK, "units: [degC, degF]", "units: [mm]")
    change(kit, SOAK, "sets: temperature_c", "sets: brush_mm")
    assert check(kit) == []
    change(kit, PROBE, "{kind: lumen, area_cm2: 6.0, bore_mm: 3.0, length_mm: 60}",
           "{kind: flat, area_cm2: 6.0}")  # fmt: skip
    assert [fault.item for fault in check(kit)] == ["decisions[4].rule (line 45)"]


def test_a_pressure_needs_a_lumen_that_bears_one(kit: Path) -> None:
    change(kit, SOAK, "rule: temperature", "rule: flush_pressure")
    change(kit, SOAK, "units: [degC, degF]", "units: [kPa]")
    change(kit, SOAK, "sets: temperature_c", "sets: flush_kpa")
    (fault,) = check(kit)
    assert (fault.item, fault.found) == ("decisions[4].rule (line 45)", "flush_pressure")
    assert "pressure_max_kpa" in fault.wanted
    change(kit, PROBE, "length_mm: 60", "length_mm: 60, pressure_max_kpa: 100")
    assert check(kit) == []
    change(kit, SOAK, "sets: flush_kpa", "sets: flush_kpa\n    place: tip")
    (fault,) = check(kit)
    assert fault.item.startswith("decisions[4].place")
    assert fault.found == "tip"


def test_every_place_soiled_for_some_seed_is_found(kit: Path) -> None:
    change(kit, LOOK, "how_many: 2", "how_many: 5")
    change(kit, LOOK, "[tip, lumen, joint, grip]", "[tip, lumen, joint, grip, shaft]")
    faults = check(kit)
    assert [fault.found.split(" (")[0] for fault in faults] == ["every place is soiled"]


def test_missing_words_and_words_without_scenario(kit: Path) -> None:
    (kit / SOAK_WORDS).unlink()
    (kit / LOOK).unlink()
    faults = {Path(fault.file).name: fault for fault in check(kit)}
    assert "no words in English" in faults["small-soak.yaml"].found
    assert faults["small-look.en.yaml"].found == "small-look"
    assert faults["small-exam.yaml"].found == "small-look"


def test_a_broken_scenario_is_not_blamed_on_its_words_and_form(kit: Path) -> None:
    change(kit, LOOK, "station: inspect", "station: nowhere")
    assert [Path(fault.file).name for fault in check(kit)] == ["small-look.yaml"]


def test_the_same_id_twice_is_found(kit: Path) -> None:
    (kit / "more").mkdir()
    for name in (LOOK, LOOK_WORDS, FORM):
        shutil.copy(kit / name, kit / "more" / Path(name).name)
    items = [(Path(fault.file).parent.name, fault.item) for fault in check(kit)]
    assert ("more", "id (line 2)") in items
    assert ("scenarios", "id (line 2)") in items
    assert ("more", "version (line 3)") in items


def test_words_of_an_instrument_by_a_schema_of_another_package(kit: Path) -> None:
    path = kit / "instruments" / "probe.en.yaml"
    path.write_text(
        "instrument: probe\nlanguage: en\n"
        "places: {tip: tip, lumen: lumen, joint: ' ', shaft: shaft, handle: handle}\n"
    )
    found = [(fault.item, fault.found) for fault in check(kit)]
    assert found == [
        ("places (line 3)", "no label for grip"),
        ("places.joint (line 3)", "nothing"),
        ("places.handle (line 3)", "handle"),
    ]


def test_several_faults_of_several_files_are_all_reported(kit: Path) -> None:
    change(kit, SOAK, "credit: 0.5", "credit: lots")
    change(kit, SOAK, "station: soak", "station: sink")
    change(kit, FORM, "minutes: 20", "minutes: never")
    change(kit, LOOK_WORDS, '"Soak first."', '"{nobody}"')
    assert len(check(kit)) == 4


def test_answer_logs_are_checked(kit: Path, tmp_path: Path) -> None:
    sat_log(tmp_path / "logs")
    path = tmp_path / "logs" / "small-sitting-1.jsonl"
    assert check(kit, path) == []
    whole = path.read_bytes()
    path.write_bytes(whole[:-20])
    assert "breaks off" in check(kit, path)[0].found
    path.write_bytes(whole.replace(b"cleaner", b"clearer"))
    assert check(kit, path)[0].item == "line 2"


# --- files that are nothing of the kind --------------------------------------------------------

STRANGE: dict[str, bytes] = {
    "empty": b"",
    "null": b"~\n",
    "a list": b"- 1\n- 2\n",
    "a word": b"hello\n",
    "binary": bytes(range(256)) * 20,
    "zip": b"PK\x03\x04" + bytes(500),
    "utf-16": "id: x\n".encode("utf-16"),
    "latin-1": "name: B\xfcrste\n".encode("latin-1"),
    "nul": b"id: \x00\n",
    "tab": b"\tid: x\n",
    "unclosed": b"decisions: [1, {2\n",
    "doubled key": b"id: a\nid: b\nstation: soak\n",
    "unhashable key": b"? [a, b]\n: c\n? {d: e}\n: f\n",
    "number keys": b"1: 2\n2.5: 3\ntrue: 4\n~: 5\n",
    "unknown alias": b"id: *nobody\n",
    "python tag": b"id: !!python/object/apply:os.system ['echo hello']\nstation: soak\n",
    "own tag": b"id: !secret x\nstation: soak\n",
    "bad date": b"id: 2026-13-45\nstation: soak\n",
    "two documents": b"id: a\n---\nid: b\n",
    "directive": b"%YAML 9.9\n---\nid: a\n",
    "self": b"station: &a [*a]\nid: &b {c: *b}\n",
    "deep": b"id: " + b"[" * 3000 + b"]" * 3000 + b"\nstation: soak\n",
    "huge number": b"minutes: " + b"9" * 5000 + b"\nstation: soak\n",
    "nan": b"schema_version: 1\nid: x\nstation: soak\nminutes: .nan\n",
    "formula": b"id: '=cmd|/c calc!A1'\nstation: '<script>alert(1)</script>'\n",
    "merge": b"base: &base {id: x}\n<<: [*base, 3]\nstation: soak\n",
    "bomb": b"a: &a [x,x,x,x,x,x,x,x,x]\n"
    + b"".join(
        b"%c: &%c [%s]\n" % (new, new, b",".join([b"*%c" % old] * 9))
        for old, new in zip(b"abcdefgh", b"bcdefghi", strict=True)
    )
    + b"station: *i\nid: *i\ndecisions: *i\nstart: *i\n",
    "anchor twice": b"id: &a x\nstation: &a soak\n",
    "esc": b'id: "\\e[2Jx"\nstation: soak\n',
}


@pytest.mark.parametrize("name", STRANGE)
@pytest.mark.parametrize("ending", [".yaml", ".jsonl"])
def test_a_strange_file_is_a_fault_and_never_a_traceback(
    kit: Path, tmp_path: Path, name: str, ending: str
) -> None:
    path = tmp_path / f"strange{ending}"
    path.write_bytes(STRANGE[name])
    faults = check(kit, path)
    assert faults
    for fault in faults:
        assert fault.file == str(path)
        assert fault.remedy.endswith(".")
        assert len(fault.found) <= 121
        assert fault.found.isprintable()


def test_missing_huge_and_unreadable_files(kit: Path, tmp_path: Path) -> None:
    huge = tmp_path / "huge.yaml"
    with huge.open("wb") as file:
        file.truncate(3_000_000_000)
    (tmp_path / "empty").mkdir()
    faults = check(kit, tmp_path / "nobody.yaml", huge, tmp_path / "empty", Path("/dev/null"))
    assert [fault.found.split(":")[0] for fault in faults] == [
        "No such file or directory",
        "3000000000 bytes",
        "no file that the kit reads",
        "nothing",
    ]


def test_a_file_named_twice_is_told_once(kit: Path) -> None:
    change(kit, FORM, "minutes: 20", "minutes: never")
    assert len(check(kit, kit / FORM, kit, kit / FORM)) == 1


def test_progress_is_told_up_to_the_end(kit: Path) -> None:
    told: list[tuple[int, int]] = []

    def tell(done: int, total: int) -> None:
        told.append((done, total))

    check_files([kit], Library([kit / "scenarios"], kit / "instruments"), tell=tell)
    assert told == [(done, 14) for done in range(1, 15)]


# --- any change whatever -----------------------------------------------------------------------

TEXTS = {name: (SMALL / name).read_text() for name in (SOAK, LOOK, SOAK_WORDS, FORM, SITE, PROBE)}
WRONG = st.sampled_from(
    ["$site_agent", "$site_dose_ml", "$site_rinse_l",
     "", "~", "[]", "{}", "-1", "0", "1e999", ".nan", "true", "$nobody", "'{nobody}'", "x: y",
     "[1, 2]", "{a: b}", "&a [*a]", "!!set {}", "2026-01-01", "'", "\\", "\t", "é", "9" * 400,
     "right", "M99", "none", "\n", "- ", "#", "|", "tip", "1", "minutes", "soak"]
)  # fmt: skip


def cut_lines(text: str, data: st.DataObject) -> str:
    lines = text.split("\n")
    first = data.draw(st.integers(0, len(lines) - 1))
    return "\n".join(lines[:first] + lines[first + data.draw(st.integers(1, 4)) :])


def swap_value(text: str, data: st.DataObject) -> str:
    places = [place for place, letter in enumerate(text) if letter in ":,[{"]
    place = data.draw(st.sampled_from(places))
    rest = text[place + 1 :]
    end = min((rest.find(letter) for letter in ",]}\n" if letter in rest), default=len(rest))
    return f"{text[: place + 1]} {data.draw(WRONG)}{rest[end:]}"


def double_lines(text: str, data: st.DataObject) -> str:
    lines = text.split("\n")
    first = data.draw(st.integers(0, len(lines) - 1))
    return "\n".join([*lines[: first + 2], *lines[first:]])


def any_text(text: str, data: st.DataObject) -> str:
    place = data.draw(st.integers(0, len(text)))
    return text[:place] + data.draw(st.text(max_size=5)) + text[place:]


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    st.data(),
    st.sampled_from(sorted(TEXTS)),
    st.lists(
        st.sampled_from([cut_lines, swap_value, double_lines, any_text]), min_size=1, max_size=3
    ),
)
def test_any_change_gives_faults_or_a_sound_kit(
    kit: Path,
    data: st.DataObject,
    name: str,
    changes: list[Callable[[str, st.DataObject], str]],
) -> None:
    text = TEXTS[name]
    for each in changes:
        text = each(text, data)
    (kit / name).write_bytes(text.encode("utf-8", "surrogatepass"))
    try:
        for fault in check(kit):
            assert fault.file
            assert fault.item
            assert fault.remedy.endswith(".")
    finally:
        (kit / name).write_text(TEXTS[name], encoding="utf-8")


def test_data_of_the_tests_is_where_it_is_said() -> None:
    assert SMALL.parent == DATA


def test_a_wrong_option_that_some_seed_makes_right_is_found(kit: Path) -> None:
    """$litres is 5, 8 or 10: with 8 the two options do the same."""
    change(kit, SOAK, "agent: enzymatic_cleaner}", "agent: enzymatic_cleaner, rinse_l: $litres}")
    change(kit, SOAK, "agent: aldehyde}", "agent: enzymatic_cleaner, rinse_l: 8}")
    (fault,) = check(kit)
    assert fault.item.startswith("decisions[1].options[3].handling (line ")
    assert fault.found.startswith("wrong option disinfectant does what right option cleaner does")


def test_answers_that_some_seed_makes_read_the_same_are_found(kit: Path) -> None:
    change(kit, SOAK_WORDS, 'gloves: "Gloves"', 'gloves: "{litres} pairs of gloves"')
    change(kit, SOAK_WORDS, 'gown: "Gown"', 'gown: "8 pairs of gloves"')
    (fault,) = check(kit)
    assert fault.item.startswith("decisions.wear.answers.gown (line ")
    assert fault.found.startswith("the same text as gloves (seed ")
