"""Which constants matter most: the table, and what it stands on."""

from __future__ import annotations

import time
from functools import cache

import pytest

from scoring.bench.constants import Constant, assumed, names_read, values, varied
from scoring.bench.drying import DRYING
from scoring.bench.plays import PLAYS, Play
from scoring.bench.reference import SITE
from scoring.bench.sensitivity import SHOWN, Sensitivity, markdown, sensitivity
from scoring.bench.table import EFFECTS
from scoring.readme_part import BENCH_README, with_part

ALL = [constant for constants in EFFECTS.values() for constant in constants]


@cache
def found() -> Sensitivity:
    return sensitivity()


def test_the_readme_holds_the_table_of_sensitivity() -> None:
    readme = BENCH_README.read_text(encoding="utf-8")
    wanted = with_part(readme, "sensitivity", markdown(found()))
    assert wanted == readme, "run: python -m scoring.bench.sensitivity"


def test_it_takes_well_under_a_minute() -> None:
    start = time.process_time()
    sensitivity()
    assert time.process_time() - start < 20.0


def test_no_two_constants_share_a_name() -> None:
    names = [constant.name for constant in ALL]
    assert len(names) == len(set(names)), sorted({n for n in names if names.count(n) > 1})


def test_every_constant_is_in_the_table_or_told_as_untouched() -> None:
    moved = {change.constant.name for change in found().changes}
    untouched = {constant.name for _, constant in found().untouched}
    fixed = {constant.name for constant in ALL if constant.low == constant.high}
    assert not moved & untouched
    assert moved | untouched | fixed == {constant.name for constant in ALL}
    # What only says what can be seen, tested or reached by steam, and what another finding gives.
    named = {effect for effect, _ in found().untouched}
    assert {"inspecting", "testing"} <= named <= {"inspecting", "testing", "steaming", "drying"}


def test_every_constant_that_a_play_reads_changes_an_end() -> None:
    # A number worked out when a module is loaded would not follow its constant.
    assert [change.constant.name for change in found().changes if not change.moved] == []


def test_the_table_is_sorted_by_protein_then_cleaner_then_droplets() -> None:
    keys = [tuple(-abs(change.powers[outcome]) for outcome in SHOWN) for change in found().changes]
    assert keys == sorted(keys)
    assert keys[0][0] < -0.5


def test_the_reference_plays_are_what_they_are_called() -> None:
    ends = {play.name: play.end() for play in PLAYS}
    assert len(ends) == len(PLAYS)
    first: dict[str, Play] = {}
    for play in PLAYS:
        right = first.setdefault(play.instrument.id, play)
        assert (play.harm is None) == play.name.endswith("right")
        if play.harm is None:
            end = ends[play.name]
            assert end["protein"] < SITE.limits.protein_ug_per_cm2, play.name
            assert end["residue_mg"] < SITE.limits.residue_mg, play.name
            assert end["damage"] == end["inside_ml"] == end["oil_mg"] == 0.0, play.name
        else:
            assert ends[play.name][play.harm] > ends[right.name][play.harm], play.name


def test_what_turns_or_fails_is_said_plainly() -> None:
    said = markdown(found())
    for change in found().changes:
        for name in (*change.turned, *change.fails):
            assert f"{change.constant.name} (" in said
            assert name in said


def test_a_constant_is_other_only_inside_its_block() -> None:
    usual = DRYING.value
    with varied({DRYING.name: 0.05}):
        assert DRYING.value == 0.05
        with varied({"another": 1.0}), names_read() as names:
            assert DRYING.value == 0.05
            assert names == {DRYING.name}
        with varied({DRYING.name: 0.01}):
            assert DRYING.value == 0.01
        assert DRYING.value == 0.05
    assert DRYING.value == usual == DRYING.standard
    with pytest.raises(RuntimeError), varied({DRYING.name: 0.05}):
        raise RuntimeError
    assert DRYING.value == usual


def test_a_table_of_values_follows_its_constants() -> None:
    table: dict[str, Constant] = {"a": assumed("made up for this test", 1.0, "1", 0, 2, "none")}
    live = values(table, zero_for=("a", "b"))
    assert dict(live) == {"a": 1.0, "b": 0.0}
    with varied({"made up for this test": 2.0}):
        assert dict(live) == {"a": 2.0, "b": 0.0}
    assert len(live) == 2
    with pytest.raises(KeyError):
        live["c"]
