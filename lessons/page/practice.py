"""One practice of one scenario: its form, its log, and where in it one is."""

from __future__ import annotations

import re
import secrets
from dataclasses import dataclass, field
from pathlib import Path

from scoring.attempt import Answer, AnswerValue
from scoring.faults import FaultError
from scoring.form import Form, FormScenario
from scoring.instance import Instance
from scoring.library import Library
from scoring.marking.hints import hint_detail, hinted
from scoring.marking.marks import SittingMarks
from scoring.marking.sitting import mark_sitting
from scoring.model import digest
from scoring.play import Moment, after, replay
from scoring.records.header import make_header, seated_instances
from scoring.records.log import AnswerLog, local_now, read_log
from scoring.records.places import lesson_log, logs_folder
from scoring.scenario import Decision, Scenario
from scoring.settings import Settings
from scoring.site import SiteValues

TOKEN = re.compile(r"^([0-9a-f]{32})\.([0-9]{1,3})$")
"""The page's way back: the sitting's id, which nobody can guess, and how many consequences the
person has read."""


@dataclass
class Practice:
    """A scenario being played, in step with its log.

    Attributes
    ----------
    log : AnswerLog
        Every confirmed answer; the only truth.
    instance : Instance
        The scenario as this sitting meets it.
    moments : list of Moment
        The instrument before the first decision and after each answer.
    read : int
        How many consequences the person has acknowledged.
    begun : bool
        The introduction has been left behind.
    """

    log: AnswerLog
    instance: Instance
    moments: list[Moment] = field(default_factory=list)
    read: int = 0
    begun: bool = False

    def __post_init__(self) -> None:
        self.moments = replay(self.instance, [answer.value for answer in self.log.answers])

    @property
    def scenario(self) -> Scenario:
        """The scenario."""
        return self.instance.scenario

    @property
    def answers(self) -> tuple[Answer, ...]:
        """The answers given, in order."""
        return self.log.answers

    @property
    def complete(self) -> bool:
        """Whether every decision is answered."""
        return len(self.answers) == len(self.scenario.decisions)

    @property
    def token(self) -> str:
        """What the page keeps so that it can come back here."""
        return f"{self.log.header.sitting}.{self.read}"

    def next_decision(self) -> Decision:
        """Return the decision to be answered next."""
        return self.scenario.decisions[len(self.answers)]

    @property
    def hint_taken(self) -> bool:
        """Whether a hint was asked for at the decision to be answered next."""
        return hint_detail(self.scenario.id, self.next_decision().id) in hinted(self.log.events)

    def take_hint(self) -> None:
        """Write down that the next decision's hint was asked for; asking again changes nothing.

        Raises
        ------
        RecordsError
            It could not be written, or the sitting was opened elsewhere.
        """
        if not self.hint_taken:
            self.log.event("hint", hint_detail(self.scenario.id, self.next_decision().id))

    def answer(self, value: AnswerValue, seconds: float) -> Answer:
        """Save an answer, play it, and close the log when it was the last.

        The answer must fit (:func:`scoring.marking.credit.check_answer`).

        Raises
        ------
        RecordsError
            It could not be written, or the sitting was opened elsewhere.
        """
        decision = self.next_decision()
        saved = self.log.answer(self.scenario.id, decision.id, value, seconds)
        self._play(decision, saved.value)
        if self.complete:
            self.log.close()
        return saved

    def marks(self) -> SittingMarks:
        """Mark the log as it stands on disk."""
        return mark_sitting(
            lesson_form(self.scenario),
            {self.scenario.id: self.instance},
            read_log(self.log.path),
        )

    def _play(self, decision: Decision, value: AnswerValue) -> None:
        self.moments.append(after(self.instance, decision, value, self.moments[-1]))


def lesson_form(scenario: Scenario) -> Form:
    """Return the form of a lesson: one scenario, practised, its seed drawn from the sitting."""
    return Form(
        schema_version=1,
        id=scenario.id,
        version=1,
        purpose="lesson",
        title={"en": scenario.id},
        scenarios=(FormScenario(id=scenario.id),),
        minutes=scenario.minutes,
    )


def new_practice(
    settings: Settings, library: Library, site: SiteValues, operator: str, scenario_id: str
) -> Practice:
    """Begin a scenario: a new sitting with a new log.

    Raises
    ------
    FaultError
        The scenario is missing or malformed.
    RecordsError
        The log cannot be written.
    """
    sitting = secrets.token_hex(16)
    header = make_header(
        library,
        lesson_form(library.scenario(scenario_id)),
        site,
        sitting=sitting,
        operator=operator,
        language=settings.language,
        started=local_now(),
    )
    log = AnswerLog.start(lesson_log(settings, operator, sitting), header)
    return Practice(log, seated_instances(library, site, header)[scenario_id])


def resumed_practice(
    path: Path, library: Library, site: SiteValues, read: int | None = None
) -> Practice:
    """Open a sitting again, as far as its log goes.

    Parameters
    ----------
    path : Path
        Its log.
    library : Library
    site : SiteValues
    read : int or None
        How many consequences were acknowledged, by the page's token; None when
        there is no token, and then the last one is shown again.

    Raises
    ------
    LogRefused
        The log was changed by hand.
    RecordsError
        The log cannot be read or written.
    FaultError
        Scenario or site values are not those that were sat.
    """
    found = read_log(path).header
    scenario_id = found.scenarios[0].id
    same = found.site_digest == digest(site) and found.form_digest == library.form_digest(
        lesson_form(library.scenario(scenario_id))
    )
    if not same:
        raise FaultError.one(
            path,
            "the digests in the header",
            found="another version of the scenario or of the site values",
            wanted="the version that was begun with",
            remedy="Begin this practice anew. The old record is kept as it is.",
        )
    log = AnswerLog.resume(path, "page opened again")
    practice = Practice(log, seated_instances(library, site, log.header)[scenario_id])
    given = len(practice.answers)
    known = max(0, given - 1)
    practice.read = known if read is None else min(max(read, known), given)
    practice.begun = given > 0
    return practice


def find_by_token(settings: Settings, token: object) -> tuple[Path, int] | None:
    """Return the log that a page's token leads to and the consequences read; None for none."""
    match = TOKEN.match(token) if isinstance(token, str) else None
    if match is None:
        return None
    paths = sorted(logs_folder(settings, "lesson").glob(f"*/{match.group(1)}.jsonl"))
    return (paths[0], int(match.group(2))) if paths else None
