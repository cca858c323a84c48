"""Published variance components: gauge study, certified tables of variance, lme4's examples."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache, partial
from pathlib import Path

import numpy as np
import scipy.stats  # type: ignore[import-untyped]

from scoring.evidence import TooLittleEvidence
from scoring.variation.balanced import OneWay, TwoWayTable, one_way
from scoring.variation.components import Components, variance_components
from scoring.variation.gauge import Gauge, gauge_anova, gauge_ranges
from tests.published.case import Case, block, cases, rows

FILE = "variance_components"
SHIPPED = Path(scipy.stats.__file__).parent / "tests" / "data" / "nist_anova"
"""The certified sets as scipy ships them with its tests, in most of its packages."""


@cache
def fit(name: str) -> Components:
    """Fit an example of lme4 by its name in the data file."""
    data, how = name.split("_")
    held = rows(f"vc_lme4_{data}.csv")
    factors = ["sample", "batch"] if data == "Pastes" else ["Batch"]
    outcome = "strength" if data == "Pastes" else "Yield"
    found = variance_components(
        [float(row[outcome]) for row in held],
        {factor: [row[factor] for row in held] for factor in factors},
        reml=how == "REML",
    )
    assert isinstance(found, Components)
    return found


@cache
def certified(name: str) -> OneWay:
    """Return the table of a certified set."""
    file = SHIPPED / f"{name}.dat"
    if file.exists():  # the data start at line 61 of each file, as its heading says
        pairs = [line.split() for line in file.read_text().splitlines()[60:] if line.strip()]
    else:
        held = rows("vc_nist_strd_anova_data.csv")
        pairs = [[r["treatment"], r["response"]] for r in held if r["dataset"] == name]
    found = one_way([float(value) for _, value in pairs], [group for group, _ in pairs])
    assert not isinstance(found, TooLittleEvidence)
    return found


@cache
def gauge(ranges: bool = False) -> Gauge:
    """Return the gauge study of ten parts."""
    cells = np.zeros((10, 3, 3))
    for row in rows("vc_aiag_msa4_grr_10x3x3.csv"):
        at = int(row["part"]) - 1, "ABC".index(row["appraiser"]), int(row["trial"]) - 1
        cells[at] = float(row["value"])
    found = (gauge_ranges if ranges else gauge_anova)(cells)
    assert isinstance(found, Gauge)
    return found


def table() -> TwoWayTable:
    """Return the gauge study's table of variance."""
    found = gauge().table
    assert found is not None
    return found


def number(value: float | None) -> float:
    """Return a number that is there."""
    assert value is not None
    return value


def variance(name: str, factor: str) -> float:
    """Return a variance of a fit."""
    return fit(name).variances[factor].value


def effect(name: str, at: int) -> float:
    """Return the predicted effect of a batch."""
    return fit(name).effects["Batch"][at].value


def of_fit(name: str, take: Callable[[Components], float]) -> Callable[[], float]:
    """Return what computes a figure of a fit."""
    return lambda: take(fit(name))


def of_certified(name: str, take: Callable[[OneWay], float]) -> Callable[[], float]:
    """Return what computes a figure of a certified set."""
    return lambda: take(certified(name))


def _lme4() -> list[Case]:
    example = block(FILE, "lme4_gaussian")
    made = []

    def add(name: str, quantity: str, oracle: float, compute: Callable[[], float]) -> None:
        made.append(
            Case(
                example["title"], example["source"], f"{name} {quantity}", "COMPUTED", compute,
                oracle=oracle, relative=5e-5,
            )
        )  # fmt: skip

    for name, whole in example["full_fits"].items():
        # Data of the others are not among the data files; the benchmark takes them from R.
        if name.split("_")[0] not in ("Dyestuff", "Dyestuff2", "Pastes") or "_ran" in name:
            continue
        for line in whole["vcov"]:
            group = line["grp"].replace("Residual", "residual")
            add(name, group, line["vcov"], partial(variance, name, group))
        add(
            name, "intercept", whole["fixef"]["(Intercept)"],
            of_fit(name, lambda found: found.fixed[0].estimate.value),
        )  # fmt: skip
        error = whole["se"]["(Intercept)"]
        add(
            name, "standard error", error, of_fit(name, lambda found: found.fixed[0].standard_error)
        )
        add(
            name,
            "log likelihood",
            whole["logLik"],
            of_fit(name, lambda found: found.log_likelihood),
        )
        criterion = whole["REML"] if whole["REML"] is not None else whole["deviance"]
        add(name, "criterion", criterion, of_fit(name, lambda found: found.criterion))
    for name, effects in example["blups"].items():
        for at, value in enumerate(effects):
            add(name, f"effect {at + 1}", value, partial(effect, name, at))
    return made


