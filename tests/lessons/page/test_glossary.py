"""Words of the trade: in plain words, found where they stand, and only there."""

from __future__ import annotations

from lessons.page.glossary import explained, glossary
from tests.lessons.players import library, sentences
from tests.lessons.readability import grade

TERMS = glossary("en").terms


def on(text: str, kind: str = "intro") -> list[str]:
    return [one["term"] for one in explained({"kind": kind, "situation": text}, "en")["terms"]]


def test_words_are_found_whole_in_small_and_capital_letters() -> None:
    assert on("Lumens and the ratchet.") == ["lumen", "ratchet"]
    assert on("The washery of an illumination") == []


def test_lists_and_answers_are_read_and_ids_are_not() -> None:
    screen = {"kind": "decision", "answers": [{"id": "lumen", "label": "Look at the box lock"}]}
    assert [one["term"] for one in explained(screen, "en")["terms"]] == ["box lock"]


def test_other_screens_stay_as_they_are() -> None:
    screen = {"kind": "summary", "said": "lumen"}
    assert explained(screen, "en") == screen


def test_every_term_is_used_somewhere_and_no_spelling_stands_for_two() -> None:
    text = "\n".join(
        sentence
        for name in library().scenario_ids()
        for sentence in sentences(library().words(name, "en"))
    )
    used = set(on(text))
    assert {term.term for term in TERMS.values()} == used
    forms = [form.lower() for term in TERMS.values() for form in term.forms]
    assert len(forms) == len(set(forms))


def test_the_explanations_are_plain() -> None:
    """All together: the grade of one short sentence with one long word says little."""
    assert grade([term.said for term in TERMS.values()]) < 7.0
