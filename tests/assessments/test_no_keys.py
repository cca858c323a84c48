"""Nothing that a candidate can receive holds anything of the key.

Scanned: every screen that the exam can show, with every message that the kernel
sends to the page, for right and for wrong answers; the answer log; the released
notebook; nbgrader's feedback page; and the feedback sheet.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from html import unescape
from typing import Any

import pytest

from assessments import exam_library
from assessments.exam import Exam
from assessments.exam_form import exam_forms
from assessments.gradebook.course import Course
from assessments.marking import mark_form
from assessments.paper import Paper
from assessments.seating import Slip, seat
from lessons import DEFAULT_SITE
from lessons.page.card import Card
from lessons.page.screens import Screen
from scoring.catalogue import mistakes, said_basis
from scoring.form import Form
from scoring.instance import Instance
from scoring.marking.credit import credit
from scoring.records.header import seated_instances
from scoring.records.log import read_log
from scoring.records.places import exam_log
from scoring.scenario import Decision
from scoring.settings import Settings
from scoring.site import SiteValues
from scoring.wording import fill_words
from scoring.words import DecisionWords
from scoring.yaml_file import read_yaml
from tests.assessments.play import play, sign_in
from tests.assessments.trial import Chooser, right, wrong

LIBRARY = exam_library()
FORMS = exam_forms()
SITE = read_yaml(DEFAULT_SITE, SiteValues)

KEY_ITEMS = (
    "credit", "right", "unsafe", "mistake", "mistakes", "basis", "reason", "reasons", "tolerance",
    "floor", "ceiling", "low", "high", "soiled", "handling", "handling_without", "precedence",
    "weight", "critical", "rule", "key", "keys", "seed", "state", "topic", "step",
)  # fmt: skip
"""Names of items that marking uses; none may be an item of a screen."""


@dataclass(frozen=True)
class Sat:
    """Somebody's exam: everything that reached the tablet, and what the log holds."""

    form: Form
    slip: Slip
    screens: list[Screen]
    instances: dict[str, Instance]
    paper: Paper
    answers: dict[tuple[str, str], object]


@pytest.fixture(scope="module")
def kit(tmp_path_factory: pytest.TempPathFactory) -> Settings:
    return Settings(records=tmp_path_factory.mktemp("keys") / "records", site=DEFAULT_SITE)


@pytest.fixture(scope="module")
def everybody(kit: Settings) -> list[Sat]:
    """Each form sat by somebody who is always right and by somebody who is always wrong."""
    people = []
    for place, form in enumerate(FORMS):
        for offset, choose in enumerate((right, wrong)):
            people.append(sits(kit, form, f"OP-{10 * place + offset}", choose))
    return people


def sits(kit: Settings, form: Form, operator: str, choose: Chooser) -> Sat:
    (slip,) = seat(kit, form, LIBRARY.form_digest(form), [operator])
    exam = Exam(kit)
    card = Card(exam.screen)
    sent: list[Screen] = []
    card.observe(lambda change: sent.append(dict(change["new"])), "screen")
    card.on_action(exam.act)

    def through_the_card(action: dict[str, object]) -> None:
        card._received(card, action, [])

    through_the_card({"do": "hello", "token": None})
    through_the_card({"do": "sign_in", "values": {"code": operator, "pin": "000000"}})
    sign_in(exam, operator, slip.pin)
    card.screen = exam.screen
    screens: list[Screen] = [exam.screen]
    play(exam, choose, screens)
    log = read_log(exam_log(kit, slip.sitting))
    return Sat(
        form, slip, [*sent, *screens], seated_instances(LIBRARY, SITE, log.header),
        Paper.of(log.header, form, LIBRARY, SITE),
        {(each.scenario, each.decision): each.value for each in log.answers},
    )  # fmt: skip


def decisions(person: Sat) -> Iterator[tuple[Instance, Decision, DecisionWords]]:
    for name, instance in person.instances.items():
        words = LIBRARY.words(name, "en")
        for decision in instance.scenario.decisions:
            yield instance, decision, words.decisions[decision.id]


def plain(text: str) -> str:
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", text)).split())


def pieces(text: str, length: int = 5) -> Iterator[str]:
    """Runs of so many words: a key sentence is found even when it was shortened."""
    words = text.split()
    for start in range(max(1, len(words) - length + 1)):
        yield " ".join(words[start : start + length])


def shown_texts(person: Sat) -> str:
    """All words that the person may read in the exam: situations, questions, labels."""
    parts: list[str] = []
    for name, instance in person.instances.items():
        words = LIBRARY.words(name, "en")
        parts += [fill_words(words.situation, instance), fill_words(words.caution, instance)]
        for decision in instance.scenario.decisions:
            asked = words.decisions[decision.id]
            parts.append(fill_words(asked.question, instance))
            parts += [fill_words(label, instance) for label in asked.answers.values()]
    return plain(" ".join(parts))


