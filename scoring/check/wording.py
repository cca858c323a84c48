"""The words of a scenario against the scenario: nothing missing, nothing that is never shown."""

from __future__ import annotations

from collections.abc import Iterator

from scoring.check.desk import CheckedFile, Desk, Where, sorted_words
from scoring.check.playing import any_instance, instances
from scoring.faults import Fault
from scoring.scenario import Decision, Scenario
from scoring.wording import fill_words, is_key_name, names_in, wording_table
from scoring.words import Words


def words_faults(file: CheckedFile, desk: Desk) -> Iterator[Fault]:
    """Find every word that is missing, left over, or asks for a number nobody knows."""
    words: Words = file.value
    wanted_name = f"{words.scenario}.{words.language}"
    if file.path.stem != wanted_name:
        yield file.fault(
            ("scenario",),
            file.path.name,
            f"{wanted_name}.yaml",
            "Name the file after its scenario and language.",
        )
    scenario = desk.scenario(words.scenario, near=file.path)
    if scenario is None:
        yield from desk.missing(file, ("scenario",), "a scenario", words.scenario)
        return
    decisions = {decision.id: decision for decision in scenario.decisions}
    yield from _same(file, ("decisions",), set(words.decisions), set(decisions), "decision")
    for name, said in words.decisions.items():
        if name in decisions:
            where = ("decisions", name)
            yield from _same(
                file, (*where, "answers"), set(said.answers), answer_ids(decisions[name]), "answer"
            )
            yield from _same(
                file, (*where, "reasons"), set(said.reasons), reason_ids(decisions[name]), "reason"
            )
    yield from _blanks(file, words)
    yield from _read_the_same(file, words, scenario, desk)
    yield from _placeholders(file, words, scenario, desk)


def answer_ids(decision: Decision) -> set[str]:
    """Return the ids of answers that need a label."""
    if decision.kind == "choose_one":
        return {option.id for option in decision.options}
    if decision.kind == "choose_several":
        return {tick.id for tick in decision.ticks}
    if decision.kind == "order":
        return {item.id for item in decision.items}
    return set()


def reason_ids(decision: Decision) -> set[str]:
    """Return every reason that marking can give (:class:`scoring.marking.rule.Credit`)."""
    if decision.kind == "choose_one":
        return answer_ids(decision)
    if decision.kind == "choose_several":
        return answer_ids(decision) | {"right"}
    if decision.kind == "order":
        return {rule.first for rule in decision.precedence} | {"right", "wrong"}
    if decision.kind == "quantity":
        return {"right", "too_low", "too_high"}
    return {"all_found", "missed", "false_alarm"}


def _same(
    file: CheckedFile, where: Where, found: set[str], wanted: set[str], what: str
) -> Iterator[Fault]:
    for name in sorted(wanted - found):
        yield file.fault(where, f"no {what} {name}", f"words for {what} {name}", "Add the words.")
    for name in sorted(found - wanted):
        yield file.fault(
            (*where, name),
            name,
            "one of: " + sorted_words(wanted),
            "Check the spelling, or take it out: it would never be shown.",
        )


def _texts(words: Words) -> Iterator[tuple[Where, str, str]]:
    """Yield each text with its path and, for a reason, the decision it follows."""
    yield ("title",), words.title, ""
    yield ("situation",), words.situation, ""
    yield ("caution",), words.caution, ""
    for number, aim in enumerate(words.aims):
        yield ("aims", number), aim, ""
    for name, said in words.decisions.items():
        where = ("decisions", name)
        yield (*where, "question"), said.question, ""
        yield (*where, "hint"), said.hint, ""
        for answer, text in said.answers.items():
            yield (*where, "answers", answer), text, ""
        for reason, text in said.reasons.items():
            yield (*where, "reasons", reason), text, name


def _blanks(file: CheckedFile, words: Words) -> Iterator[Fault]:
    for where, text, _ in _texts(words):
        if not text.strip() and where[-1] != "hint":
            yield file.fault(where, "nothing", "some text", "Write the text.")


def _read_the_same(
    file: CheckedFile, words: Words, scenario: Scenario, desk: Desk
) -> Iterator[Fault]:
    """Find two answers of one decision that cannot be told apart, for any seed tried."""
    told: set[tuple[str, str]] = set()
    for instance in instances(scenario, desk):
        known = wording_table(instance)
        for name, said in words.decisions.items():
            read: dict[str, str] = {}
            for answer, text in said.answers.items():
                if not names_in(text) <= known.keys():
                    continue
                twin = read.setdefault(fill_words(text, instance).strip().lower(), answer)
                if twin != answer and (name, answer) not in told:
                    told.add((name, answer))
                    yield file.fault(
                        ("decisions", name, "answers", answer),
                        f"the same text as {twin} (seed {instance.seed})",
                        "answers that read differently, whatever the seed",
                        "Change one of the two texts, or the parameter in it.",
                    )


def _placeholders(
    file: CheckedFile, words: Words, scenario: Scenario, desk: Desk
) -> Iterator[Fault]:
    instance = any_instance(scenario, desk)
    if instance is None:
        return
    known = wording_table(instance)
    order = [decision.id for decision in scenario.decisions]
    for where, text, after in _texts(words):
        for name in sorted(names_in(text)):
            if name not in known:
                yield file.fault(
                    where,
                    f"{{{name}}}",
                    "one of: " + sorted_words(set(known)),
                    "Check the spelling between the braces.",
                )
            elif is_key_name(name) and not (after in order and _is_past(name, after, scenario)):
                yield file.fault(
                    where,
                    f"{{{name}}}, which gives a right answer away",
                    "no answer before it is given",
                    "Use it only in the reasons of that decision or of a later one.",
                )


def _is_past(name: str, after: str, scenario: Scenario) -> bool:
    """Whether the decision whose key `name` shows was answered by the time `after` was."""
    order = [decision.id for decision in scenario.decisions]
    if name == "soiled_count":
        marked = [decision.id for decision in scenario.decisions if decision.kind == "mark_places"]
        return not marked or order.index(marked[0]) <= order.index(after)
    return order.index(name.removeprefix("right_")) <= order.index(after)
