"""The trainer's page: are the questions, the forms, the assessors and the cuts sound."""

from __future__ import annotations

from collections.abc import Sequence

from scoring.cohort.cut_scores_section import cut_scores_section
from scoring.cohort.first_answers import first_answers
from scoring.cohort.forms_section import forms_section
from scoring.cohort.item_study import item_study
from scoring.cohort.items_section import items_section
from scoring.cohort.raters_section import raters_section
from scoring.cohort.section import Section
from scoring.cohort.table import CohortTable
from scoring.observation import Observation
from scoring.site import SiteValues

TITLE = "Are the questions and the judging sound?"


def trainer_sections(
    table: CohortTable, observations: Sequence[Observation], site: SiteValues
) -> tuple[Section, ...]:
    """Return the parts of the trainer's page, in the order of the page.

    Parameters
    ----------
    table : CohortTable
        May be empty.
    observations : sequence of Observation
        May be empty.
    site : SiteValues
        Its cut is the share that passes.
    """
    study = item_study(first_answers(table))
    return (
        items_section(study),
        forms_section(table, study, site.passing.cut),
        raters_section(observations),
        cut_scores_section(observations, site.passing.cut),
    )
