"""What a sitting was sat under, as digests: the scenario, the form, the site values."""

from __future__ import annotations

from collections.abc import Iterable

from scoring.form import Form
from scoring.instrument import Instrument
from scoring.model import digest
from scoring.scenario import Scenario


def scenario_digest(scenario: Scenario, instrument: Instrument) -> str:
    """Return the digest of everything in a scenario that marking rests on."""
    return digest(
        {
            "scenario": scenario.model_dump(mode="json"),
            "instrument": instrument.model_dump(mode="json"),
        }
    )


def form_digest(form: Form, scenario_digests: Iterable[str]) -> str:
    """Return the digest of a form together with its scenarios' digests, in the form's order."""
    return digest({"form": form.model_dump(mode="json"), "scenarios": list(scenario_digests)})
