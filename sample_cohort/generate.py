"""Writing the invented departments' answer logs: real logs, as real sittings leave them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from sample_cohort.answering import Operator
from sample_cohort.circumstances import circumstances
from sample_cohort.plan import FORMS_SAT, OPERATORS, PEOPLE, SITTINGS, Seat, seats
from sample_cohort.truth import BROKEN, Circumstances, Truth, normal
from scoring.faults import FaultError
from scoring.form import Form
from scoring.instance import Instance
from scoring.library import Library
from scoring.marking.credit import credit
from scoring.records.header import make_header
from scoring.records.log import read_log
from scoring.records.people import EVENTS_FILE, OPERATORS_FILE
from scoring.records.places import exam_log
from scoring.records.whole import Given, write_whole_log
from scoring.settings import Settings
from scoring.site import SiteValues
from scoring.spreadsheet import csv_bytes
from scoring.whole_file import write_whole

SEED = 1
"""Seed of the cohort that the kit shows: the first there is. No other meaning."""

MEDIAN_SECONDS = 24.0
"""Middle time for one decision, seconds; a guess at reading three short sentences and choosing.
An assumption."""

SECONDS_SPREAD = 0.45
"""Standard deviation of the logarithm of that time. An assumption."""

READING_SECONDS = 40.0
"""Reading the situation of a scenario, seconds. An assumption."""


@dataclass(frozen=True, slots=True)
class CohortSummary:
    """What was written.

    Attributes
    ----------
    seed : int
    operators, forms : tuple of str
        Operator codes and names of forms.
    logs : tuple of Path
        Every log, in the order of the plan.
    receipts : dict of str to str
        Receipt code of each sitting handed in.
    planned : int
        Sittings if everybody in the plan had sat every month.
    unfinished : tuple of str
        Sittings never handed in.
    answers : int
        Answers in all logs.
    retrained : tuple of str
        Who was chosen for the retraining, sorted.
    """

    seed: int
    operators: tuple[str, ...]
    forms: tuple[str, ...]
    logs: tuple[Path, ...]
    receipts: dict[str, str]
    planned: int
    unfinished: tuple[str, ...]
    answers: int
    retrained: tuple[str, ...]

    @property
    def missing(self) -> int:
        """Sittings of the plan that never took place."""
        return self.planned - len(self.logs)


def write_cohort(
    settings: Settings,
    forms: Sequence[Form],
    library: Library,
    sites: Mapping[str, SiteValues],
    seed: int = SEED,
    truth: Truth | None = None,
    progress: Callable[[int], None] | None = None,
) -> CohortSummary:
    """Write the answer logs of the invented departments, and who works there, into the records.

    Writing again with the same arguments changes nothing: a log that is there
    and holds the same answers is kept.

    Parameters
    ----------
    settings : Settings
        `settings.records` is where everything goes.
    forms : sequence of Form
        In the plan's order, at least one.
    library : Library
        Holds the forms' scenarios and those that broken ones were copied from.
    sites : mapping of str to SiteValues
        The values of each place of :data:`sample_cohort.plan.SITES`.
    seed : int
        At least 0; the same seed gives the same bytes.
    truth : Truth, optional
        The planted truth; the kit's own when left out.
    progress : callable, optional
        Called with the number of logs written so far.

    Raises
    ------
    FaultError
        A scenario is missing; the folder cannot be written; or a log of the same
        name holds other answers.
    """
    planted = truth or Truth()
    room = ExamRoom(library, sites, planted, seed)
    logs: list[Path] = []
    receipts: dict[str, str] = {}
    unfinished: list[str] = []
    answers = 0
    for seat in seats(forms, seed):
        form = forms[seat.form]
        person = PEOPLE[seat.operator]
        header = make_header(
            library, form, sites[person.site], sitting=seat.sitting, operator=seat.operator,
            language="en", started=seat.started,
        )  # fmt: skip
        instances = [room.instance(person.site, part.id, part.seed) for part in header.scenarios]
        given = list(sat(room.operator(seat), form.name, instances, seat))
        room.remember(seat, instances, given)
        closed = None if seat.answers is not None else _closed(seat, given)
        path = exam_log(settings, seat.sitting)
        if path.exists():
            receipt = _kept(path, given)
        else:
            receipt = write_whole_log(path, header, given, closed)
        if receipt:
            receipts[seat.sitting] = receipt
        else:
            unfinished.append(seat.sitting)
        logs.append(path)
        answers += len(given)
        if progress is not None:
            progress(len(logs))
    write_people(settings, planted, room.retrained())
    return CohortSummary(
        seed=seed,
        operators=OPERATORS,
        forms=tuple(form.name for form in forms),
        logs=tuple(logs),
        receipts=receipts,
        planned=SITTINGS,
        unfinished=tuple(unfinished),
        answers=answers,
        retrained=room.retrained(),
    )


class ExamRoom:
    """What the plan needs to know while the year goes by: instances met, and who scored how.

    Parameters
    ----------
    library : Library
    sites : mapping of str to SiteValues
    truth : Truth
    seed : int
    """

    def __init__(
        self, library: Library, sites: Mapping[str, SiteValues], truth: Truth, seed: int
    ) -> None:
        self._library = library
        self._sites = sites
        self._truth = truth
        self._seed = seed
        self._known: dict[tuple[str, str, int], Instance] = {}
        self._scores: dict[str, list[bool]] = {}
        self._retrained: tuple[str, ...] | None = None

    def instance(self, site: str, scenario: str, seed: int) -> Instance:
        """Return what a person answers: the sound scenario where the form holds a broken copy."""
        key = (site, scenario, seed)
        if key not in self._known:
            sound = BROKEN.get(scenario, scenario)
            self._known[key] = self._library.instance(sound, self._sites[site], seed)
        return self._known[key]

    def operator(self, seat: Seat) -> Operator:
        """Return the operator under the circumstances of a sitting."""
        return Operator(
            seat.operator, self._truth, self._seed, self.circumstances(seat.operator, seat.started)
        )

    def circumstances(self, operator: str, when: datetime) -> Circumstances:
        """Return where and when an operator works; asks for the retraining once its day is come."""
        after = when.date() >= self._truth.retraining.day
        return circumstances(operator, when, self._truth, self.retrained() if after else ())

    def remember(self, seat: Seat, instances: Sequence[Instance], given: Sequence[Given]) -> None:
        """Note the answers that the choice for the retraining rests on."""
        retraining = self._truth.retraining
        first = retraining.day.month - 1 - retraining.months_before
        if not first <= seat.month < retraining.day.month - 1:
            return
        asked = {
            (instance.scenario.id, decision.id): (instance, decision)
            for instance in instances
            if instance.scenario.station == retraining.station
            for decision in instance.scenario.decisions
        }
        for answer in given:
            found = asked.get((BROKEN.get(answer.scenario, answer.scenario), answer.decision))
            if found is not None:
                earned = credit(found[1], answer.value, found[0])
                self._scores.setdefault(seat.operator, []).append(earned.credit == 1.0)

    def retrained(self) -> tuple[str, ...]:
        """Return who is retrained: those with the lowest share of right answers before, by code."""
        if self._retrained is None:
            shares = sorted((sum(right) / len(right), code) for code, right in self._scores.items())
            chosen = shares[: self._truth.retraining.chosen]
            self._retrained = tuple(sorted(code for _, code in chosen))
        return self._retrained


def write_people(settings: Settings, truth: Truth, retrained: Sequence[str]) -> None:
    """Write who works where since when, and what happened in the year.

    Raises
    ------
    FaultError
        The folder cannot be written.
    """
    write_whole(
        settings.records / OPERATORS_FILE,
        csv_bytes(
            ("code", "site", "shift", "since"),
            ((one.code, one.site, one.shift, one.since) for one in PEOPLE.values()),
        ),
    )
    event = truth.retraining
    write_whole(
        settings.records / EVENTS_FILE,
        csv_bytes(
            ("date", "kind", "station", "operators", "note"),
            [(event.day, "retraining", event.station, " ".join(retrained),
              "invented: those who scored lowest in the three months before")],
        ),
    )  # fmt: skip


def sat(
    operator: Operator, form: str, instances: Sequence[Instance], seat: Seat
) -> Iterator[Given]:
    """Give the answers of one sitting in the order and at the times they are given.

    A broken scenario stands in the log under its own id, answered as the sound one is.
    """
    copies = {sound: broken for broken, sound in BROKEN.items()} if _is_broken(form) else {}
    at = seat.started
    count = 0
    for place, instance in enumerate(instances):
        if seat.blank_last and place == len(instances) - 1:
            return
        at += timedelta(seconds=READING_SECONDS)
        for decision in instance.scenario.decisions:
            if count == seat.answers:
                return
            scenario = instance.scenario.id
            spread = normal(operator.seed, "time", operator.code, form, scenario, decision.id)
            seconds = round(MEDIAN_SECONDS * math.exp(SECONDS_SPREAD * spread), 1)
            at += timedelta(seconds=seconds)
            value = operator.answer(instance, decision, form)
            count += 1
            yield Given(at, copies.get(scenario, scenario), decision.id, value, seconds)


def _is_broken(form: str) -> bool:
    return form.startswith(FORMS_SAT[-1])


def _closed(seat: Seat, given: Sequence[Given]) -> datetime:
    last = given[-1].at if given else seat.started
    return last + timedelta(seconds=READING_SECONDS)


def _kept(path: Path, given: Sequence[Given]) -> str:
    """Return the receipt of a log that is already there, if it holds these answers."""
    read = read_log(path)
    found = [(a.at, a.scenario, a.decision, a.value, a.seconds) for a in read.answers]
    if found != [tuple(answer) for answer in given]:
        raise FaultError.one(
            path,
            "the answers",
            found="a log of this sitting with other answers",
            wanted="no log of this name, or the one that this seed gives",
            remedy="Choose an empty records folder for the invented department.",
        )
    return read.receipt
