"""The three pages of a cohort, from records to ready: the manager's, the trainer's, a person's."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date

from scoring.cohort import trainer_page as trainers
from scoring.cohort.asked import CHOICE, Asked, observed_part, part
from scoring.cohort.brief import make_brief
from scoring.cohort.gather import Gathered, gather
from scoring.cohort.made_page import MadePage, page_of_sections
from scoring.cohort.person_page import person_sections
from scoring.cohort.reading import Counts
from scoring.cohort.render import Heading
from scoring.cohort.report import made_report, with_version
from scoring.cohort.saying import count
from scoring.cohort.table import CohortTable
from scoring.faults import Fault, FaultError
from scoring.observation import Observation
from scoring.records.observations import read_observations
from scoring.settings import Settings
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml

MANAGER_TITLE = "How the department does"
TRAINER_TITLE = trainers.TITLE
PERSON_TITLE = "Sheet of {code}"

Origin = Sequence[tuple[str, str]]


@dataclass(frozen=True)
class Cohort:
    """What the pages are made from, read once.

    Attributes
    ----------
    gathered : Gathered
    observations : tuple of Observation
    unread : tuple of Fault
        A fault for each file of an observation that could not be read.
    site : SiteValues or None
        The department's own values; None where no file of them is named, as in a bare notebook.
    """

    gathered: Gathered
    observations: tuple[Observation, ...]
    unread: tuple[Fault, ...]
    site: SiteValues | None

    @property
    def table(self) -> CohortTable:
        """Everything, before anybody asks for a part."""
        return self.gathered.table


def load(settings: Settings, counts: Mapping[str, Counts] | None = None) -> Cohort:
    """Read what the pages are made from.

    Parameters
    ----------
    settings : Settings
        Where records and site values are.
    counts : mapping of str to str, optional
        Which sitting of a form counts, by its name; the last where none is given.

    Raises
    ------
    FaultError
        The index, the files of people and events, or the site values cannot be used.
    """
    observations, unread = read_observations(settings)
    return Cohort(
        gathered=gather(settings, counts),
        observations=observations,
        unread=unread,
        site=read_yaml(settings.site, SiteValues) if settings.site.is_file() else None,
    )


def manager_page(
    cohort: Cohort, asked: Asked, title: str = MANAGER_TITLE, origin: Origin = ()
) -> MadePage:
    """Return the manager's page: steps first, people by code last.

    Parameters
    ----------
    cohort : Cohort
    asked : Asked
        The part of it to show.
    title : str
    origin : sequence of (str, str)
        Added to what the index knows of where the data come from.

    Raises
    ------
    FaultError
        Nothing of what was asked for is there.
    """
    table = part(cohort.table, asked)
    brief = make_brief(table, cohort.gathered.events, cohort.site)
    return made_report(brief, _heading(cohort, title, asked, origin))


def trainer_page(
    cohort: Cohort, asked: Asked, title: str = TRAINER_TITLE, origin: Origin = ()
) -> MadePage:
    """Return the trainer's page: questions, forms, assessors, cut scores.

    Parameters
    ----------
    cohort : Cohort
    asked : Asked
    title : str
    origin : sequence of (str, str)

    Raises
    ------
    FaultError
        Nothing of what was asked for is there.
    """
    table = part(cohort.table, asked)
    observed = observed_part(cohort.observations, cohort.table, asked)
    return page_of_sections(
        "trainer",
        with_version(_heading(cohort, title, asked, origin)),
        (
            "For the trainer: which questions to mend, whether the forms are equally hard, whether "
            "assessors agree, and where to set the cut.",
        ),
        trainers.trainer_sections(table, observed, _values(cohort)),
        f"{_rests_on(table)}, {count(len(observed), 'observation')} at the sink.",
    )


def person_page(cohort: Cohort, code: str, asked: Asked, origin: Origin = ()) -> MadePage:
    """Return the sheet of one person.

    Parameters
    ----------
    cohort : Cohort
    code : str
        Code of the operator, never a name.
    asked : Asked
        The period; the sheet compares with everybody in it.
    origin : sequence of (str, str)

    Raises
    ------
    FaultError
        Nobody with this code sat an exam in what was asked for.
    """
    table = part(cohort.table, asked)
    if code not in table.operators():
        raise FaultError.one(
            CHOICE,
            "operator code",
            found=code,
            wanted="the code of somebody who sat an exam in what is asked for",
            remedy="Look the code up in the list of operators of the cohort report.",
        )
    observed = observed_part(cohort.observations, cohort.table, asked)
    heading = _heading(cohort, PERSON_TITLE.format(code=code), asked, origin)
    own = table.filtered(operators=[code])
    return page_of_sections(
        "person",
        replace(heading, origin=(), notes=(asked.said(),) if asked.said() else ()),
        (),
        person_sections(table, observed, code, _values(cohort)),
        f"{count(len(own.sittings), 'sitting')}.",
        in_short=False,
    )


def _values(cohort: Cohort) -> SiteValues:
    if cohort.site is None:
        raise FaultError.one(
            "site values",
            "the whole file",
            found="no file of site values",
            wanted="the department's own values: the cut of its exams stands there",
            remedy="Name it with --site, or in SINKSIDE_SITE.",
        )
    return cohort.site


def _rests_on(table: CohortTable) -> str:
    return (
        f"{count(len(table.operators()), 'operator')}, {count(len(table.sittings), 'sitting')}, "
        f"{count(len(table.forms()), 'form')}"
    )


def _heading(cohort: Cohort, title: str, asked: Asked, origin: Origin) -> Heading:
    gathered = cohort.gathered
    said = (asked.said(),) if asked.said() else ()
    return Heading(
        title=title,
        invented=gathered.invented,
        made=date.today(),
        origin=(*gathered.origin, *origin),
        notes=(*said, *left_out(cohort)),
    )


def left_out(cohort: Cohort) -> tuple[str, ...]:
    """Say what of the records is not in the figures, a sentence for each kind."""
    gathered, said = cohort.gathered, []
    if gathered.waiting:
        said.append(
            f"Answer logs that are not marked yet: {gathered.waiting}. They are in no figure. "
            "Mark them with: sinkside exam mark FORM."
        )
    if gathered.repeated:
        said.append(
            "Sittings left out because another one of the same operator and form counts: "
            f"{gathered.repeated}."
        )
    if gathered.left_out:
        said.append(f"Invented sittings left out because there are real ones: {gathered.left_out}.")
    if cohort.unread:
        names = ", ".join(sorted({fault.file.replace("\\", "/").rpartition("/")[2]
                                  for fault in cohort.unread}))  # fmt: skip
        said.append(f"Observations that cannot be read, and are in no figure: {names}.")
    return tuple(said)
