"""Whether a sitting was sat under the very files it is about to be marked with."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

from scoring.attempt import Header
from scoring.digests import scenario_digest
from scoring.faults import Fault, FaultError
from scoring.form import Form
from scoring.instance import Instance
from scoring.model import digest


class GroundChanged(FaultError):  # noqa: N818 - named after what happened to the ground
    """Form, scenario or site values are not those of the sitting. The log itself is sound."""


@dataclass(frozen=True, slots=True)
class Ground:
    """What the marks of one scenario rest on."""

    scenario: str
    scenario_digest: str
    site: str
    site_digest: str
    site_cut: float

    @classmethod
    def of(cls, instance: Instance) -> Self:
        """Return the ground of an instance."""
        return cls(
            scenario=instance.scenario.id,
            scenario_digest=scenario_digest(instance.scenario, instance.instrument),
            site=instance.site.id,
            site_digest=digest(instance.site),
            site_cut=instance.site.passing.cut,
        )


def check_ground(form: Form, own_digest: str, header: Header, grounds: Sequence[Ground]) -> float:
    """Return the cut score, once nothing has changed since the sitting.

    Parameters
    ----------
    form : Form
    own_digest : str
        Digest of this form together with the scenario digests of the header, so
        that it differs from the header's only when the form itself changed.
    header : Header
        Of the sitting's log.
    grounds : sequence of Ground
        One for each scenario of the form that the header names.

    Raises
    ------
    GroundChanged
        One fault for each thing that changed, by name.
    """
    faults = [*_form_faults(form, own_digest, header), *_ground_faults(header, grounds)]
    if faults:
        raise GroundChanged(faults)
    return form.cut if form.cut is not None else grounds[0].site_cut


def _form_faults(form: Form, own_digest: str, header: Header) -> list[Fault]:
    sat = f"{header.form}_v{header.form_version}"
    if sat != form.name:
        return [_fault(header, "form", form.name, sat)]
    names = [part.id for part in form.scenarios]
    seated = [scenario.id for scenario in header.scenarios]
    if names != seated:
        return [_fault(header, f"form {sat}", ", ".join(names), ", ".join(seated))]
    faults = []
    if own_digest != header.form_digest:
        faults.append(_fault(header, f"form {sat}", _short(own_digest), _short(header.form_digest)))
    for part, scenario in zip(form.scenarios, header.scenarios, strict=True):
        if part.seed is not None and part.seed != scenario.seed:
            faults.append(_fault(header, f"seed of {part.id}", str(part.seed), str(scenario.seed)))
    return faults


def _ground_faults(header: Header, grounds: Sequence[Ground]) -> list[Fault]:
    sat = {scenario.id: scenario.digest for scenario in header.scenarios}
    faults = [
        _fault(
            header,
            f"scenario {ground.scenario}",
            _short(ground.scenario_digest),
            _short(sat[ground.scenario]),
        )
        for ground in grounds
        if ground.scenario_digest != sat[ground.scenario]
    ]
    sites = {(ground.site, ground.site_digest) for ground in grounds}
    faults += [
        _fault(
            header,
            f"site values {name}",
            f"{name}, {_short(found)}",
            f"{header.site}, {_short(header.site_digest)}",
        )
        for name, found in sorted(sites)
        if found != header.site_digest
    ]
    return faults


def _short(text: str) -> str:
    """Enough of a digest to compare by eye."""
    return f"digest {text[:12]}"


def _fault(header: Header, item: str, found: str, wanted: str) -> Fault:
    return Fault(
        f"sitting {header.sitting}",
        item,
        f"{found}: not what this sitting was sat under",
        wanted,
        "Put back the file as it was at the sitting. For site values, name that file with --site.",
    )
