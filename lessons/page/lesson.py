"""A station's lessons as a machine without a page: an action in, a screen out."""

from __future__ import annotations

import logging
import os
import time
from dataclasses import replace
from functools import cached_property
from pathlib import Path
from typing import Any

from IPython.display import display
from pydantic import TypeAdapter, ValidationError

from lessons import DEFAULT_SITE, lesson_library
from lessons.page import lesson_screens as shown
from lessons.page import troubles, trying
from lessons.page.around import Around
from lessons.page.card import Action, Card
from lessons.page.due import Suggestion, suggestions
from lessons.page.glossary import explained
from lessons.page.history import History, read_history
from lessons.page.interface import languages
from lessons.page.practice import Practice, find_by_token, new_practice, resumed_practice
from lessons.page.screens import Screen
from scoring.faults import FaultError
from scoring.library import Library
from scoring.marking.credit import check_answer
from scoring.marking.refusal import sentences
from scoring.model import OperatorCode, Station
from scoring.records.log import LogRefused, RecordsError, StaleLog, local_now
from scoring.settings import Settings
from scoring.site import SiteValues
from scoring.words import Words
from scoring.yaml_file import read_yaml

_CODE = TypeAdapter(OperatorCode)
_log = logging.getLogger("sinkside.lesson")


class Lesson:
    """The lessons of one station for whoever sits before the page.

    Parameters
    ----------
    settings : Settings
        Where records go, whose values hold, which language.
    station : Station
        The station.
    library : Library or None
        The scenarios; the kit's own when None.
    home : str or None
        URL of the start page, if there is one to go back to.
    """

    def __init__(
        self,
        settings: Settings,
        station: Station,
        library: Library | None = None,
        home: str | None = None,
    ) -> None:
        self.settings = settings
        self.station: Station = station
        self.library = library if library is not None else lesson_library()
        self.around = Around(settings.language, station, home)
        self.operator = ""
        self.practice: Practice | None = None
        self._tried: str | None = None
        self._since = time.monotonic()
        self._screen = shown.sign_in(self.around)

    @property
    def screen(self) -> Screen:
        """The screen shown now."""
        return self._screen

    @cached_property
    def site(self) -> SiteValues:
        """The department's values; `FaultError` when the file cannot be used."""
        return read_yaml(self.settings.site, SiteValues)

    def handle(self, action: Action) -> Screen | None:
        """Take an action and return the screen that follows; None when nothing changes.

        Never raises: whatever goes wrong becomes a screen that says what and
        what to do.
        """
        try:
            screen = self._next(action)
        except StaleLog:
            screen = troubles.opened_elsewhere(self.around)
        except LogRefused as error:
            screen = troubles.damaged(self.around, error)
        except FaultError as error:
            screen = troubles.fault(self.around, error)
        except OSError as error:
            screen = troubles.kit_fault(self.around, error.strerror or type(error).__name__)
        except Exception as error:  # the last net: a trainee must never meet a traceback
            _log.exception("a fault of the kit")
            screen = troubles.kit_fault(self.around, type(error).__name__)
        if screen is not None:
            screen = explained(screen, screen["language"])
            self._screen = screen
        return screen

    def _next(self, action: Action) -> Screen | None:
        done = action.get("do")
        if done == "hello":
            return self._hello(action.get("token"), action.get("language"))
        if done == "language":
            self._speak(action.get("id"))
            return self._where_it_stands() if self.operator else shown.sign_in(self.around)
        if done == "sign_in":
            return self._sign_in(action.get("values"))
        if done == "sign_out":
            return self._sign_out()
        if not self.operator:
            return shown.sign_in(self.around)
        if self.practice is not None:
            tried = self._try(self.practice, action)
            if tried is not None:
                return tried
        if done == "choose" and isinstance(action.get("id"), str):
            return self._choose(action["id"])
        if done == "begin" and self.practice is not None:
            self.practice.begun = True
        if done == "answer" and self.practice is not None:
            return self._answer(self.practice, action.get("decision"), action.get("value"))
        if done == "hint" and self.practice is not None:
            return self._hint(self.practice, action.get("decision"))
        if done == "next" and self.practice is not None:
            self.practice.read = len(self.practice.answers)
        if done in ("again", "start_over"):
            self.practice = None
        return self._where_it_stands()

    def _try(self, practice: Practice, action: Action) -> Screen | None:
        """Take an action of a what-if; None when it is none, or when the practice is not over."""
        if not practice.complete or practice.read < len(practice.answers):
            return None
        words = self._words(practice.scenario.id)
        around = self._beside(words)
        done, decision = action.get("do"), self._tried
        if done == "what_if":
            self._tried = ""
            return trying.offer(around, practice, words)
        if decision is None:
            return None
        known = [one.id for one in practice.scenario.decisions]
        if done == "choose" and action.get("id") in known:
            self._tried = str(action["id"])
            return trying.ask(around, practice, words, self._tried)
        if done == "answer" and decision and action.get("decision") == decision:
            value = action.get("value")
            asked = practice.scenario.decision(decision)
            misfit = check_answer(asked, value, practice.instance, sentences(around.language))
            if misfit is not None:
                return trying.ask(around, practice, words, decision, notice=misfit)
            answer: Any = tuple(value) if isinstance(value, list) else value
            if answer == practice.answers[known.index(decision)].value:
                same = around.words.say("what_if_again")
                return trying.ask(around, practice, words, decision, notice=same)
            return trying.ends(around, practice, words, decision, answer)
        self._tried = None
        return None

    def _speak(self, language: object) -> None:
        """Go on in another language, if the page can speak it."""
        if isinstance(language, str) and language in languages():
            self.around = replace(self.around, language=language)

    def _beside(self, words: Words) -> Around:
        """Return what is around a scenario: in its own language, so that no screen mixes two."""
        return replace(self.around, language=words.language)

    def _hello(self, token: object, language: object) -> Screen | None:
        self._speak(language)
        if token is None:
            return None if language is None else shown.sign_in(self.around)
        if self.practice is not None and token == self.practice.token:
            return self._screen
        found = find_by_token(self.settings, token)
        if found is None:
            return self._sign_out()
        path, read = found
        self.operator = path.parent.name
        return self._resume(path, read)

    def _sign_in(self, values: object) -> Screen:
        typed = values.get("operator") if isinstance(values, dict) else None
        try:
            self.operator = _CODE.validate_python(str(typed or "").strip().upper())
        except ValidationError:
            return shown.sign_in(self.around, wrong=str(typed or ""))
        self.practice = None
        return self._where_it_stands()

    def _sign_out(self) -> Screen:
        self.operator, self.practice = "", None
        return shown.sign_in(self.around, forget=True)

    def _choose(self, scenario_id: str) -> Screen:
        if scenario_id not in self._scenario_ids():
            return self._where_it_stands()
        begun = self._history().begun.get(scenario_id)
        if begun is not None:
            return self._resume(begun, None)
        shown_in = replace(self.settings, language=self._words(scenario_id).language)
        self.practice = new_practice(shown_in, self.library, self.site, self.operator, scenario_id)
        return self._where_it_stands()

    def _resume(self, path: Path, read: int | None) -> Screen:
        self.practice = None
        practice = resumed_practice(path, self.library, self.site, read)
        if practice.scenario.station != self.station:
            return self._sign_out()
        self.practice = practice
        return self._where_it_stands(resumed=True)

    def _answer(self, practice: Practice, decision_id: object, value: Any) -> Screen:
        if practice.complete or practice.read < len(practice.answers):
            return self._where_it_stands()
        decision = practice.next_decision()
        if decision_id != decision.id:
            return self._where_it_stands()
        language = self._words(practice.scenario.id).language
        misfit = check_answer(decision, value, practice.instance, sentences(language))
        if misfit is not None:
            return self._decision(practice, notice=misfit)
        answer = tuple(value) if isinstance(value, list) else value
        try:
            practice.answer(answer, time.monotonic() - self._since)
        except StaleLog:
            raise
        except RecordsError as error:
            # Nothing was written, so the question stays, with what was chosen still in it.
            if len(practice.log.answers) == len(practice.moments) - 1 and not practice.complete:
                return self._decision(practice, notice=troubles.not_saved(self.around, error))
            raise
        return self._where_it_stands()

    def _hint(self, practice: Practice, decision_id: object) -> Screen:
        asked = practice.begun and not practice.complete
        if not asked or practice.read < len(practice.answers):
            return self._where_it_stands()
        decision = practice.next_decision()
        words = self._words(practice.scenario.id)
        if decision.id == decision_id and words.decisions[decision.id].hint:
            practice.take_hint()
        return shown.decision(self._beside(words), practice, words)

    def _where_it_stands(self, *, resumed: bool = False) -> Screen:
        practice = self.practice
        if practice is None:
            before = self._history()
            scenarios = [self.library.scenario(name) for name in self._scenario_ids()]
            found = self._suggestions(before)
            return shown.choose(self.around, self.operator, scenarios, before, self.library, found)
        words = self._words(practice.scenario.id)
        around = self._beside(words)
        if practice.read < len(practice.answers):
            return shown.consequence(around, practice, words, resumed=resumed)
        if practice.complete:
            found = self._suggestions(self._history(), but=practice.scenario.id)
            return shown.summary(around, practice, words, self.library, found)
        if not practice.begun:
            return shown.intro(around, practice, words)
        return self._decision(practice, resumed=resumed)

    def _decision(self, practice: Practice, *, notice: str = "", resumed: bool = False) -> Screen:
        words = self._words(practice.scenario.id)
        if not notice:
            self._since = time.monotonic()
        around = self._beside(words)
        return shown.decision(around, practice, words, notice=notice, resumed=resumed)

    def _scenario_ids(self) -> list[str]:
        return list(self.library.station_ids(self.station))

    def _history(self) -> History:
        return read_history(self.settings, self.operator, self.library, self.site)

    def _suggestions(self, before: History, but: str = "") -> list[Suggestion]:
        return suggestions(before, self.library, local_now(), station=self.station, but=but)

    def _words(self, scenario_id: str) -> Words:
        """Return a scenario's words, in the language chosen if there are any."""
        return self.library.words(scenario_id, self.around.language)


def show(station: Station) -> None:
    """Show the lessons of a station: the one call of its notebook."""
    settings = Settings.from_environment(DEFAULT_SITE)
    served = "SINKSIDE_SERVED" in os.environ
    lesson = Lesson(settings, station, home="/" if served else None)
    card = Card(lesson.screen, settings.language)
    card.on_action(lesson.handle)
    display(card)  # type: ignore[no-untyped-call]
