"""The invented department under the kit's own exam forms, written once for all tests here."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import pytest

from sample_cohort.generate import CohortSummary, write_cohort
from sample_cohort.plan import forms_sat
from scoring.form import Form
from scoring.library import Library
from scoring.marking.marks import SittingMarks
from scoring.marking.sitting import Marker
from scoring.records.log import read_log
from scoring.settings import Settings
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml

ROOT = Path(__file__).parents[2]
SITE = ROOT / "lessons" / "sites" / "invented-three-bays.yaml"


@pytest.fixture(scope="session")
def library() -> Library:
    return Library([ROOT / "assessments" / "bank"], ROOT / "lessons" / "instruments")


@pytest.fixture(scope="session")
def site() -> SiteValues:
    return read_yaml(SITE, SiteValues)


@pytest.fixture(scope="session")
def forms() -> tuple[Form, ...]:
    folder = ROOT / "assessments" / "forms"
    return forms_sat(read_yaml(path, Form) for path in sorted(folder.glob("*.yaml")))


@pytest.fixture(scope="session")
def cohort(
    tmp_path_factory: pytest.TempPathFactory,
    library: Library,
    site: SiteValues,
    forms: Sequence[Form],
) -> CohortSummary:
    return write_cohort(Settings(tmp_path_factory.mktemp("records"), SITE), forms, library, site)


@pytest.fixture(scope="session")
def marks(
    cohort: CohortSummary, library: Library, site: SiteValues, forms: Sequence[Form]
) -> list[SittingMarks]:
    markers = {
        (form.id, form.version): Marker(
            form, lambda scenario, seed: library.instance(scenario, site, seed)
        )
        for form in forms
    }
    logs = [read_log(path) for path in cohort.logs]
    return [markers[log.header.form, log.header.form_version].mark(log) for log in logs]
