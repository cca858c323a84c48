"""The trainer's page, part three: whether assessors see the same at the sink."""

from __future__ import annotations

from collections.abc import Sequence

from scoring.cohort.observed import observed_items, observed_totals
from scoring.cohort.partial import ends, figure, filled, value
from scoring.cohort.rater_study import WANTED, RaterStudy, WatchedStation, rater_study
from scoring.cohort.saying import count, listed
from scoring.cohort.section import Finding, Section, Sheet
from scoring.evidence import Estimate, TooLittleEvidence
from scoring.measurement.agreement import ItemAgreement
from scoring.measurement.chance_corrected import Coefficient
from scoring.measurement.d_study import DStudy
from scoring.measurement.fleiss import FleissKappa
from scoring.measurement.kappa import CohenKappa
from scoring.measurement.severity import RaterSeverity
from scoring.observation import Observation
from scoring.spreadsheet import Row

ID, TITLE = "raters", "Assessors: do they see the same?"

SHOWN = 15
"""Items shown, worst first. A working judgement; the table file has all."""

TOO_WIDE = 0.4
"""An interval of dependability wider than this makes of an answer a guess. A working judgement."""

RATERS_HEAD = (
    "rater", "performances", "writes done more often than the others (of 100 items)", "low",
    "high", "flag", "inconsistent",
)  # fmt: skip
ITEMS_HEAD = (
    "checklist item", "performances rated by two", "same rating (%)", "low (%)", "high (%)",
    "AC1", "AC1 low", "AC1 high", "kappa", "kappa low", "kappa high",
)  # fmt: skip
PAIRS_HEAD = (
    "first", "second", "items rated by both", "same rating (%)", "AC1", "AC1 low", "AC1 high",
    "kappa", "kappa low", "kappa high",
)  # fmt: skip


def coefficient(
    found: Coefficient | CohenKappa | FleissKappa | TooLittleEvidence,
) -> Estimate | TooLittleEvidence:
    """Return a coefficient of agreement as an estimate."""
    if isinstance(found, TooLittleEvidence):
        return found
    return found.total.estimate if isinstance(found, FleissKappa) else found.estimate


def rater_said(found: RaterSeverity | TooLittleEvidence) -> str:
    """Return what is said of one assessor."""
    if isinstance(found, TooLittleEvidence):
        return f"Too little evidence. {found.said}"
    off = round(100 * abs(found.severity.value))
    if found.flag == "none":
        said = "No difference from the others that is both sure and large enough to matter."
    else:
        word = "more" if found.flag == "lenient" else "less"
        said = (
            f"{'Lenient' if found.flag == 'lenient' else 'Severe'}: of 100 items, writes about "
            f"{off} {word} as done than the others do for the same work."
        )
    if found.inconsistent:
        said += " Also less even than the others: agrees now and disagrees then."
    return said


def watched_said(one: WatchedStation) -> str:
    """Return how many assessors a step takes, in a sentence."""
    if isinstance(one.needed, TooLittleEvidence):
        if isinstance(one.study, TooLittleEvidence):
            return f"Too little evidence. {one.study.said}"
        return "No number of assessors is enough: these performances differ too little."
    if one.needed.n == 1:
        said = "One assessor is enough to tell these performances apart."
    else:
        said = f"{one.needed.n} assessors at once are needed for a result that can be relied on."
    low, high = ends(_phi(one.one))
    if low is None or high is None or high - low > TOO_WIDE:
        said += " This is a guess: the interval is very wide, too few were watched by two."
    return said


