"""Writing the invented department's answer logs: real logs, as a real sitting leaves them."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from sample_cohort.answering import Operator
from sample_cohort.plan import OPERATORS, Seat, seats
from sample_cohort.truth import Truth, normal
from scoring.faults import FaultError
from scoring.form import Form
from scoring.instance import Instance
from scoring.library import Library
from scoring.records.header import make_header
from scoring.records.log import read_log
from scoring.records.places import exam_log
from scoring.records.whole import Given, write_whole_log
from scoring.settings import Settings
from scoring.site import SiteValues

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
        Operators times forms.
    unfinished : tuple of str
        Sittings never handed in.
    answers : int
        Answers in all logs.
    """

    seed: int
    operators: tuple[str, ...]
    forms: tuple[str, ...]
    logs: tuple[Path, ...]
    receipts: dict[str, str]
    planned: int
    unfinished: tuple[str, ...]
    answers: int

    @property
    def missing(self) -> int:
        """Sittings of the plan that never took place."""
        return self.planned - len(self.logs)


def write_cohort(
    settings: Settings,
    forms: Sequence[Form],
    library: Library,
    site: SiteValues,
    seed: int = SEED,
    truth: Truth | None = None,
    progress: Callable[[int], None] | None = None,
) -> CohortSummary:
    """Write the answer logs of the invented department into the records folder.

    Writing again with the same arguments changes nothing: a log that is there
    and holds the same answers is kept.

    Parameters
    ----------
    settings : Settings
        `settings.records` is where the logs go.
    forms : sequence of Form
        In the order in which they are sat, at least one.
    library : Library
        Holds the forms' scenarios.
    site : SiteValues
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
    logs: list[Path] = []
    receipts: dict[str, str] = {}
    unfinished: list[str] = []
    answers = 0
    known: dict[tuple[str, int], Instance] = {}
    for seat in seats(forms, seed):
        form = forms[seat.form]
        header = make_header(
            library, form, site, sitting=seat.sitting, operator=seat.operator, language="en",
            started=seat.started,
        )  # fmt: skip
        for part in header.scenarios:
            if (part.id, part.seed) not in known:
                known[part.id, part.seed] = library.instance(part.id, site, part.seed)
        instances = [known[part.id, part.seed] for part in header.scenarios]
        given = list(sat(Operator(seat.operator, planted, seed), form.name, instances, seat))
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
    return CohortSummary(
        seed=seed,
        operators=OPERATORS,
        forms=tuple(form.name for form in forms),
        logs=tuple(logs),
        receipts=receipts,
        planned=len(OPERATORS) * len(forms),
        unfinished=tuple(unfinished),
        answers=answers,
    )


def sat(
    operator: Operator, form: str, instances: Sequence[Instance], seat: Seat
) -> Iterator[Given]:
    """Give the answers of one sitting in the order and at the times they are given."""
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
            yield Given(at, scenario, decision.id, value, seconds)


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
