"""The pictures: recognisably the same soil, less of it; nothing hostile; nothing given away."""

from __future__ import annotations

import itertools
import re
import time
import xml.etree.ElementTree as ET
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from lessons.drawing import draw, spots
from lessons.drawing.blotch import FAINTEST, how_large, how_many
from lessons.drawing.outlines import outline
from lessons.drawing.words import InstrumentWords, instrument_words, picture_words
from scoring.bench.inspecting import chance_of_seeing
from scoring.bench.state import SOIL_KINDS, State
from scoring.faults import FaultError
from scoring.instance import soiled_places
from tests.lessons.drawing.drawn import INSTRUMENTS, SVG, ink, svg_of, with_soil
from tests.scoring.bench.case import handled, instrument, played, site, soiled


def bare(name: str) -> State:
    return soiled(name, fresh=0.0, dried=0.0)


def wiped(name: str) -> State:
    """A device that must stay dry inside, wiped as it should be."""
    cleaner = handled(cloth="damp", cloth_agent="enzymatic_cleaner", wipes=10.0)
    state = played(name, cleaner, steps=("wipe",))
    return played(name, cleaner.changed(cloth_agent="plain_water"), state, steps=("wipe",))


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_the_same_state_gives_the_same_picture_and_valid_xml(name: str) -> None:
    state = played(name, handled(), steps=("soak",))
    first = draw(instrument(name), state, handled(), title="After the soak")
    assert first == draw(instrument(name), state, handled(), title="After the soak")
    root = ET.fromstring(first.svg)  # noqa: S314 - our own text
    assert root.tag == f"{SVG}svg"
    assert root.get("viewBox") == "0 0 640 360"
    assert root.get("role") == "img"
    assert root.get("aria-label") == first.alt
    assert first.alt.startswith("After the soak: ")


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_two_pictures_can_stand_on_one_page(name: str) -> None:
    svg = svg_of(name, with_soil(name, fresh=50.0))
    assert not re.search(r"\sid=|url\(|href|<style|<script|https?://(?!www\.w3\.org/2000/svg)", svg)


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_hostile_words_are_escaped(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    from lessons.drawing import picture

    hostile = '"><script>alert(1)</script>&{0}'
    words = instrument_words(name).model_copy(
        update={"name": hostile, "places": dict.fromkeys(instrument(name).places, hostile)}
    )
    monkeypatch.setattr(picture, "instrument_words", lambda *_: words)
    drawn = draw(instrument(name), with_soil(name, dried=90.0), handled(), title=hostile)
    assert "<script" not in drawn.svg
    root = ET.fromstring(drawn.svg)  # noqa: S314 - our own text
    assert root.get("aria-label") == drawn.alt
    assert hostile in drawn.alt


@pytest.mark.parametrize("name", INSTRUMENTS)
@pytest.mark.parametrize("kind", SOIL_KINDS)
def test_more_soil_is_more_ink(name: str, kind: str) -> None:
    amounts = (0.0, 1.0, 5.0, 20.0, 80.0, 300.0)
    inks = [ink(svg_of(name, with_soil(name, **{kind: amount}))) for amount in amounts]
    assert inks[0] == 0
    assert all(more > less for less, more in itertools.pairwise(inks))


@given(st.floats(0, 2000), st.floats(0, 2000))
def test_blotches_grow_in_number_and_size(one: float, other: float) -> None:
    less, more = sorted((one, other))
    assert how_many(less) <= how_many(more)
    assert how_large(less, 8.0) <= how_large(more, 8.0)


def test_soil_partly_removed_is_the_same_soil_less_of_it() -> None:
    def places_of(svg: str) -> set[str]:
        first = re.search(r'<g opacity="[0-9.]+"><path d="([^"]*)"', svg)
        assert first
        return set(re.findall(r"M(-?[0-9.]+ -?[0-9.]+)", first[1]))

    state = bare("clamp")
    state.soil["shank_left"]["mineral"] = 300.0
    much = places_of(svg_of("clamp", state))
    state.soil["shank_left"]["mineral"] = 150.0
    little = places_of(svg_of("clamp", state))
    near = sum(
        any(
            abs(float(a.split()[0]) - float(b.split()[0])) < 2.5
            and abs(float(a.split()[1]) - float(b.split()[1])) < 2.5
            for b in much
        )
        for a in little
    )
    assert len(little) < len(much)
    assert near == len(little)


@given(st.floats(0, 500), st.floats(50, 3000), st.floats(1, 20))
def test_light_and_lens_never_hide(ug_per_cm2: float, lux: float, lens: float) -> None:
    seen = chance_of_seeing(ug_per_cm2, lux, lens)
    assert 0 <= seen <= 1
    assert chance_of_seeing(ug_per_cm2, lux * 1.5, lens) >= seen
    assert chance_of_seeing(ug_per_cm2, lux, lens * 1.5) >= seen
    assert chance_of_seeing(ug_per_cm2 * 1.5, lux, lens) >= seen


def test_light_and_lens_give_contrast_to_a_trace() -> None:
    state = with_soil("clamp", dried=6.0)
    dim = ink(svg_of("clamp", state, light_lux=300.0))
    bright = ink(svg_of("clamp", state, light_lux=1500.0))
    lens = ink(svg_of("clamp", state, light_lux=1500.0, magnification=4.0))
    assert dim * 1.3 < bright
    assert bright * 1.3 < lens


@pytest.mark.parametrize(
    ("name", "place"),
    [
        (name, place)
        for name in INSTRUMENTS
        for place, shape in instrument(name).places.items()
        if shape.kind == "joint"
    ],
)
def test_soil_in_a_joint_stands_out_only_once_it_is_opened(name: str, place: str) -> None:
    state = bare(name)
    state.soil[place]["dried"] = 10.0 * instrument(name).places[place].area_cm2
    assert ink(svg_of(name, state)) > 1.5 * ink(svg_of(name, state, opened=False)) > 0


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_the_alt_text_names_every_soiled_place_and_no_other(name: str) -> None:
    labels = instrument_words(name).places
    for dirty in instrument(name).places:
        state = bare(name)
        state.soil[dirty]["dried"] = 100.0 * instrument(name).places[dirty].area_cm2
        alt = draw(instrument(name), state, handled(), title="").alt.lower()
        assert f"{labels[dirty]}: much dried soil." in alt
        for other in set(labels) - {dirty}:
            assert f"{labels[other]}:" not in alt


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_every_place_that_the_limit_calls_soiled_is_drawn_and_said(name: str) -> None:
    state = with_soil(name, fresh=site().limits.protein_ug_per_cm2 * 1.01)
    assert site().limits.protein_ug_per_cm2 > FAINTEST
    said = draw(instrument(name), state, handled(), title="").alt.lower()
    for place in soiled_places(state, instrument(name), site()):
        assert instrument_words(name).places[place] in said


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_a_picture_to_be_inspected_gives_nothing_away_in_words(name: str) -> None:
    alts, legends = set(), set()
    for state in (bare(name), with_soil(name, fresh=90.0), with_soil(name, bone=20.0)):
        drawn = draw(instrument(name), state, handled(), title="Look", tell_soil=False)
        alts.add(drawn.alt)
        legends.add("".join(re.findall(r"<text[^>]*>[^<]*</text>", drawn.svg)))
    assert len(alts) == 1
    assert len(legends) == 1
    for label in instrument_words(name).places.values():
        assert label not in alts.pop() if len(alts) == 1 and label != "lumen" else True


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_good_work_leaves_a_clean_picture(name: str) -> None:
    state = played(name, handled()) if instrument(name).immersible else wiped(name)
    drawn = draw(instrument(name), state, handled(), title="")
    words = picture_words()
    protein = [words.legend[kind] for kind in ("fresh", "dried", "fixed")]
    assert not any(soil in drawn.alt for soil in protein if "traces of" not in drawn.alt)
    for mark in (words.foam, words.salts, words.scratches, words.drops):
        assert mark not in drawn.alt


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"rinses": 0.0, "last_water": "none"}, "foam"),
        ({"last_water": "tap"}, "salts"),
        ({"brush": "metal"}, "scratches"),
        ({"under_water": False}, "drops"),
    ],
)
def test_each_mistake_is_seen(change: dict[str, Any], said: str) -> None:
    good = draw(instrument("clamp"), played("clamp", handled()), handled(), title="")
    state = played("clamp", handled(**change))
    bad = draw(instrument("clamp"), state, handled(**change), title="")
    sentence = getattr(picture_words(), said)
    assert sentence in bad.alt
    assert sentence not in good.alt
    assert picture_words().legend[said] in bad.svg  # type: ignore[index]


