"""Every sentence of the interface is used, and every one used is there."""

from __future__ import annotations

import re
from pathlib import Path
from typing import get_args

import pytest

from lessons import HERE
from lessons.page.interface import interface
from scoring.catalogue import mistakes, subjects
from scoring.model import STATIONS
from scoring.scenario import Step

PAGE = HERE / "page"
SERVING = HERE / "serving"
ASSESSMENTS = HERE.parent / "assessments"

BUILT = {
    *(f"{kind}_{station}" for station in STATIONS for kind in ("station", "about")),
    *(f"verdict_{word}" for word in ("right", "partly", "wrong", "unsafe")),
    *(f"status_{word}" for word in ("read", "restated", "calculated", "common practice", "memory")),
    *(f"reached_{who}" for who in ("patient", "operator", "others", "device")),
    *(
        f"figure_{name}"
        for name in (
            "protein",
            "fixed",
            "bone",
            "residue",
            "ions",
            "endotoxin",
            "water",
            "inside",
            "oil",
            "lubricated",
            "steam",
            "droplets",
            "exposure",
            "damage",
        )
    ),
    *(f"ring_{outcome}" for outcome in ("found", "missed", "clean")),
    *(f"ahead_{step}" for step in get_args(Step)),
    *(f"topic_{topic}" for subject in subjects().values() for topic in subject.topic_ids),
    *(
        f"what_if_{play}_{end}"
        for play in ("played", "tried", "both")
        for end in ("within", "over")
    ),
    "not_found",
    "not_found_heading",
    "server_fault",
    "server_fault_heading",
}
"""Keys that the code puts together from parts."""


def texts(*patterns: tuple[Path, str]) -> str:
    return "\n".join(
        path.read_text(encoding="utf-8")
        for folder, pattern in patterns
        for path in sorted(folder.rglob(pattern))
    )


def test_what_the_kernel_says_is_all_there_and_nothing_more() -> None:
    source = texts((PAGE, "*.py"), (SERVING, "*.py"), (SERVING, "*.html"), (ASSESSMENTS, "*.py"))
    quoted = set(re.findall(r"[\"']([a-z][a-z_]+)[\"']", source))
    asked = set(
        re.findall(r"\bsay\(\s*[\"']([a-z_]+)[\"']", texts((PAGE, "*.py"), (SERVING, "*.[ph]*")))
    )
    said = set(interface("en").said)
    assert asked - said == set()
    assert said - quoted - BUILT == set()
    assert BUILT - said == set()


def test_what_the_card_says_is_all_there_and_nothing_more() -> None:
    source = texts((PAGE / "script", "*.js"))
    assert set(re.findall(r"\bwords\.([a-z_]+)", source)) == set(interface("en").page)


def test_everybody_a_mistake_can_harm_has_a_sentence() -> None:
    for row in mistakes().values():
        assert f"reached_{row.who_is_harmed}" in interface("en").said


def test_a_language_without_words_falls_back_to_english() -> None:
    assert interface("xx").language == "en"


def test_names_in_a_sentence_are_filled() -> None:
    assert interface("en").say("saved", time="10:42") == "saved 10:42"
    with pytest.raises(KeyError):
        interface("en").say("saved", clock="10:42")
