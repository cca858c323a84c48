"""Every translation against the English: nothing missing, nothing left over, nothing mixed.

What cannot be tested here is whether the words are good: that is for a speaker.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import pytest
from ruamel.yaml import YAML

from lessons import HERE
from lessons.page.catalogue_words import catalogue_words, disputed, mistake_words
from lessons.page.glossary import glossary
from lessons.page.interface import interface, languages
from scoring.catalogue import disputes, mistakes
from scoring.marking.refusal import ENGLISH, GERMAN, sentences
from scoring.scenario import Basis
from scoring.words import Words
from scoring.yaml_file import read_yaml
from tests.lessons.page.playing import Screen, begin, do, new_lesson, some_answer
from tests.lessons.players import library
from tests.lessons.players import sentences as sentences_of

OTHERS = [language for language in languages() if language != "en"]
FILES = [
    path
    for language in OTHERS
    for path in sorted(HERE.rglob(f"*.{language}.yaml"))
    if path.stem.partition(".")[0] != "catalogue"
]
SCENARIOS = [path for path in FILES if "scenarios" in path.parts]
SOAK = sorted(
    path.stem.partition(".")[0] for path in (HERE / "scenarios" / "soak").glob("*.en.yaml")
)

_NAME = re.compile(r"\{([a-z][a-z0-9_-]*)\}")
_FREE = ("forms", "review", "name", "language")
"""Items that may differ in number or kind: spellings, who has read it, what it calls itself."""


def english(path: Path) -> Path:
    return path.with_name(f"{path.stem.partition('.')[0]}.en.yaml")


def leaves(value: Any, at: tuple[str, ...] = ()) -> Iterator[tuple[tuple[str, ...], str]]:
    """Yield every text of a file with the way to it."""
    if isinstance(value, Mapping):
        for name, inner in value.items():
            if name not in _FREE or "places" in at or at == ():
                yield from leaves(inner, (*at, str(name)))
    elif isinstance(value, list):
        for number, inner in enumerate(value):
            yield from leaves(inner, (*at, str(number)))
    else:
        yield at, str(value)


def texts(path: Path) -> dict[tuple[str, ...], str]:
    content = YAML(typ="safe").load(path)
    return {at: text for at, text in leaves(content) if at[0] not in ("review", "name", "language")}


def test_there_is_a_second_language_and_each_is_named_in_itself() -> None:
    assert languages()["en"] == "English"
    assert languages()["de"] == "Deutsch"
    assert next(iter(languages())) == "en"


def test_every_lesson_of_the_soak_station_is_translated() -> None:
    translated = {path.stem.partition(".")[0] for path in SCENARIOS if path.stem.endswith(".de")}
    assert set(SOAK) <= translated


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_a_translation_has_the_ids_of_the_english_and_the_same_names_to_fill_in(path: Path) -> None:
    own, other = texts(path), texts(english(path))
    assert own.keys() == other.keys()
    for at, text in own.items():
        assert text.strip(), at
        assert set(_NAME.findall(text)) == set(_NAME.findall(other[at])), at
    assert YAML(typ="safe").load(path)["review"] in ("reviewed", "needs review by a speaker")


@pytest.mark.parametrize("path", SCENARIOS, ids=lambda path: path.stem)
def test_a_translated_caution_defers_and_the_right_answer_is_not_told_by_its_length(
    path: Path,
) -> None:
    words = read_yaml(path, Words)
    for wanted in ("Gebrauchsanweisung (IFU)", "Regeln Ihres Hauses"):
        assert wanted in " ".join(words.caution.split())
    for decision in library().scenario(words.scenario).decisions:
        if decision.kind != "choose_one":
            continue
        said = words.decisions[decision.id].answers
        right = max(len(said[one.id]) for one in decision.options if one.credit == 1)
        wrong = max(len(said[one.id]) for one in decision.options if one.credit < 1)
        assert right <= 2 * wrong, decision.id


@pytest.mark.parametrize("language", OTHERS)
def test_no_spelling_of_the_glossary_stands_for_two(language: str) -> None:
    forms = [form.lower() for term in glossary(language).terms.values() for form in term.forms]
    assert len(forms) == len(set(forms))


def test_mistakes_that_a_translated_lesson_can_show_are_translated() -> None:
    for path in SCENARIOS:
        language = path.stem.partition(".")[2]
        words = catalogue_words(language)
        assert words is not None
        source = path.with_name(f"{path.stem.partition('.')[0]}.yaml").read_text(encoding="utf-8")
        assert set(re.findall(r"\bM\d{2,3}\b", source)) <= words.mistakes.keys(), path.stem
        assert words.mistakes.keys() <= mistakes().keys()
        assert words.disputes.keys() == disputes().keys()


def test_what_a_language_lacks_is_said_in_english() -> None:
    assert interface("xx") == interface("en")
    assert glossary("xx") == glossary("en")
    assert sentences("xx") == ENGLISH
    first = next(iter(mistakes().values()))
    assert mistake_words(first.id, "xx").mistake == first.mistake
    drying = disputes()["drying"]
    basis = Basis(facts=drying.fact_ids[:1])
    assert disputed(basis, "xx") == (drying.said,)
    assert disputed(basis, "de") != (drying.said,)


def test_refusals_have_the_same_codes_and_names() -> None:
    assert GERMAN.keys() == ENGLISH.keys()
    for code, sentence in GERMAN.items():
        assert sentence != ENGLISH[code]
        assert ("{units}" in sentence) == ("{units}" in ENGLISH[code])


# ---- playing ---------------------------------------------------------------------------------

SAME_IN_BOTH = {"Sinkside", "{why} Station: {station}."}
"""Sentences of the interface that read the same in English and in German."""


def told(value: Any) -> Iterator[str]:
    """Yield every text of a screen, but what is told in English only and pictures' drawing."""
    if isinstance(value, str):
        yield value
    elif isinstance(value, Mapping):
        for name, inner in value.items():
            if name not in ("basis", "svg", "id", "do", "kind", "token", "languages"):
                yield from told(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from told(inner)


def english_sentences() -> list[re.Pattern[str]]:
    """Every English sentence of page and pictures, whole, its names standing for any text."""
    found = []
    for text in interface("en").said.values():
        if text in SAME_IN_BOTH or not re.search(r"[A-Za-z]{4}", _NAME.sub("", text)):
            continue
        found.append(re.compile(".+".join(map(re.escape, _NAME.split(text)[::2]))))
    return found


def play(lesson: Any, scenario: str, pick: int) -> Iterator[Screen]:
    screen = begin(lesson, scenario=scenario)
    while screen["kind"] == "decision":
        yield screen
        yield do(lesson, "answer", decision=screen["id"], value=some_answer(screen, pick))
        screen = do(lesson, "next")
    yield screen
    yield do(lesson, "what_if")


@pytest.mark.parametrize("scenario", SOAK)
def test_a_lesson_in_german_shows_no_english_sentence_of_the_page(
    scenario: str, tmp_path: Path
) -> None:
    lesson = new_lesson(tmp_path)
    do(lesson, "language", id="de")
    not_german = english_sentences()
    own = {
        sentence
        for sentence in sentences_of(library().words(scenario, "en"))
        if not _NAME.search(sentence) and len(sentence) > 12
    }
    effects = {row.effect for row in mistakes().values() if len(row.effect) > 12}
    for screen in play(lesson, scenario, pick=1):
        assert screen["language"] == "de"
        for text in told(screen):
            assert not any(pattern.fullmatch(text) for pattern in not_german), text
            assert not any(sentence in text for sentence in own), text
            assert not any(effect in text for effect in effects), text


def test_the_log_says_in_which_language_it_was_played(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path)
    assert do(lesson, "language", id="de")["heading"] == "Einlegen: Wer übt?"
    begin(lesson, scenario=SOAK[0])
    assert lesson.practice is not None
    assert lesson.practice.log.header.language == "de"


def test_a_reload_keeps_the_language_and_the_place(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path)
    do(lesson, "language", id="de")
    screen = begin(lesson, scenario=SOAK[0])
    do(lesson, "answer", decision=screen["id"], value=some_answer(screen))
    token = lesson.screen["token"]
    again = do(new_lesson(tmp_path), "hello", token=token, language="de")
    assert (again["kind"], again["language"]) == ("consequence", "de")
    fresh = do(new_lesson(tmp_path), "hello", token=None, language="de")
    assert (fresh["kind"], fresh["language"]) == ("sign_in", "de")
    assert new_lesson(tmp_path).handle({"do": "hello", "token": None}) is None


@pytest.mark.parametrize("asked", ["xx", "", None, 3, ["de"]])
def test_an_unknown_language_changes_nothing(asked: object, tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path)
    assert do(lesson, "language", id=asked)["language"] == "en"


def test_a_refusal_is_in_the_language_of_the_lesson(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path)
    do(lesson, "language", id="de")
    screen = begin(lesson, scenario="soak-clamp-dried")
    refused = do(lesson, "answer", decision=screen["id"], value="nothing-of-the-kind")
    assert refused["notice"] == GERMAN["unknown_choice"]


def test_a_lesson_without_german_words_says_so_and_is_english_throughout(tmp_path: Path) -> None:
    lesson = new_lesson(tmp_path, "brush")
    do(lesson, "language", id="de")
    chosen = do(lesson, "sign_in", values={"operator": "OP-017"})
    only_english = [one for one in chosen["items"] if one.get("language") == "en"]
    known = {path.stem.partition(".")[0] for path in SCENARIOS}
    assert {one["id"] for one in only_english} == {
        one["id"] for one in chosen["items"] if one["id"] not in known
    }
    for one in only_english:
        assert one["detail"].endswith(interface("de").say("only_english"))
    for one in only_english[:1]:
        shown = do(lesson, "choose", id=one["id"])
        assert (shown["language"], shown["button"]["label"]) == ("en", "Begin")
        assert lesson.practice is not None
        assert lesson.practice.log.header.language == "en"
        assert do(lesson, "again")["language"] == "de"


# ---- how hard it is to read ------------------------------------------------------------------

_VOWELS = re.compile(r"[aeiouyäöü]+")
_WORD = re.compile(r"[A-Za-zÄÖÜäöüß]+")
_END = re.compile(r"[.!?:;]+")


def readability(found: list[str]) -> tuple[float, float, float]:
    """Mean words in a sentence, share of words of three syllables or more, and Amstad's ease.

    Amstad's Flesch formula for German: ``180 - words/sentence - 58.5 syllables/word``
    (from memory, no source at hand). Syllables are groups of vowels. Above 60: plain.
    """
    words = spoken = long = ends = 0
    for text in found:
        for sentence in _END.split(_NAME.sub("fünf", text)):
            counted = [
                max(1, len(_VOWELS.findall(word.lower()))) for word in _WORD.findall(sentence)
            ]
            if counted:
                ends += 1
                words += len(counted)
                spoken += sum(counted)
                long += sum(count >= 3 for count in counted)
    return words / ends, long / words, 180 - words / ends - 58.5 * spoken / words


def test_german_is_short_and_plain(capsys: pytest.CaptureFixture[str]) -> None:
    lines = []
    for path in [path for path in SCENARIOS if path.stem.endswith(".de")]:
        length, share, ease = readability(list(sentences_of(read_yaml(path, Words))))
        lines.append(f"{path.stem:36} {length:5.1f} {100 * share:5.1f} % {ease:6.1f}")
        assert length < 10, path.stem
        assert ease > 60, path.stem
    with capsys.disabled():
        print("\nGerman: words a sentence, words of 3 syllables or more, Amstad's ease")
        print("\n".join(lines))
