"""The invented departments under the kit's own exam forms, written once for all tests here."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from pathlib import Path

import pytest

from sample_cohort import FORMS as SAMPLE_FORMS
from sample_cohort import SCENARIOS
from sample_cohort.generate import CohortSummary, write_cohort
from sample_cohort.observing import write_observations
from sample_cohort.plan import SITES, forms_sat
from scoring.checklist import Checklist
from scoring.form import Form
from scoring.library import Library
from scoring.marking.marks import SittingMarks
from scoring.marking.sitting import Marker
from scoring.model import STATIONS, Station
from scoring.observation import Observation
from scoring.records.log import read_log
from scoring.records.observations import read_observations
from scoring.records.reading import ReadLog
from scoring.settings import Settings
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml

ROOT = Path(__file__).parents[2]
VALUES = ROOT / "lessons" / "sites"
SITE = VALUES / "invented-three-bays.yaml"


@pytest.fixture(scope="session")
def library() -> Library:
    return Library([ROOT / "assessments" / "bank", SCENARIOS], ROOT / "lessons" / "instruments")


@pytest.fixture(scope="session")
def sites() -> dict[str, SiteValues]:
    return {
        place: read_yaml(VALUES / f"{values}.yaml", SiteValues) for place, values in SITES.items()
    }


@pytest.fixture(scope="session")
def site(sites: Mapping[str, SiteValues]) -> SiteValues:
    return sites["Ostrevale"]


@pytest.fixture(scope="session")
def forms() -> tuple[Form, ...]:
    folders = (ROOT / "assessments" / "forms", SAMPLE_FORMS)
    return forms_sat(read_yaml(path, Form) for one in folders for path in sorted(one.glob("*")))


@pytest.fixture(scope="session")
def checklists() -> dict[Station, Checklist]:
    folder = ROOT / "assessments" / "checklists"
    found = {
        one.station: one
        for path in sorted(folder.glob("*.yaml"))
        if "." not in path.stem
        for one in [read_yaml(path, Checklist)]
    }
    return {station: found[station] for station in STATIONS if station in found}


@pytest.fixture(scope="session")
def settings(tmp_path_factory: pytest.TempPathFactory) -> Settings:
    return Settings(tmp_path_factory.mktemp("records"), SITE)


@pytest.fixture(scope="session")
def cohort(
    settings: Settings,
    library: Library,
    sites: Mapping[str, SiteValues],
    forms: Sequence[Form],
) -> CohortSummary:
    return write_cohort(settings, forms, library, sites)


@pytest.fixture(scope="session")
def observations(
    settings: Settings, cohort: CohortSummary, checklists: Mapping[Station, Checklist]
) -> tuple[Observation, ...]:
    write_observations(settings, checklists, cohort.retrained, cohort.seed)
    found, faults = read_observations(settings)
    assert faults == ()
    return found


@pytest.fixture(scope="session")
def logs(cohort: CohortSummary) -> list[ReadLog]:
    return [read_log(path) for path in cohort.logs]


@pytest.fixture(scope="session")
def marks(
    logs: Sequence[ReadLog],
    library: Library,
    sites: Mapping[str, SiteValues],
    forms: Sequence[Form],
) -> list[SittingMarks]:
    def marker(form: Form, values: SiteValues) -> Marker:
        return Marker(form, lambda scenario, seed: library.instance(scenario, values, seed))

    markers = {
        (form.id, form.version, values.id): marker(form, values)
        for form in forms
        for values in sites.values()
    }
    return [
        markers[log.header.form, log.header.form_version, log.header.site].mark(log) for log in logs
    ]
