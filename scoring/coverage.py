"""What a library of scenarios covers: subjects of the work, and mistakes that can be made in it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from scoring.catalogue import mistakes, subjects
from scoring.scenario import Decision, Scenario


@dataclass(frozen=True)
class Coverage:
    """What the scenarios of a library cover.

    Attributes
    ----------
    subjects : dict of str to dict of str to int
        For each subject of the list the scenarios that have a decision in it, by id, with how
        many; a subject that nothing covers has an empty entry.
    mistakes : dict of str to tuple of str
        For each mistake of the catalogue the ids of the scenarios in which it can be made.
    """

    subjects: dict[str, dict[str, int]]
    mistakes: dict[str, tuple[str, ...]]

    @property
    def uncovered(self) -> tuple[str, ...]:
        """Subjects that no scenario has a decision in."""
        return tuple(name for name, found in self.subjects.items() if not found)

    @property
    def unreached(self) -> tuple[str, ...]:
        """Mistakes that no scenario lets anybody make."""
        return tuple(name for name, found in self.mistakes.items() if not found)


def coverage(scenarios: Iterable[Scenario]) -> Coverage:
    """Count subjects and mistakes over `scenarios`."""
    covered: dict[str, dict[str, int]] = {name: {} for name in subjects()}
    reached: dict[str, dict[str, None]] = {name: {} for name in mistakes()}
    home = {topic: name for name, row in subjects().items() for topic in row.topic_ids}
    for scenario in scenarios:
        for decision in scenario.decisions:
            here = covered.setdefault(home.get(decision.topic, decision.topic), {})
            here[scenario.id] = here.get(scenario.id, 0) + 1
            for mistake in named_mistakes(decision):
                reached.setdefault(mistake, {})[scenario.id] = None
    return Coverage(covered, {name: tuple(found) for name, found in reached.items()})


def named_mistakes(decision: Decision) -> Iterator[str]:
    """Yield the mistakes that the answers to `decision` name, some perhaps more than once."""
    if decision.kind == "choose_one":
        yield from (option.mistake for option in decision.options if option.mistake is not None)
    elif decision.kind == "choose_several":
        yield from (tick.mistake for tick in decision.ticks)
    elif decision.kind == "order":
        yield decision.mistake
        yield from (rule.mistake for rule in decision.precedence)
    elif decision.kind == "quantity":
        yield from (decision.too_low.mistake, decision.too_high.mistake)
    else:
        yield from (decision.missed.mistake, decision.false_alarm.mistake)


def coverage_tables(found: Coverage) -> str:
    """Return both tables in Markdown, subjects first."""
    lines = ["| subject | scenarios | decisions | where |", "|---|---|---|---|"]
    for name, row in subjects().items():
        where = found.subjects[name]
        listed = ", ".join(f"{scenario} ({count})" for scenario, count in where.items()) or "none"
        lines.append(f"| {row.subject} | {len(where)} | {sum(where.values())} | {listed} |")
    lines += ["", "| mistake | what it is | where it can be made |", "|---|---|---|"]
    for name, mistake in mistakes().items():
        listed = ", ".join(found.mistakes[name]) or "nowhere"
        lines.append(f"| {name} | {mistake.mistake} | {listed} |")
    return "\n".join(lines) + "\n"
