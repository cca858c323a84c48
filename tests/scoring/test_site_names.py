"""A scenario that names the site's values follows the department, not the author."""

from __future__ import annotations

import pytest

from lessons import DEFAULT_SITE, lesson_library
from scoring.bench.handling import Agent
from scoring.instance import site_names
from scoring.scenario import SITE_NAMES, Scenario
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml

DEFAULT = read_yaml(DEFAULT_SITE, SiteValues)


def test_every_promised_name_has_a_value() -> None:
    assert site_names(DEFAULT, 8.0).keys() == SITE_NAMES


@pytest.mark.parametrize("agent", ["alkaline_cleaner", "neutral_detergent"])
def test_a_department_with_another_cleaner_is_played_with_it(agent: Agent) -> None:
    site = DEFAULT.model_copy(
        update={"cleaner": DEFAULT.cleaner.model_copy(update={"agent": agent})}
    )
    instance = lesson_library().instance("brush-rongeur-bone", site, seed=1)
    assert instance.handling.agent == agent


@pytest.mark.parametrize("ratio", [2.0, 5.0, 8.0])
def test_the_dose_follows_the_bath_and_the_label(ratio: float) -> None:
    site = DEFAULT.model_copy(
        update={"cleaner": DEFAULT.cleaner.model_copy(update={"dose_ml_per_l": ratio})}
    )
    handling = lesson_library().instance("rinse-suction-hurry", site, seed=3).handling
    assert handling.dose_ml == pytest.approx(ratio * handling.bath_l)


def test_a_parameter_cannot_take_a_site_name() -> None:
    scenario = lesson_library().scenario("rinse-suction-hurry").model_dump(mode="json")
    scenario["parameters"]["site_dose_ml"] = {"choices": [1.0], "unit": "mL"}
    with pytest.raises(ValueError, match="site_ is for site values"):
        Scenario.model_validate(scenario)
