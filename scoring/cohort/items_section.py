"""The trainer's page, part one: the decisions of the exams, what needs action first."""

from __future__ import annotations

from dataclasses import dataclass

from scoring.cohort.item_study import Code, Item, ItemStudy
from scoring.cohort.partial import ends, filled, value
from scoring.cohort.saying import STATION_WORK, count, listed
from scoring.cohort.section import Finding, Section, Sheet
from scoring.evidence import Estimate, TooLittleEvidence
from scoring.measurement.items import LEAST_PERSONS
from scoring.measurement.rasch_fit import Fit
from scoring.spreadsheet import Row

SHOWN = 20
"""Decisions shown that need no action, those that tell least first: what fits a sheet. A working
judgement; the table file has all."""

ID, TITLE = "items", "Decisions: are the questions sound?"

VERDICTS: dict[Code, str] = {
    "key_suspect": "check the key",
    "site": "differs by site",
    "too_hard": "too hard to tell",
    "misfit": "look at it",
    "too_easy": "tells little",
    "fine": "nothing against it",
    "too_little": "too little evidence",
}

HEAD = (
    "station",
    "scenario",
    "decision",
    "critical",
    "verdict",
    "people",
    "right (%)",
    "right low (%)",
    "right high (%)",
    "mean credit (%)",
    "discrimination",
    "discrimination low",
    "discrimination high",
    "difficulty (logits)",
    "standard error",
    "infit",
    "outfit",
    "adjusted probability",
)
OPTIONS_HEAD = (
    "station",
    "scenario",
    "decision",
    "answer",
    "key",
    "people",
    "their mean at the rest (levelled, 0 to 1)",
)


@dataclass(frozen=True, slots=True)
class Told:
    """One decision with its sentences.

    Attributes
    ----------
    item : Item
    said : str
        What was found.
    evidence : str
        The numbers behind it.
    todo : str
        What to do; empty where there is nothing to do.
    """

    item: Item
    said: str
    evidence: str
    todo: str

    @property
    def verdict(self) -> str:
        """The verdict in a word or two."""
        return VERDICTS[self.item.code]


def told(item: Item) -> Told:
    """Return what is said of one decision."""
    work = STATION_WORK[item.station]
    if item.code == "key_suspect":
        return Told(
            item,
            _wrong_key(item, work),
            _evidence(item),
            "Check the key of this decision. Until that is done, take the scenario out of "
            "the exams. When the key is mended, mark the sittings again with: "
            "sinkside exam mark FORM.",
        )
    if item.code == "site":
        return Told(
            item,
            _by_site(item),
            _evidence(item),
            "Ask both sites how they do this step, and whether the words or the key fit "
            "only one of them.",
        )
    if item.code == "too_hard":
        return Told(
            item,
            "Nearly nobody gets this right.",
            _evidence(item),
            "Read it again: is the key right, are the words clear, is it taught?",
        )
    if item.code == "misfit":
        return Told(
            item,
            f"Right and wrong here go little with how people do at {work}.",
            _evidence(item),
            "Read it again: do able people understand it otherwise?",
        )
    if item.code == "too_easy":
        return Told(
            item,
            "Nearly everybody gets this right. It does not tell people apart.",
            _evidence(item),
            "Keep it if it is critical; otherwise ask something that people differ in.",
        )
    if item.code == "too_little":
        why = (
            f"Only {count(item.n, 'person', 'people')} answered it; at least {LEAST_PERSONS} "
            "are needed."
            if item.n < LEAST_PERSONS
            else "Whether it tells people apart is open."
        )
        return Told(item, why, _evidence(item), "")
    return Told(item, "Nothing speaks against it.", _evidence(item), "")


def _wrong_key(item: Item, work: str) -> str:
    if item.preferred:
        names = listed([f"“{name}”" for name in item.preferred], "or")
        return (
            f"People who are good at the rest of {work} tend to answer {names}, which the key "
            "calls wrong. The key is probably wrong."
        )
    return (
        f"People who are good at the rest of {work} do worse here than the others. "
        "The key is probably wrong, or the words mislead."
    )


def _by_site(item: Item) -> str:
    said = []
    for site, differ in item.sites:
        harder = "harder" if differ.log_odds.value > 0 else "easier"
        said.append(f"at {site} it is {harder} than elsewhere for people who are equally good")
    return f"This decision is not the same everywhere: {listed(said)}."


