"""The first line of a sitting's log, made from what it is sat under."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

from scoring import KIT_VERSION
from scoring.attempt import Header, SeatedScenario
from scoring.form import Form
from scoring.instance import Instance, draw
from scoring.model import digest
from scoring.site import SiteValues

if TYPE_CHECKING:
    from scoring.library import Library

SEEDS = 2**31
"""Seeds are drawn below this, so that any program can hold one. No other meaning."""


def seed_of(sitting: str, scenario: str, fixed: int | None) -> int:
    """Return the seed of a scenario in a sitting: the form's, or one drawn from the names."""
    return fixed if fixed is not None else int(draw(0, sitting, scenario) * SEEDS)


def make_header(
    library: Library,
    form: Form,
    site: SiteValues,
    *,
    sitting: str,
    operator: str,
    language: str,
    started: datetime,
) -> Header:
    """Return the header of a new sitting, with the digests of everything it rests on.

    Parameters
    ----------
    library : Library
        Holds the form's scenarios.
    form : Form
    site : SiteValues
    sitting : str
        Id of the sitting, 8 to 80 characters of ``a-z0-9_-``.
    operator : str
        Operator code.
    language : str
        Two letters.
    started : datetime
        With its offset.

    Raises
    ------
    FaultError
        A scenario is missing or malformed.
    pydantic.ValidationError
        The operator code or the sitting's id is none.
    """
    return Header(
        kit=KIT_VERSION,
        sitting=sitting,
        operator=operator,
        purpose=form.purpose,
        form=form.id,
        form_version=form.version,
        form_digest=library.form_digest(form),
        site=site.id,
        site_digest=digest(site),
        language=language,
        scenarios=tuple(
            SeatedScenario(
                id=part.id,
                seed=seed_of(sitting, part.id, part.seed),
                digest=library.scenario_digest(part.id),
            )
            for part in form.scenarios
        ),
        started=started,
    )


def seated_instances(library: Library, site: SiteValues, header: Header) -> dict[str, Instance]:
    """Return the instances of a sitting by scenario id, drawn with the seeds of its header."""
    return {part.id: library.instance(part.id, site, part.seed) for part in header.scenarios}
