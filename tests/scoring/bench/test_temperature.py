"""Above the cap: in every department, with whatever is in the bath, hotter is never better."""

from __future__ import annotations

from pathlib import Path
from typing import Any, get_args

import numpy as np
import pytest

from scoring.bench.arrays import ARRAYS
from scoring.bench.brushing import left_after_strokes
from scoring.bench.chemistry import bath_rates
from scoring.bench.handling import Agent
from scoring.bench.operations import SCALAR
from scoring.bench.reference import soil
from scoring.bench.steps import run_step
from scoring.bench.temperature import REFERENCE
from scoring.finishing import by_the_book
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml
from tests.scoring.bench.case import ROOT, handled, instrument

SITES = sorted((ROOT / "lessons" / "sites").glob("*.yaml"))
SOILS: tuple[dict[str, float], ...] = (
    {"fresh": 100.0, "dried": 100.0}, {"fresh": 200.0}, {"dried": 200.0},
    {"fresh": 50.0, "dried": 50.0, "fixed": 100.0},
)  # fmt: skip
POINTS = 31


def protein(
    path: Path, agent: str, before: dict[str, float], minutes: str, celsius: Any
) -> tuple[Any, Any]:
    """Protein on the whole instrument, ug, by temperature: after the bath, and after all."""
    site = read_yaml(path, SiteValues)
    device = instrument("suction_tube")
    state = soil(device, **before)
    after_bath: Any = None
    for task in by_the_book(device, site, 10.0):
        handling = task.handling
        if task.step == "soak":
            lasting = getattr(site.cleaner, minutes)
            handling = handling.changed(agent=agent, minutes=lasting, temperature_c=celsius)
        state = run_step(task.step, state, handling, device, site, ARRAYS)
        if after_bath is None:
            after_bath = sum(map(state.protein_ug, state.soil))
    return after_bath, sum(map(state.protein_ug, state.soil))


@pytest.mark.parametrize("minutes", ["contact_min", "contact_max"])
@pytest.mark.parametrize("agent", get_args(Agent))
@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
def test_hotter_than_the_cap_never_leaves_less_protein(
    path: Path, agent: str, minutes: str
) -> None:
    cleaner = read_yaml(path, SiteValues).cleaner
    window = np.linspace(cleaner.temperature_min_c, cleaner.temperature_max_c, POINTS)
    hot = cleaner.temperature_max_c + np.linspace(1.0, 50.0, POINTS)
    both = np.concatenate([window, hot])
    for before in SOILS:
        bath, end = protein(path, agent, before, minutes, both)
        for left in (bath, end):
            above_cap = left[POINTS - 1 :]
            assert (np.diff(above_cap) >= -1e-9 * left.max()).all(), before
        # Of the whole work one degree is enough to be worse than any temperature allowed.
        assert (end[POINTS:] > end[:POINTS].max()).all(), before


@pytest.mark.parametrize("path", SITES, ids=lambda path: path.stem)
def test_a_bath_alone_is_worse_than_any_allowed_from_some_degrees_on(path: Path) -> None:
    # The bench's README says so: still liquid moves little protein either way, so just above
    # the cap a bath leaves less than at the cold end of the window. The site's own cleaner.
    cleaner = read_yaml(path, SiteValues).cleaner
    window = np.linspace(cleaner.temperature_min_c, cleaner.temperature_max_c, POINTS)
    degrees = 4.0 if cleaner.agent == "enzymatic_cleaner" else 19.0
    both = np.concatenate([window, cleaner.temperature_max_c + np.array([0.5, degrees])])
    bath, _ = protein(path, cleaner.agent, SOILS[0], "contact_min", both)
    assert bath[POINTS] < bath[:POINTS].max() < bath[POINTS + 1]


def test_a_brush_in_warm_water_takes_fat_off_no_faster_than_at_the_reference() -> None:
    # A cap above the reference: the stroke's rate already holds at the reference.
    site = read_yaml(ROOT / "lessons" / "sites" / "invented-alkaline.yaml", SiteValues)
    assert site.cleaner.temperature_max_c > REFERENCE.value
    cold, warm, hot = (
        left_after_strokes(0.5, handled(temperature_c=celsius), site, SCALAR)["fat"]
        for celsius in (15.0, REFERENCE.value, site.cleaner.temperature_max_c)
    )
    assert cold > warm == hot


def test_a_second_chemical_takes_no_fixing_away_from_a_disinfectant() -> None:
    site = read_yaml(SITES[0], SiteValues)
    one = bath_rates(handled(agent="aldehyde"), site, SCALAR)
    two = bath_rates(handled(agent="aldehyde", mixed=True), site, SCALAR)
    assert two.fixing == one.fixing > 0