def raters_section(observations: Sequence[Observation]) -> Section:
    """Return the part of the page on the assessors.

    Parameters
    ----------
    observations : sequence of Observation
        May be empty.
    """
    study = rater_study(observed_items(observations), observed_totals(observations))
    raters = study.raters
    items = () if isinstance(study.agreement, TooLittleEvidence) else study.agreement.items
    pairs = () if isinstance(study.pairs, TooLittleEvidence) else study.pairs
    html = filled(
        ID,
        {
            "study": study,
            "severity": study.severity,
            "raters": [
                (code, found, _given_more(found), rater_said(found))
                for code, found in raters.items()
            ],
            "agreement": study.agreement,
            "items": [(one, coefficient(one.ac1), coefficient(one.kappa)) for one in items[:SHOWN]],
            "items_in_all": len(items),
            "pairs": [(one, coefficient(one.ac1), coefficient(one.kappa)) for one in pairs],
            "pairs_said": "" if pairs else getattr(study.pairs, "said", ""),
            "stations": [(one, _phi(one.one), _phi(one.two), watched_said(one))
                         for one in study.stations],
            "wanted": WANTED,
        },
    )  # fmt: skip
    return Section(ID, TITLE, html, _findings(study), _sheets(study))


def _given_more(found: RaterSeverity | TooLittleEvidence) -> Estimate | TooLittleEvidence:
    """Return how many of 100 items more this rater writes as done."""
    if isinstance(found, TooLittleEvidence):
        return found
    one = found.severity
    low = None if one.high is None else -100 * one.high
    high = None if one.low is None else -100 * one.low
    return Estimate(-100 * one.value, low, high, one.n)


def _phi(one: DStudy | TooLittleEvidence) -> Estimate | TooLittleEvidence:
    return one if isinstance(one, TooLittleEvidence) else one.phi


def _findings(study: RaterStudy) -> tuple[Finding, ...]:
    if not study.observations:
        return ()
    found = []
    for code, one in study.raters.items():
        if isinstance(one, RaterSeverity) and one.flag != "none":
            found.append(Finding(
                "raters", f"Assessor {code}. {rater_said(one)}",
                f"95 % interval: {figure(_given_more(one), 0)} of 100 items; {one.severity.n} "
                "performances. Talk through some performances together before anybody is judged "
                "by this assessor alone.",
            ))  # fmt: skip
    if not isinstance(study.agreement, TooLittleEvidence):
        bad = [one for one in study.agreement.items if _surely_low(one)]
        if bad:
            found.append(Finding(
                "raters",
                f"Assessors do not agree on {count(len(bad), 'checklist item')}: "
                f"{listed([str(one.item) for one in bad[:3]])}"
                f"{' and others' if len(bad) > 3 else ''}.",
                "Even the upper end of the agreement (AC1) is below 0.8 there. Write more "
                "clearly when the item counts as done. " + study.agreement.said,
            ))  # fmt: skip
    return tuple(found)


def _surely_low(one: ItemAgreement) -> bool:
    return isinstance(one.ac1, Coefficient) and one.ac1.high is not None and one.ac1.high < WANTED


def _sheets(study: RaterStudy) -> tuple[Sheet, ...]:
    raters: list[Row] = []
    for code, one in study.raters.items():
        more = _given_more(one)
        raters.append((
            str(code), one.persons if isinstance(one, RaterSeverity) else one.n, value(more),
            *ends(more), one.flag if isinstance(one, RaterSeverity) else "too little evidence",
            "yes" if isinstance(one, RaterSeverity) and one.inconsistent else "",
        ))  # fmt: skip
    items: list[Row] = []
    if not isinstance(study.agreement, TooLittleEvidence):
        for each in study.agreement.items:
            ac1, kappa = coefficient(each.ac1), coefficient(each.kappa)
            items.append((
                str(each.item), each.units, _percent(value(each.agreement)),
                *map(_percent, ends(each.agreement)), value(ac1), *ends(ac1), value(kappa),
                *ends(kappa),
            ))  # fmt: skip
    pairs: list[Row] = []
    if not isinstance(study.pairs, TooLittleEvidence):
        for pair in study.pairs:
            ac1, kappa = coefficient(pair.ac1), coefficient(pair.kappa)
            pairs.append((
                str(pair.first), str(pair.second), pair.units, _percent(value(pair.agreement)),
                value(ac1), *ends(ac1), value(kappa), *ends(kappa),
            ))  # fmt: skip
    return (
        Sheet("assessors", RATERS_HEAD, raters),
        Sheet("agreement-by-item", ITEMS_HEAD, items),
        Sheet("agreement-by-pair", PAIRS_HEAD, pairs),
    )


def _percent(share: float | None) -> float | None:
    return None if share is None else 100 * share
