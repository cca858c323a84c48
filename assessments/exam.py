"""An exam from sign-in to receipt: an action comes in, a screen goes out.

Nothing of the page is trusted: an answer is checked here, written to the
answer log and flushed to the disk before any screen calls it saved. No screen
holds anything of the marking.
"""

from __future__ import annotations

import contextlib
import time
from collections.abc import Mapping
from typing import Any, Literal

from assessments import exam_library, exam_screens
from assessments.exam_form import exam_forms
from assessments.exam_words import exam_words
from assessments.opaque import from_page, question_name
from assessments.paper import Paper, Question
from assessments.seating import close_seat, find_by_token, forget_token, is_locked, open_sitting
from assessments.seats import Seat
from lessons import DEFAULT_SITE
from lessons.page.card import Card
from lessons.page.screens import Screen
from scoring.faults import FaultError
from scoring.form import Form
from scoring.library import Library
from scoring.marking.credit import check_answer
from scoring.records.header import make_header
from scoring.records.log import AnswerLog, LogRefused, RecordsError, StaleLog, local_now
from scoring.records.places import exam_log
from scoring.settings import Settings
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml

Phase = Literal["sign_in", "rules", "part", "decision", "closing", "receipt", "problem"]


class Exam:
    """One tablet's exam, from sign-in to receipt.

    Parameters
    ----------
    settings : Settings
        Where the records, the site values and the language are.
    library : Library, optional
        The exam bank unless given.
    forms : sequence of Form, optional
        The forms that come with the kit unless given.

    Attributes
    ----------
    screen : dict
        The screen shown now.
    """

    def __init__(
        self,
        settings: Settings,
        library: Library | None = None,
        forms: tuple[Form, ...] | None = None,
    ) -> None:
        self._settings = settings
        self._library = library or exam_library()
        self._forms = forms
        self._words = exam_words(settings.language)
        self._phase: Phase = "sign_in"
        self._seat: Seat | None = None
        self._log: AnswerLog | None = None
        self._paper: Paper | None = None
        self._question: Question | None = None
        self._asked_at = 0.0
        self._token: str | None = None
        self._saved = ""
        self.screen: Screen = exam_screens.sign_in(self._words)

    def act(self, action: Mapping[str, Any]) -> Screen | None:
        """Take an action of the page and return the next screen; None when nothing changes.

        Parameters
        ----------
        action : mapping
            ``do`` is one of hello, sign_in, begin, answer, retry, sign_out, done; an
            action that does not fit the screen shown changes nothing.
        """
        try:
            screen = self._next(action)
        except StaleLog:
            screen = self._problem("stale", again=False)
        except LogRefused as error:
            screen = self._problem("refused", again=True, why=error)
        except FaultError as error:
            screen = self._problem("unopened", again=True, why=error)
        if screen is not None:
            self.screen = screen
        return screen

    def _next(self, action: Mapping[str, Any]) -> Screen | None:
        do = action.get("do")
        if do == "hello":
            return self._hello(action.get("token"))
        if do == "sign_in" and self._phase == "sign_in":
            return self._sign_in(action.get("values"))
        if do == "begin" and self._phase in ("rules", "part", "closing"):
            return self._begin()
        if do == "answer" and self._phase == "decision":
            return self._answer(action)
        if do == "retry" and self._phase == "problem":
            return self._enter("tried again") if self._seat else self._out()
        if do == "sign_out" and self._phase == "problem":
            return self._out()
        if do == "done" and self._phase == "receipt":
            return self._leave()
        return None

    # ---- getting in -------------------------------------------------------

    def _hello(self, token: object) -> Screen:
        """Bring a reloaded page back to where it was."""
        if self._phase != "sign_in":
            return self.screen
        if not isinstance(token, str) or not token:
            return exam_screens.sign_in(self._words)
        seat = find_by_token(self._settings, token)
        if seat is None:
            return self._out()
        self._seat = seat
        return self._enter("page opened again")

    def _sign_in(self, values: object) -> Screen:
        given = values if isinstance(values, dict) else {}
        code, pin = (str(given.get(name, "")) for name in ("code", "pin"))
        opened = open_sitting(self._settings, code, "".join(pin.split()))
        if opened is None:
            return exam_screens.turned_away(self._words, locked=is_locked(self._settings, code))
        self._seat, self._token = opened.seat, opened.token
        return self._enter("signed in again with code and PIN")

    def _enter(self, detail: str) -> Screen:
        """Open the log of the seat, or begin it, and go to the first open decision."""
        seat = self._seat
        if seat is None:
            return self._out()
        form = self._form(seat)
        site = read_yaml(self._settings.site, SiteValues)
        path = exam_log(self._settings, seat.sitting)
        if path.exists():
            log = AnswerLog.resume(path, detail)
        else:
            header = make_header(
                self._library,
                form,
                site,
                sitting=seat.sitting,
                operator=seat.operator,
                language=self._words.language,
                started=local_now(),
            )
            log = AnswerLog.start(path, header)
        self._paper = Paper.of(log.header, form, self._library, site)
        self._log = log
        if log.closed:
            return self._receipt(close_seat(self._settings, seat.sitting, log.receipt))
        if not log.answers:
            self._phase = "rules"
            token, self._token = self._token, None
            return exam_screens.rules(self._words, self._paper, seat.operator, token)
        self._saved = self._words.say("resumed")
        return self._ask()

    def _form(self, seat: Seat) -> Form:
        for form in exam_forms() if self._forms is None else self._forms:
            if (form.id, form.version) != (seat.form, seat.form_version):
                continue
            if self._library.form_digest(form) == seat.form_digest:
                return form
        raise FaultError.one(
            f"seat of {seat.operator}",
            "form",
            found=f"{seat.form}_v{seat.form_version}, which is missing or was changed",
            wanted="the form as it was when the seat was given",
            remedy="Undo the change, or seat the person for a new version of the form.",
        )

    # ---- the exam ---------------------------------------------------------

    def _begin(self) -> Screen:
        if self._phase == "closing":
            return self._hand_in()
        return self._ask(begun=self._phase == "part")

    def _ask(self, *, begun: bool = False) -> Screen:
        """Show the next open decision, its part first, or the way to hand in."""
        log, paper = self._sitting()
        question = self._question = paper.next_question(log.answers)
        aside = exam_screens.Aside(
            saved=self._saved, token=self._token, operator=log.header.operator
        )
        self._saved, self._token = "", None
        if question is None:
            self._phase = "closing"
            return exam_screens.closing(self._words, paper, aside)
        if question.opens and not begun:
            self._phase = "part"
            return exam_screens.part(self._words, paper, question, aside)
        self._phase = "decision"
        self._asked_at = time.monotonic()
        return exam_screens.decision(self._words, paper, question, aside)

    def _answer(self, action: Mapping[str, Any]) -> Screen | None:
        log, paper = self._sitting()
        question = self._question
        if question is None or action.get("decision") != question_name(question):
            return self.screen
        value = from_page(question, action.get("value"))
        misfit = check_answer(question.decision, value, question.instance)
        if misfit is None:
            try:
                saved = log.answer(
                    question.scenario,
                    question.decision.id,
                    value,
                    time.monotonic() - self._asked_at,
                )
            except StaleLog:
                raise
            except RecordsError as error:
                self._note(error)
                misfit = self._words.say("not_saved", remedy=error.faults[0].remedy)
            else:
                self._saved = self._words.say("saved", time=f"{saved.at:%H:%M}")
                return self._ask()
        aside = exam_screens.Aside(notice=misfit, operator=log.header.operator)
        return exam_screens.decision(self._words, paper, question, aside)

    def _hand_in(self) -> Screen:
        log, _ = self._sitting()
        log.close()
        return self._receipt(close_seat(self._settings, log.header.sitting, log.receipt))

    def _receipt(self, seat: Seat) -> Screen:
        log, paper = self._sitting()
        self._phase = "receipt"
        self._seat = seat
        return exam_screens.receipt(
            self._words,
            paper.title,
            seat.operator,
            log.receipt,
            len(log.answers),
            seat.closed or local_now(),
        )

    def _sitting(self) -> tuple[AnswerLog, Paper]:
        if self._log is None or self._paper is None:
            raise RuntimeError("no sitting is open, so the phase is wrong")
        return self._log, self._paper

    # ---- getting out ------------------------------------------------------

    def _leave(self) -> Screen:
        """Clear the tablet for the next candidate: nothing of the sitting stays on it."""
        if self._seat is not None:
            forget_token(self._settings, self._seat.sitting)
        return self._out()

    def _out(self) -> Screen:
        self._phase = "sign_in"
        self._seat = self._log = self._paper = self._question = self._token = None
        self._saved = ""
        return exam_screens.sign_in(self._words, token="")

    def _problem(self, key: str, *, again: bool, why: FaultError | None = None) -> Screen:
        self._phase = "problem"
        if why is not None:
            self._note(why)
        return exam_screens.problem(self._words, key, again=again)

    def _note(self, error: FaultError) -> None:
        """Keep the whole fault for the trainer; the candidate sees a sentence."""
        with contextlib.suppress(OSError):
            self._settings.records.mkdir(parents=True, exist_ok=True)
            with (self._settings.records / "exam-problems.txt").open("a", encoding="utf-8") as file:
                file.write(f"{local_now():%Y-%m-%d %H:%M:%S}\n{error}\n\n")


def show_exam(settings: Settings | None = None) -> Card:
    """Return the card of an exam: the one call of the notebook.

    Parameters
    ----------
    settings : Settings, optional
        From the environment unless given.
    """
    exam = Exam(settings or Settings.from_environment(DEFAULT_SITE))
    card = Card(exam.screen, exam.screen["language"])
    card.on_action(exam.act)
    return card
