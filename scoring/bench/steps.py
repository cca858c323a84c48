"""One name for each process of the bench, and the function that runs it."""

from __future__ import annotations

from scoring.bench.handling import Handling
from scoring.bench.state import State
from scoring.instrument import Instrument
from scoring.site import SiteValues


def run_step(
    step: str, state: State, handling: Handling, instrument: Instrument, site: SiteValues
) -> State:
    """Return the state after `step` ran on `state` with this handling."""
    raise NotImplementedError(step)