def test_air_in_the_lumen_is_seen() -> None:
    state = bare("suction_tube")
    words = picture_words()
    full = draw(instrument("suction_tube"), state, handled(), title="")
    air = draw(instrument("suction_tube"), state, handled(lumen_filled=False), title="")
    assert words.air in air.alt
    assert words.air not in full.alt
    assert air.svg != full.svg


@pytest.mark.parametrize("name", ["clamp", "needle_holder", "rongeur"])
def test_opened_and_closed_look_different(name: str) -> None:
    opened = draw(instrument(name), bare(name), handled(), title="")
    closed = draw(instrument(name), bare(name), handled(opened=False), title="")
    assert opened.svg != closed.svg
    assert "opened" in opened.alt
    assert "closed" in closed.alt


@pytest.mark.parametrize("opened", [True, False])
@pytest.mark.parametrize("name", INSTRUMENTS)
def test_spots_lie_on_their_places_and_are_large_enough(name: str, opened: bool) -> None:
    marks = spots(instrument(name), handled(opened=opened))
    assert {mark.place for mark in marks} == set(instrument(name).places)
    form = outline(instrument(name).drawing, opened)
    for mark in marks:
        assert mark.r >= 22, mark.place
        assert mark.r <= mark.x <= 640 - mark.r + 12
        assert mark.y - mark.r + 12 >= 0
        assert mark.y + mark.r <= 360
        nearest = min(
            ((mark.x - x) ** 2 + (mark.y - y) ** 2) ** 0.5
            for region in form.regions[mark.place]
            for x, y in (region.along(step / 20, 0.0) for step in range(21))
        )
        assert nearest <= mark.r + 1.0, mark.place
    if opened:
        assert spots(instrument(name)) == marks


