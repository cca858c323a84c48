"""The page itself: choose an instrument, an outcome and a quantity, and see the curve."""

from __future__ import annotations

import base64
import csv
import io
from html import escape

import ipywidgets as widgets  # type: ignore[import-untyped]
from IPython.display import display

from lessons import DEFAULT_SITE, lesson_library
from lessons.curves.disagreeing import draw_findings
from lessons.curves.figure import draw_curve
from lessons.curves.saying import outcome_names, over_names
from lessons.drawing.words import instrument_words
from scoring.bench.response import Response, response
from scoring.cohort.drawing import Drawn
from scoring.faults import FaultError
from scoring.library import Library
from scoring.settings import Settings
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml

ABOUT = (
    "Each curve plays the whole work by the book at this department's own values and lets one "
    "quantity run. It is a teaching model. It proves nothing about a process: the IFU, the label "
    "and your local rules decide."
)
LOOK = """<style>
.curves { max-width: 62rem; margin: 0 auto; padding: 1rem 1.5rem 3rem; }
.curves h1 { margin: 0 0 .5rem; }
.curves p { margin: 0 0 .75rem; max-width: 44rem; line-height: 1.45; }
.curves .widget-dropdown { display: grid; grid-template-columns: 8rem minmax(0, 26rem);
  align-items: center; width: auto; height: auto; margin: 0 0 .5rem; }
.curves .widget-dropdown label { width: auto; text-align: left; font-weight: 650; }
.curves select { min-height: 44px; width: 100%; font: inherit; padding: .25rem .5rem;
  border: 2px solid #5f6f7c; border-radius: 3px; background-color: #fff; color: #14202b; }
.curves select:focus-visible { outline: 3px solid #0b4f71; outline-offset: 2px; }
.curves figure { margin: 1rem 0; }
.curves figcaption { margin-top: .5rem; max-width: 44rem; line-height: 1.45; }
.curves a { color: #0b4f71; display: inline-block; min-height: 44px; line-height: 44px; }
@media (max-width: 480px) { .curves .widget-dropdown { grid-template-columns: 1fr; } }
</style>"""
"""Targets of 44 px and text that can be read at arm's length, as on every page of the kit."""

BATH_L = 10.0
"""Litres of the bath on this page; the dose follows from it. A working judgement."""


class Curves:
    """The page as a machine: three choices, one picture.

    Parameters
    ----------
    settings : Settings
        Whose site values hold.
    library : Library or None
        Where the instruments are; the kit's own when None.
    """

    def __init__(self, settings: Settings, library: Library | None = None) -> None:
        self.library = library if library is not None else lesson_library()
        self.site = read_yaml(settings.site, SiteValues)
        names = sorted(path.stem for path in self.library.instrument_folder.glob("*.yaml"))
        kinds = [name for name in names if "." not in name]
        self.instrument = widgets.Dropdown(
            options=[(instrument_words(name, "en").name, name) for name in kinds],
            value="clamp" if "clamp" in kinds else kinds[0],
            description="Instrument",
        )
        self.over = widgets.Dropdown(options=over_names(), description="What runs")
        self.outcome = widgets.Dropdown(options=outcome_names(), description="What is seen")
        self.shown = widgets.HTML()
        for choice in (self.instrument, self.over, self.outcome):
            choice.observe(self._changed, names="value")
        self._changed()

    @property
    def page(self) -> widgets.Widget:
        """Everything, one thing below the other."""
        head = (
            f"{LOOK}<h1>What each quantity does</h1><p>{escape(self.site.name)}</p><p>{ABOUT}</p>"
        )
        choices = widgets.VBox([self.instrument, self.over, self.outcome])
        below = widgets.HTML("<h2>Where findings disagree: drying</h2>" + framed(draw_findings()))
        page = widgets.VBox([widgets.HTML(head), choices, self.shown, below])
        page.add_class("curves")
        return page

    def curve(self) -> Response:
        """Return the curve of the choices as they stand.

        Raises
        ------
        ValueError
            No step of this instrument's work uses the quantity.
        """
        return response(
            self.outcome.value,
            self.over.value,
            self.site,
            self.library.instrument(self.instrument.value),
            bath_l=BATH_L,
        )

    def _changed(self, change: object = None) -> None:
        try:
            curve = self.curve()
        except ValueError:
            self.shown.value = (
                '<p role="status">There is no such step in the work on this instrument. '
                "Choose another quantity, or another instrument.</p>"
            )
            return
        drawn = draw_curve(curve)
        table = base64.b64encode(as_csv(curve).encode()).decode("ascii")
        self.shown.value = (
            f'{framed(drawn)}<p><a download="curve.csv" '
            f'href="data:text/csv;charset=utf-8;base64,{table}">Save the numbers (CSV)</a></p>'
        )


def framed(drawn: Drawn) -> str:
    """Return a picture with its finding below it, for the eye and for a screen reader."""
    alt = escape(drawn.alt)
    return (
        f'<figure class="curve"><div role="img" aria-label="{alt}">{drawn.svg}</div>'
        f'<figcaption role="status">{alt}</figcaption></figure>'
    )


def as_csv(curve: Response) -> str:
    """Return the points of a curve as a table with units in its head."""
    text = io.StringIO()
    rows = csv.writer(text, lineterminator="\n")
    rows.writerow([f"{curve.over} [{curve.x_unit}]", f"{curve.outcome} [{curve.y_unit}]"])
    rows.writerows(zip(curve.x.tolist(), curve.y.tolist(), strict=True))
    return text.getvalue()


def show() -> None:
    """Show the page: the one call of its notebook."""
    try:
        page = Curves(Settings.from_environment(DEFAULT_SITE)).page
    except FaultError as error:
        fault = error.faults[0]
        said = f"{fault.item}: found {fault.found}, wanted {fault.wanted}. {fault.remedy}"
        page = widgets.HTML(
            f'<h1>The curves cannot be shown</h1><p role="alert">{escape(said)}</p>'
        )
    display(page)  # type: ignore[no-untyped-call]