def names_of(value: object) -> Iterator[str]:
    if isinstance(value, dict):
        for name, inner in value.items():
            yield str(name)
            yield from names_of(inner)
    elif isinstance(value, list | tuple):
        for inner in value:
            yield from names_of(inner)


def reason_texts(person: Sat) -> Iterator[tuple[tuple[str, str], str, str]]:
    for instance, decision, words in decisions(person):
        for key, text in words.reasons.items():
            yield (instance.scenario.id, decision.id), key, plain(fill_words(text, instance))


def assert_no_reasons(
    text: str, person: Sat, allowed: Iterable[tuple[tuple[str, str], str]] = ()
) -> None:
    """Fail when five words of a reason in a row stand in `text` and in no text that is asked."""
    told = set(allowed)
    open_texts = shown_texts(person) + " ".join(
        reason for where, key, reason in reason_texts(person) if (where, key) in told
    )
    for where, key, reason in reason_texts(person):
        if (where, key) in told:
            continue
        for piece in pieces(reason):
            if len(piece) > 12 and piece not in open_texts:
                assert piece not in text, f"{where} {key}: {piece!r}"


def assert_no_mistakes(text: str) -> None:
    # A group of a receipt code may look like an id; it stands beside a dash.
    found = re.search(r"(?<![\w-])M[0-9]{2,3}(?![\w-])", text)
    assert found is None, found
    for row in mistakes().values():
        for sentence in (row.mistake, row.right_action, row.effect):
            if len(sentence) > 25:
                assert plain(sentence) not in text, row.id


def test_there_is_something_to_scan(everybody: list[Sat]) -> None:
    kinds = {screen["kind"] for person in everybody for screen in person.screens}
    assert kinds == {"sign_in", "intro", "decision", "receipt"}
    controls = {screen.get("control") for person in everybody for screen in person.screens}
    assert controls >= {"choose_one", "choose_several", "order", "quantity", "mark_places"}


def test_no_screen_names_an_item_of_the_marking(everybody: list[Sat]) -> None:
    for person in everybody:
        for screen in person.screens:
            found = set(names_of(screen)) & set(KEY_ITEMS)
            assert not found, (screen["kind"], found)


def test_no_screen_holds_a_reason_or_a_mistake(everybody: list[Sat]) -> None:
    for person in everybody:
        text = plain(json.dumps(person.screens, ensure_ascii=False))
        assert_no_reasons(text, person)
        assert_no_mistakes(text)


def test_no_screen_holds_an_id_of_an_answer_or_the_sitting(everybody: list[Sat]) -> None:
    for person in everybody:
        for screen in person.screens:
            sent = json.dumps(
                {name: screen.get(name) for name in ("id", "answers", "spots", "units", "button")}
            )
            assert person.slip.sitting not in json.dumps(screen)
            for instance, decision, words in decisions(person):
                for identifier in words.answers:
                    assert f'"id": "{identifier}"' not in sent, (instance.scenario.id, decision.id)
                for place in instance.instrument.places:
                    assert f'"place": "{place}"' not in sent


def test_the_order_shown_is_never_the_right_one(everybody: list[Sat]) -> None:
    for person in everybody:
        for instance, decision, _ in decisions(person):
            if decision.kind == "order":
                wanted = tuple(item.id for item in decision.items)
                assert instance.answer_order[decision.id] != wanted


def test_no_text_of_a_screen_says_where_the_soil_is(everybody: list[Sat]) -> None:
    """Where places are to be marked, alt text and caption are the same whatever is soiled."""
    for person in everybody:
        marked = [screen for screen in person.screens if screen.get("control") == "mark_places"]
        assert marked
        for screen in marked:
            labels = {spot["label"] for spot in screen["spots"]}
            said = screen["picture"]["alt"] + screen["picture"]["caption"]
            assert not any(label in said for label in labels)
            assert not re.findall(r"<(?:title|desc)|\bid=|data-", screen["picture"]["svg"])
            assert len(re.findall(r"aria-", screen["picture"]["svg"])) == 1


def amounts(instance: Instance, decision: Decision) -> Iterator[str]:
    """The bounds of a quantity's key as they would be written."""
    key = instance.keys[decision.id]
    for bound in (key.floor, key.low, key.high, key.ceiling):
        yield f"{bound:g} {key.unit}"
        yield repr(float(bound))


