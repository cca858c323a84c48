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


NESTED = """
5 6 5 5 5 3 4 5 6 7 3 3
9 3 7 7 7 5 5 5 7 7 5 2
3 4 3 3 5 3 3 5 6 5 1 6
7 5 5 3 3 1 4 3 5 3 3 5
9 2 9 7 7 7 3 7 2 7 5 3
3 4 3 5 3 3 6 3 4 5 1 2
7 3 7 7 7 5 5 7 5 5 5 4
5 8 5 7 7 5 5 4 3 2 1 1
9 9 8 8 6 6 6 5 5 8 1 1
4 4 4 3 3 5 6 5 5 7 1 1
"""
# Brennan 2001, synthetic data set 4, 10 persons x 3 tasks with 4 raters each, and its components,
# all from memory: the components that the remembered data give are those remembered.
NESTED_COMPONENTS = {"p": 0.4731, "t": 0.3252, "r:t": 0.6475, "pt": 0.5596, "pr:t": 2.3802}


@cache
def nested() -> GStudy:
    scores = [float(cell) for cell in NESTED.split()]
    facets = {
        "p": [k // 12 for k in range(120)],
        "t": [k % 12 // 4 for k in range(120)],
        "r": [k % 4 for k in range(120)],
    }
    found = g_study(scores, facets, "p x (r:t)")
    assert isinstance(found, GStudy)
    return found


def nested_case(quantity: str, published: float, digits: int, of: Callable[[], float]) -> Case:
    title = "p x (r:t), 10 persons, 3 tasks, 4 raters for each"
    source = "Brennan 2001 Generalizability Theory, synthetic data set 4"
    return Case(title, source, quantity, "from memory", of, published, digits)


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
    *(
        nested_case(f"var {name}", printed, 4, raw(nested, name))
        for name, printed in NESTED_COMPONENTS.items()
    ),
    nested_case("Erho2", 0.55, 2, d_erho2(nested)),
    nested_case("Phi", 0.46, 2, d_phi(nested)),
]
