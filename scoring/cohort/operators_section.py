"""The manager's section of operators by code: what the data can bear, and what they cannot."""

from __future__ import annotations

from scoring.cohort.operator_figures import MOST_PEOPLE, funnel_figure, people_figure
from scoring.cohort.operator_rates import OperatorStudy
from scoring.cohort.parts import part
from scoring.cohort.saying import count, listed, percent
from scoring.cohort.section import Finding, Section, Sheet
from scoring.evidence import TooLittleEvidence
from scoring.variation.adjusted_rates import AdjustedRate, OperatorRates, Verdict

TITLE = "Operators by code"

VERDICT_WORDS = {
    Verdict.WORSE: "above the limit",
    Verdict.NOT_SHOWN: "not shown above",
    Verdict.TOO_LITTLE: "too little evidence",
}

MANY = 0.5
"""From this share of operators above the limit on, the step and not the person is to be mended
first. A working judgement, no source."""


def operators_section(study: OperatorStudy) -> Section:
    """Return the section."""
    found = (_finding(study),)
    small = len(study.plain) <= MOST_PEOPLE
    rates = study.rates if isinstance(study.rates, OperatorRates) else None
    html = part(
        "operators",
        found=found[0],
        study=study,
        rates=rates,
        missing=study.rates.said if isinstance(study.rates, TooLittleEvidence) else "",
        rows=rates.operators if rates and small else (),
        flagged={code: ", ".join(stations) for code, stations in study.flagged.items()},
        funnel=funnel_figure(study),
        funnel_missing=study.funnel.said if isinstance(study.funnel, TooLittleEvidence) else "",
        people=people_figure(study),
        small=small,
        outside=set(study.outside()),
        verdict=VERDICT_WORDS,
        exceeds=_probability,
    )
    return Section("operators", TITLE, html, found, (_sheet(study),))


def _probability(exceeds: float | None) -> str:
    if exceeds is None:
        return "no limit"
    return (
        "above 99\N{NO-BREAK SPACE}%"
        if exceeds > 0.99
        else ("below 1\N{NO-BREAK SPACE}%" if exceeds < 0.01 else percent(exceeds))
    )


def _finding(study: OperatorStudy) -> Finding:
    if not study.plain:
        return Finding("operators", "No operator can be looked at yet.",
                       "Nobody has handed in an answer.")  # fmt: skip
    if isinstance(study.rates, TooLittleEvidence):
        return Finding("operators", "Operators cannot be compared yet.", study.rates.said)
    outside = list(study.outside())
    everybody = study.rates.operators
    if outside:
        verb = "gets" if len(outside) == 1 else "get"
        few = len(outside) <= 5
        who = listed(outside) if few else count(len(outside), "operator")
        headline = f"{who} {verb} more decisions wrong than the way people differ here explains."
    else:
        headline = "No operator stands out beyond the way people differ here."
    return Finding("operators", headline, _against_limit(study, everybody))


def _against_limit(study: OperatorStudy, everybody: tuple[AdjustedRate, ...]) -> str:
    n = count(len(everybody), "operator")
    if study.limit is None or isinstance(study.rates, TooLittleEvidence):
        return f"{n}. There is no limit to compare with, because no site values are given."
    worse = len(study.judged(Verdict.WORSE))
    unsure = len(study.judged(Verdict.TOO_LITTLE))
    said = (
        f"Against the limit of {percent(study.limit)} wrong decisions, {worse} of {n} are above "
        f"it, and for {unsure} there is too little evidence."
    )
    if study.rates.average > study.limit and worse >= MANY * len(everybody):
        said += (
            f" The middle operator is above it too ({percent(study.rates.average)}): that is a "
            "matter of the steps, not of persons. Mend the steps first."
        )
    return said


def _sheet(study: OperatorStudy) -> Sheet:
    people = (
        {one.operator: one for one in study.rates.operators}
        if isinstance(study.rates, OperatorRates)
        else {}
    )
    outside = set(study.outside())
    rows = []
    for code, (wrong, answers) in study.plain.items():
        one = people.get(code)
        rows.append(
            (
                code, wrong, answers, wrong / answers,
                one.rate if one else None, one.low if one else None, one.high if one else None,
                one.exceeds if one else None,
                VERDICT_WORDS[one.verdict] if one and one.verdict else None,
                "yes" if code in outside else "no",
                " ".join(study.flagged.get(code, ())),
            )
        )  # fmt: skip
    return Sheet(
        "operators",
        ("operator", "wrong", "decisions", "share_wrong", "adjusted_share_wrong", "low", "high",
         "probability_above_limit", "verdict", "outside_funnel", "steps_above_limit"),
        tuple(rows),
    )  # fmt: skip