def test_spots_of_an_opened_instrument_do_not_hide_each_other() -> None:
    for name in INSTRUMENTS:
        marks = spots(instrument(name))
        for i, one in enumerate(marks):
            for other in marks[i + 1 :]:
                gap = ((one.x - other.x) ** 2 + (one.y - other.y) ** 2) ** 0.5
                # Each middle is its own: two touches never mean the same place.
                assert gap > max(one.r, other.r), (name, one.place, other.place)


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_pictures_are_light_and_quick(name: str) -> None:
    usual = with_soil(name, fresh=60.0, dried=90.0, fat=15.0)
    assert len(svg_of(name, usual)) < 25_000
    worst = with_soil(name, **dict.fromkeys(SOIL_KINDS, 400.0)).changed(
        residue_mg=50.0, ions_mg=9.0, damage=1.0, above=1e4
    )
    assert len(svg_of(name, worst)) < 80_000
    times = []
    for _ in range(9):
        start = time.process_time()
        svg_of(name, usual)
        times.append(time.process_time() - start)
    # The page's budget is 5 ms; the bound is wider because test machines are slow.
    assert sorted(times)[4] < 0.025


@pytest.mark.parametrize("name", INSTRUMENTS)
def test_every_place_has_a_label_of_its_own(name: str) -> None:
    words = instrument_words(name)
    assert set(words.places) == set(instrument(name).places)
    assert len(set(words.places.values())) == len(words.places)
    assert words.instrument == name


def test_a_language_without_words_falls_back_to_english() -> None:
    assert instrument_words("clamp", "xx") == instrument_words("clamp", "en")
    assert picture_words("xx") == picture_words("en")


def test_an_unknown_outline_is_refused_with_the_remedy() -> None:
    with pytest.raises(FaultError, match="needle_holder"):
        outline("spanner", True)


def test_no_two_instrument_files_share_a_name() -> None:
    names = [instrument_words(name).name for name in INSTRUMENTS]
    assert len(names) == len(set(names)) > 10
    assert InstrumentWords.model_fields["places"].is_required()
