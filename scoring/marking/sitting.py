"""One sitting to its marks: a pure function of form, scenarios, site values and answer log."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from scoring.digests import form_digest
from scoring.faults import FaultError
from scoring.form import Form, FormScenario
from scoring.instance import Instance
from scoring.instrument import Instrument
from scoring.marking.credit import rule_of
from scoring.marking.hints import hinted, with_hints
from scoring.marking.marks import DecisionMark, SittingMarks
from scoring.marking.rule import Rule, UnreadableAnswer
from scoring.marking.same_ground import Ground, check_ground
from scoring.marking.station import station_result
from scoring.model import STATIONS, Station
from scoring.records.reading import ReadLog
from scoring.scenario import Decision, Scenario
from scoring.site import SiteValues

InstanceOf = Callable[[str, int], Instance]
"""From scenario id and seed to the instance, such as a library with a site gives."""

UNANSWERED = "unanswered"
UNREADABLE = "unreadable"
"""Reasons of a decision that was not assessed; no id of an answer has these meanings."""

REMEMBERED = 4096
"""Marks kept for answers seen before, by decision, and scenarios kept by seed: a department's
exam fits, and memory stays below some 20 MB. Only speed depends on it. A working judgement."""


DRAWN = ("quantity", "mark_places")
"""Kinds of decision whose key depends on the seed."""

MadeFrom = tuple[Scenario, Instrument, SiteValues]


@dataclass(slots=True)
class _Item:
    """One decision, ready to be marked."""

    rule: Rule
    blank: DecisionMark
    seen: dict[Any, DecisionMark]

    def mark(self, value: Any) -> DecisionMark:
        key = tuple(sorted(value.items())) if isinstance(value, dict) else value
        known = self.seen.get(key)
        if known is None:
            known = self._new_mark(value)
            if len(self.seen) < REMEMBERED:
                self.seen[key] = known
        return known

    def _new_mark(self, value: Any) -> DecisionMark:
        blank = self.blank
        try:
            earned = self.rule(value)
        except UnreadableAnswer:
            return _not_assessed(blank, UNREADABLE)
        return DecisionMark(
            scenario=blank.scenario,
            decision=blank.decision,
            station=blank.station,
            assessed=True,
            credit=earned.credit,
            maximum=blank.maximum,
            reason=earned.reason,
            mistakes=earned.mistakes,
            unsafe=earned.unsafe,
            critical=blank.critical,
            looked=earned.looked,
            off=earned.off,
        )


@dataclass(slots=True)
class _Part:
    """One scenario of the form, ready to be marked."""

    ground: Ground
    items: dict[str, _Item]
    made_from: MadeFrom


class Marker:
    """Marks many sittings of one form, each rule compiled once.

    Parameters
    ----------
    form : Form
    instance_of : callable
        From scenario id and seed to its instance, under one site's values.
    """

    def __init__(self, form: Form, instance_of: InstanceOf) -> None:
        self.form = form
        self._instance_of = instance_of
        self._parts: dict[tuple[str, int], _Part] = {}
        self._last: dict[str, _Part] = {}
        self._digests: dict[tuple[str, ...], str] = {}

    def mark(self, log: ReadLog) -> SittingMarks:
        """Mark one sitting.

        A decision answered twice counts as answered last. An answer that cannot
        be read spoils that decision only.

        Raises
        ------
        FaultError
            The sitting was sat under another form, other site values or another
            scenario than these; it is never marked against other keys.
        """
        header = log.header
        seated = {scenario.id: scenario.seed for scenario in header.scenarios}
        parts = {
            part.id: self._part(part, seated[part.id])
            for part in self.form.scenarios
            if part.id in seated
        }
        cut = check_ground(
            self.form, self._own_digest(log), header, [part.ground for part in parts.values()]
        )
        marks = {
            (scenario, name): item.blank
            for scenario, part in parts.items()
            for name, item in part.items.items()
        }
        unplaced = []
        for answer in log.answers:
            key = (answer.scenario, answer.decision)
            if key in marks:
                marks[key] = parts[answer.scenario].items[answer.decision].mark(answer.value)
            else:
                unplaced.append("/".join(key))
        decisions = with_hints(marks.values(), hinted(log.events))
        by_station: dict[Station, list[DecisionMark]] = {}
        for mark in decisions:
            by_station.setdefault(mark.station, []).append(mark)
        return SittingMarks(
            sitting=header.sitting,
            operator=header.operator,
            form=self.form.name,
            complete=log.close is not None,
            decisions=decisions,
            stations=tuple(
                station_result(station, by_station[station], cut)
                for station in STATIONS
                if station in by_station
            ),
            unplaced=tuple(unplaced),
        )

    def _own_digest(self, log: ReadLog) -> str:
        sat = tuple(scenario.digest for scenario in log.header.scenarios)
        if sat not in self._digests:
            if len(self._digests) >= REMEMBERED:
                self._digests.clear()
            self._digests[sat] = form_digest(self.form, sat)
        return self._digests[sat]

    def _part(self, part: FormScenario, seed: int) -> _Part:
        key = (part.id, seed)
        found = self._parts.get(key)
        if found is None:
            found = self._new_part(part, self._instance_of(part.id, seed))
            if len(self._parts) < REMEMBERED:
                self._parts[key] = found
        return found

    def _new_part(self, part: FormScenario, instance: Instance) -> _Part:
        """Compile a scenario; what does not depend on the seed is taken from the last time."""
        last = self._last.get(part.id)
        same = last is not None and last.made_from == _made_from(instance)
        items = {}
        for decision in instance.scenario.decisions:
            if same and last is not None and decision.kind not in DRAWN:
                items[decision.id] = last.items[decision.id]
            else:
                items[decision.id] = _item(part, instance, decision)
        ground = last.ground if same and last is not None else Ground.of(instance)
        self._last[part.id] = _Part(ground, items, _made_from(instance))
        return self._last[part.id]


def _made_from(instance: Instance) -> MadeFrom:
    return instance.scenario, instance.instrument, instance.site


def _item(part: FormScenario, instance: Instance, decision: Decision) -> _Item:
    blank = DecisionMark(
        scenario=part.id,
        decision=decision.id,
        station=instance.scenario.station,
        assessed=False,
        credit=0.0,
        maximum=decision.weight * part.weight,
        reason=UNANSWERED,
        critical=decision.critical,
    )
    return _Item(rule_of(decision, instance), blank, {})


def _not_assessed(blank: DecisionMark, reason: str) -> DecisionMark:
    return DecisionMark(
        scenario=blank.scenario,
        decision=blank.decision,
        station=blank.station,
        assessed=False,
        credit=0.0,
        maximum=blank.maximum,
        reason=reason,
        critical=blank.critical,
    )


def mark_sitting(form: Form, instances: Mapping[str, Instance], log: ReadLog) -> SittingMarks:
    """Mark one sitting; see `Marker`, which is quicker for many.

    Parameters
    ----------
    form : Form
    instances : mapping of str to Instance
        By scenario id, drawn with the seeds of the log's header.
    log : ReadLog

    Raises
    ------
    FaultError
        Form, site values, scenario or seed are not those of the sitting.
    """

    def instance_of(scenario: str, seed: int) -> Instance:
        instance = instances.get(scenario)
        if instance is None or instance.seed != seed:
            raise FaultError.one(
                f"sitting {log.header.sitting}",
                f"scenario {scenario}",
                found="no instance" if instance is None else f"seed {instance.seed}",
                wanted=f"the instance of seed {seed}, which was sat",
                remedy="Make the instance from the seed in the log's header.",
            )
        return instance

    return Marker(form, instance_of).mark(log)