def _evidence(item: Item) -> str:
    said = [count(item.n, "person answered", "people answered")]
    if isinstance(item.right, Estimate):
        said.append(f"{round(item.right.value * item.n)} right")
    if item.code == "key_suspect":
        for use in item.options:
            if use.mean_rest is not None:
                which = "the key" if use.key else "called wrong"
                said.append(
                    f"“{use.option}” ({which}): {count(use.count, 'person', 'people')}, who earn "
                    f"{round(100 * use.mean_rest)} on a scale to 100 at the rest of the step"
                )
        chance = "less than 1" if item.probability < 0.001 else f"{1000 * item.probability:.0f}"
        said.append(f"so clear a sign comes by chance in {chance} of 1,000 searches like this")
    for site, differ in item.sites:
        said.append(
            f"{site}: {differ.n_focal} people against {differ.n_reference}, difference "
            f"{abs(differ.log_odds.value):.1f} logits"
        )
    return f"{'; '.join(said)}."


def items_section(study: ItemStudy) -> Section:
    """Return the part of the page on the decisions.

    Parameters
    ----------
    study : ItemStudy
        May hold no item.
    """
    every = [told(item) for item in study.items]
    act = [one for one in every if one.item.code not in ("fine", "too_little", "too_easy")]
    calm = sorted((one for one in every if one not in act), key=_least_telling)
    html = filled(
        ID,
        {
            "every": every,
            "act": act,
            "calm": calm[:SHOWN],
            "tally": _tally(study),
            "sites": study.sites,
            "not_compared": study.not_compared,
            "scales": [
                (station, scale.said)
                for station, scale in study.scales.items()
                if isinstance(scale, TooLittleEvidence)
            ],
            "verdicts": VERDICTS,
            "least": LEAST_PERSONS,
        },
    )
    return Section(ID, TITLE, html, _findings(every, act), _sheets(study))


def _least_telling(one: Told) -> tuple[bool, float, str]:
    found = value(one.item.discrimination)
    return found is None, found if found is not None else 0.0, one.item.name


def _tally(study: ItemStudy) -> list[tuple[str, int, dict[str, int]]]:
    found: list[tuple[str, int, dict[str, int]]] = []
    for station in study.scales:
        mine = [item for item in study.items if item.station == station]
        counts = {code: sum(item.code == code for item in mine) for code in VERDICTS}
        found.append((station, len(mine), {str(code): n for code, n in counts.items()}))
    return found


def _findings(every: list[Told], act: list[Told]) -> tuple[Finding, ...]:
    if not every:
        return (
            Finding(
                "items",
                "No decision has been answered yet.",
                "Nothing can be said of the questions.",
            ),
        )
    found = [
        Finding(
            "items",
            f"{one.item.scenario}, decision {one.item.decision}: {one.said}",
            f"{one.evidence} {one.todo}",
        )
        for one in act
    ]
    if not act:
        found.append(
            Finding(
                "items",
                f"None of {count(len(every), 'decision')} needs action.",
                "A wrong key that few people met, or that misleads few, may still be among them.",
            )
        )
    return tuple(found)


def _sheets(study: ItemStudy) -> tuple[Sheet, ...]:
    rows: list[Row] = []
    options: list[Row] = []
    for item in study.items:
        fit = item.fit if isinstance(item.fit, Fit) else None
        right = [
            None if share is None else 100 * share
            for share in (value(item.right), *ends(item.right))
        ]
        rows.append(
            (
                item.station,
                item.scenario,
                item.decision,
                "yes" if item.critical else "",
                VERDICTS[item.code],
                item.n,
                *right,
                100 * item.mean_credit,
                value(item.discrimination),
                *ends(item.discrimination),
                value(item.rasch),
                item.error,
                fit and fit.infit,
                fit and fit.outfit,
                item.probability,
            )
        )
        options += [
            (
                item.station,
                item.scenario,
                item.decision,
                str(use.option),
                "yes" if use.key else "",
                use.count,
                use.mean_rest,
            )
            for use in item.options
        ]
    return (Sheet("items", HEAD, rows), Sheet("answers-given", OPTIONS_HEAD, options))
