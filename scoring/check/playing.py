"""Trying a scenario: every seed gives a sound instrument, and right answers earn all points."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from scoring.check.desk import CheckedFile, Desk, Where
from scoring.faults import Fault
from scoring.instance import Instance, filled, make_instance
from scoring.instrument import Instrument
from scoring.marking.credit import credit
from scoring.marking.right import right_answer
from scoring.play import Moment, after, opening
from scoring.scenario import Decision, Scenario

SEEDS = range(12)
"""Seeds tried under each site: each value of a parameter of four choices turns up with a chance
of 97 % (1 - 0.75**12). A working judgement between sure and quick."""


def any_instance(scenario: Scenario, desk: Desk) -> Instance | None:
    """Return one instance, None when the scenario's own faults forbid it or no site is known."""
    return next(instances(scenario, desk), None)


def instances(scenario: Scenario, desk: Desk) -> Iterator[Instance]:
    """Yield the instances of every seed under the first site, but for those with a fault."""
    instrument = desk.instrument(scenario.instrument)
    sites = desk.every_site()
    if instrument is None or not sites:
        return
    for seed in SEEDS:
        try:
            instance = make_instance(scenario, instrument, sites[0], seed)
            opening(instance)
        except (KeyError, ValueError, ArithmeticError):
            continue
        yield instance


def playing_faults(file: CheckedFile, instrument: Instrument, desk: Desk) -> Iterator[Fault]:
    """Play a scenario whose structure is sound, under every site and several seeds.

    Each fault is told once, with the site and seed where it first showed.
    """
    scenario: Scenario = file.value
    sites = desk.every_site()
    if not sites:
        yield file.fault(
            (),
            "no site values to try it under",
            "at least one file of site values",
            "Check a file of site values together with it.",
        )
    told: set[Where] = set()
    for site in sites:
        for seed in SEEDS:
            instance = make_instance(scenario, instrument, site, seed)
            for where, found, wanted, remedy in _play(scenario, instance):
                if where not in told:
                    told.add(where)
                    yield file.fault(
                        where, f"{found} (site {site.id}, seed {seed})", wanted, remedy
                    )


def _play(scenario: Scenario, instance: Instance) -> Iterator[tuple[Where, str, str, str]]:
    try:
        moment = opening(instance)
    except (ArithmeticError, ValueError) as error:
        yield ("start",), f"the bench stops: {error}", "a start the bench can play", "Change it."
        return
    for number, decision in enumerate(scenario.decisions):
        where: Where = ("decisions", number)
        if decision.kind == "mark_places":
            yield from _soiled(where, instance)
        yield from _doubled(where, decision, instance)
        answer = right_answer(decision, instance)
        said = _not_everything(decision, answer, instance)
        if said:
            yield (
                (*where, "id"),
                said,
                "an answer that is worth everything",
                "Change the decision, or the site values it rests on.",
            )
            return
        stopped = _stopped(decision, answer, instance, moment)
        if stopped:
            yield ((*where, "id"), stopped, "handling the bench can play", "Change that handling.")
            return
        moment = after(instance, decision, answer, moment)


def _soiled(where: Where, instance: Instance) -> Iterator[tuple[Where, str, str, str]]:
    soiled, places = len(instance.soiled), len(instance.instrument.places)
    if soiled in (0, places):
        yield (
            (*where, "kind"),
            "no place is soiled" if not soiled else "every place is soiled",
            "some places soiled and some clean, whatever the seed",
            "Change the soil at the start, so that some places are above the site's limit.",
        )


def _doubled(
    where: Where, decision: Decision, instance: Instance
) -> Iterator[tuple[Where, str, str, str]]:
    """Find a wrong option that the seed makes do exactly what a right one does."""
    if decision.kind != "choose_one":
        return
    does = {option.id: option.handling.settings() for option in decision.options}
    drawn = {
        name
        for name, settings in does.items()
        if any(str(value).removeprefix("$") in instance.values for value in settings.values())
    }
    set_to = {name: filled(settings, instance.named) for name, settings in does.items()}
    right = [option.id for option in decision.options if option.credit == 1]
    for number, option in enumerate(decision.options):
        for other in right:
            pair = {option.id, other}
            if option.credit < 1 and pair & drawn and set_to[option.id] == set_to[other]:
                yield (
                    (*where, "options", number, "handling"),
                    f"wrong option {option.id} does what right option {other} does",
                    "options that do different things, whatever the seed",
                    "Change the parameter's choices, or what one of the two does.",
                )


def _not_everything(decision: Decision, answer: Any, instance: Instance) -> str:
    try:
        earned = credit(decision, answer, instance)
    except ValueError as error:
        return f"the right answer cannot be taken: {error}"
    return "" if earned.credit == 1.0 else f"the right answer is worth {earned.credit:.2f}"


def _stopped(decision: Decision, answer: Any, instance: Instance, moment: Moment) -> str:
    """Let the bench play the right answer and every single option; say where it stops."""
    answers = [answer]
    if decision.kind == "choose_one":
        answers += [option.id for option in decision.options]
    for one in answers:
        try:
            after(instance, decision, one, moment)
        except (ArithmeticError, ValueError) as error:
            return f"the bench stops after {one!r}: {error}"
    return ""