def _nist() -> list[Case]:
    example = block(FILE, "nist_strd_anova")
    here = {row["dataset"] for row in rows("vc_nist_strd_anova_data.csv")}
    here |= {file.stem for file in SHIPPED.glob("*.dat")}
    made = []
    for name, held in example["sets"].items():
        if name not in here:
            continue  # the largest sets only come with scipy's own tests
        quantities: dict[str, Callable[[OneWay], float]] = {
            "F": lambda t: number(t.between.f),
            "ms_b": lambda t: t.between.ms,
            "ms_w": lambda t: t.within.ms,
            "resid_sd": lambda t: t.residual_sd,
            "R2": lambda t: t.r_squared,
        }
        for quantity, of in quantities.items():
            made.append(
                Case(
                    example["title"], example["source"], f"{name} {quantity}", "READ",
                    of_certified(name, of),
                    oracle=held["certified"][quantity], relative=1e-9,
                )
            )  # fmt: skip
    return made


GAUGE: dict[str, Callable[[], float]] = {
    "SS_part": lambda: table().rows.ss,
    "SS_operator": lambda: table().columns.ss,
    "SS_part_x_operator": lambda: table().interaction.ss,
    "SS_repeatability": lambda: table().within.ss,
    "SS_total": lambda: table().total.ss,
    "MS_part": lambda: table().rows.ms,
    "MS_oper": lambda: table().columns.ms,
    "MS_inter": lambda: table().interaction.ms,
    "MS_rep": lambda: table().within.ms,
    "F_interaction": lambda: number(table().interaction.f),
    "p_interaction": lambda: number(table().interaction.p),
    "F_part(vs MS_inter)": lambda: number(table().rows.f),
    "F_oper(vs MS_inter)": lambda: number(table().columns.f),
    "MS_rep_pooled(df 78)": lambda: gauge().repeatability ** 2,
    "var_repeatability": lambda: gauge().repeatability ** 2,
    "var_reproducibility": lambda: gauge().reproducibility ** 2,
    "var_GRR": lambda: gauge().gauge ** 2,
    "var_part": lambda: gauge().part ** 2,
    "sigma EV (ANOVA)": lambda: gauge().repeatability,
    "sigma AV (ANOVA)": lambda: gauge().reproducibility,
    "sigma GRR (ANOVA)": lambda: gauge().gauge,
    "sigma PV (ANOVA)": lambda: gauge().part,
    "sigma TV (ANOVA)": lambda: gauge().total,
    "%contribution GRR": lambda: gauge().contribution["gauge"],
    "%study var GRR": lambda: gauge().study["gauge"],
    "%SV repeatability": lambda: gauge().study["repeatability"],
    "%SV reproducibility": lambda: gauge().study["reproducibility"],
    "ndc": lambda: gauge().categories,
    "EV (avg-range)": lambda: gauge(True).repeatability,
    "AV (avg-range)": lambda: gauge(True).reproducibility,
    "GRR (avg-range)": lambda: gauge(True).gauge,
    "PV (avg-range)": lambda: gauge(True).part,
    "TV (avg-range)": lambda: gauge(True).total,
    "%GRR (avg-range)": lambda: gauge(True).study["gauge"],
    "ndc (avg-range)": lambda: gauge(True).categories,
}


def _gauge() -> list[Case]:
    held = block(FILE, "aiag_msa4")["values"]
    return cases(
        FILE,
        "aiag_msa4",
        GAUGE,
        # The method of ranges has constants of three digits in the manual, ours are exact.
        relative=5e-4,
        misprints={
            value["quantity"]: "the source carries rounded figures on"
            for value in held
            if not value["agrees_to_printed_digits"] and value["quantity"] in GAUGE
        },
        # Plain means and ranges of the data, which no function of the kit returns.
        elsewhere=["Rbar (avg-range)", "Xdiff", "Rp"],
    )


CASES = [*_lme4(), *_nist(), *_gauge()]
