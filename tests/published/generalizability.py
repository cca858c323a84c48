"""Generalizability studies: Brennan's synthetic data sets."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

from scoring.evidence import Estimate
from scoring.measurement.d_study import DStudy, d_study
from scoring.measurement.g_cells import long_form
from scoring.measurement.generalizability import GStudy, g_study
from tests.published.case import Case, block, cases, rows

FILE = "exam_reliability_irt_gtheory"
ITEMS, OCCASIONS = "brennan_p_x_i", "brennan_p_x_i_x_o"


@cache
def items() -> GStudy:
    table = [
        [float(row[f"i{k}"]) for k in range(1, 13)] for row in rows("ex_brennan2001_synth1.csv")
    ]
    found = g_study(*long_form(table, ("p", "i")), "p x i")
    assert isinstance(found, GStudy)
    return found


@cache
def occasions() -> GStudy:
    held = rows("ex_brennan2001_synth3.csv")
    facets = {name[0]: [row[name] for row in held] for name in ("person", "item", "occasion")}
    found = g_study([float(row["score"]) for row in held], facets, "p x i x o")
    assert isinstance(found, GStudy)
    return found


def value(of: object) -> float:
    assert isinstance(of, Estimate), of
    return of.value


def raw(study: Callable[[], GStudy], effect: str) -> Callable[[], float]:
    return lambda: study().component(effect).raw


def mean_square(effect: str) -> Callable[[], float]:
    def found() -> float:
        square = occasions().component(effect).mean_square
        assert square is not None
        return square

    return found


D_FIGURES: dict[str, Callable[[DStudy], float]] = {
    "Erho2": lambda made: value(made.erho2),
    "Phi": lambda made: value(made.phi),
    "SEM_rel": lambda made: made.sem_relative.value,
    "SEM_abs": lambda made: made.sem_absolute.value,
}


def table_case(quantity: str, oracle: float, compute: Callable[[], float]) -> Case:
    held = block(FILE, ITEMS)
    return Case(
        held["title"], held["source"], quantity, "COMPUTED", compute, oracle=oracle, relative=1e-9
    )


def d_case(row: dict[str, float], figure: str) -> Case:
    def compute() -> float:
        return D_FIGURES[figure](d_study(items(), {"i": row["n_i"]}))

    return table_case(f"{figure}, {row['n_i']} items", row[figure], compute)


def cut_case(row: dict[str, float]) -> Case:
    return table_case(
        f"Phi({row['cut']})",
        row["Phi_lambda"],
        lambda: value(d_study(items(), cut=row["cut"]).phi_lambda),
    )


def d_erho2(study: Callable[[], GStudy]) -> Callable[[], float]:
    return lambda: value(d_study(study()).erho2)


def d_phi(study: Callable[[], GStudy]) -> Callable[[], float]:
    return lambda: value(d_study(study()).phi)


CASES: list[Case] = [
    *cases(
        FILE,
        ITEMS,
        {
            "var p": raw(items, "p"),
            "var i": raw(items, "i"),
            "var pi": raw(items, "pi"),
            "Erho2 (n=12) = KR-20": d_erho2(items),
            "KR-20 direct": d_erho2(items),
            "Phi (n=12)": d_phi(items),
        },
        # Rounded twice, so 0.000005 beyond what one rounding gives.
        misprints={"Erho2 (n=12) = KR-20": "0.844495 is 0.8445, and only that rounds to 0.845"},
    ),
    *(d_case(row, figure) for row in block(FILE, ITEMS)["d_study"] for figure in D_FIGURES),
    *(cut_case(row) for row in block(FILE, ITEMS)["phi_lambda"]),
    *cases(
        FILE,
        OCCASIONS,
        {
            **{f"var {name}": raw(occasions, name) for name in ("p", "i", "o")},
            **{f"var {name}": raw(occasions, name) for name in ("pi", "po", "io", "pio")},
            **{
                f"MS {name}": mean_square(name) for name in ("p", "i", "o", "pi", "po", "io", "pio")
            },
            "Erho2": d_erho2(occasions),
            "Phi": d_phi(occasions),
        },
        misprints={"MS po": "1.3383 is a slip of the pen: 12.05 / 9 = 1.3389"},
    ),
]