def test_no_screen_holds_a_bound_that_is_not_given_to_everybody(everybody: list[Sat]) -> None:
    for person in everybody:
        open_texts = shown_texts(person)
        texts = [
            plain(json.dumps({**screen, "picture": None, "spots": None}, ensure_ascii=False))
            for screen in person.screens
        ]
        for instance, decision, _ in decisions(person):
            if decision.kind != "quantity":
                continue
            for amount in amounts(instance, decision):
                wanted = re.compile(rf"(?<![\d.]){re.escape(amount)}(?![\w.])")
                if not wanted.search(open_texts):
                    assert not any(wanted.search(text) for text in texts), (decision.id, amount)


def test_the_log_holds_answers_and_no_marks(everybody: list[Sat], kit: Settings) -> None:
    for person in everybody:
        text = exam_log(kit, person.slip.sitting).read_text(encoding="utf-8")
        assert_no_mistakes(text)
        assert_no_reasons(plain(text), person)
        for line in text.splitlines():
            found = set(names_of(json.loads(line))) & set(KEY_ITEMS)
            assert found <= {"seed"}, found


def test_released_notebook_and_both_feedbacks_hold_no_key(
    everybody: list[Sat], kit: Settings
) -> None:
    form = FORMS[0]
    report = mark_form(kit, form)
    course = Course(kit)
    people = [person for person in everybody if person.form == form]
    assert {person.slip.operator for person in people} == set(report.counted)
    released = course.released(form.name).read_text(encoding="utf-8")
    for person in people:
        operator = person.slip.operator
        pages = {
            "released": plain(released),
            "nbgrader": plain(course.feedback(form.name, operator).read_text(encoding="utf-8")),
            "sheet": plain((report.feedback / f"{operator}.html").read_text(encoding="utf-8")),
        }
        for name, text in pages.items():
            assert_no_mistakes(text)
            own = list(own_reasons(person)) if name == "sheet" else []
            assert_no_reasons(text, person, own)
            assert_no_labels_of_others(text, person)
            assert_no_grounds(text, person)
            for instance, decision, _ in decisions(person):
                if decision.kind == "quantity":
                    answer = person.answers[instance.scenario.id, decision.id]
                    assert isinstance(answer, dict)
                    open_texts = shown_texts(person) + f" {answer['amount']:g} {answer['unit']}"
                    for amount in amounts(instance, decision):
                        if amount not in open_texts and " " in amount:
                            assert amount not in text, (name, decision.id, amount)


def assert_no_grounds(text: str, person: Sat) -> None:
    """Fail when what a rule rests on is told: a fact, or the scenario's own words for it."""
    for instance, decision, _ in decisions(person):
        for ground in said_basis(decision.basis):
            # Where a rule comes from is listed at the end of the sheet; what it says is not.
            assert not ground.text or plain(ground.text) not in text, (
                instance.scenario.id,
                decision.id,
            )


def own_reasons(person: Sat) -> Iterator[tuple[tuple[str, str], str]]:
    """The reasons that the sheet may tell: of what was fully right, and of the own choice."""
    for instance, decision, _ in decisions(person):
        where = (instance.scenario.id, decision.id)
        earned = credit(decision, person.answers[where], instance)
        if earned.credit >= 1 or decision.kind == "choose_one":
            yield where, earned.reason


def assert_no_labels_of_others(text: str, person: Sat) -> None:
    """Fail when the label of an answer that was not given stands on a page after the exam."""
    for instance, decision, words in decisions(person):
        given: Any = person.answers[instance.scenario.id, decision.id]
        chosen = (
            {given} if isinstance(given, str) else set(given if isinstance(given, tuple) else ())
        )
        said = " ".join(
            fill_words(words.answers[name], instance) for name in chosen if name in words.answers
        )
        for name, label in words.answers.items():
            shown = plain(fill_words(label, instance))
            if name not in chosen and len(shown) > 12 and shown not in said:
                assert shown not in text, (instance.scenario.id, decision.id, name)


def test_the_scan_finds_a_key_where_there_is_one(everybody: list[Sat]) -> None:
    """The scan itself can fail: shown a reason, a mistake and a label, it does."""
    person = everybody[1]
    _, _, reason = next(iter(reason_texts(person)))
    with pytest.raises(AssertionError):
        assert_no_reasons(f"something {reason}", person)
    with pytest.raises(AssertionError):
        assert_no_mistakes("see M06")
    instance, decision, words = next(
        each for each in decisions(person) if each[1].kind == "choose_one"
    )
    given = person.answers[instance.scenario.id, decision.id]
    label = next(text for name, text in words.answers.items() if name != given)
    with pytest.raises(AssertionError):
        assert_no_labels_of_others(plain(fill_words(label, instance)), person)
