"""A scenario: an instrument with a history, and the decisions to be settled on it.

The scenario file holds structure, marking and what each answer does to the
instrument. It holds no sentence a trainee reads: those are in the *words* file
beside it (:mod:`scoring.words`), one file a language, so that marking is free
of language.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Annotated, Literal, Protocol, Self

from pydantic import Field, field_validator, model_validator

from scoring.bench.handling import HandlingChange
from scoring.model import Identifier, Model, Station

Amount = float | Annotated[str, Field(pattern=r"^\$[a-z][a-z0-9_]*$")]
"""A number, or ``$name`` for a parameter drawn by the seed or a site value of `SITE_NAMES`."""

SITE_NAMES: frozenset[str] = frozenset(
    {
        "site_agent", "site_contact_min", "site_dose_ml", "site_flush_ml", "site_light_lux",
        "site_rinse_l", "site_rinses", "site_strokes", "site_temperature_c",
    }
)  # fmt: skip
"""What a scenario may name without drawing it: see :func:`scoring.instance.site_names`."""

_TAKEN = {
    "site_": "site values",
    "bore_": "the bore of a lumen",
    "length_": "the length of a lumen",
    "pressure_": "the highest pressure of a lumen",
}
"""Beginnings of names that the words files use for something else than a parameter."""

MistakeId = Annotated[str, Field(pattern=r"^M[0-9]{2,3}$")]
"""Id of a row of the catalogue of mistakes."""

Step = Literal[
    "dry", "soak", "brush", "flush", "rinse", "inspect", "wipe", "machine", "dry_off", "lubricate"
]
"""A process of the bench that runs on the handling as it stands then."""

SoilKind = Literal["fresh", "dried", "fixed", "fat", "mineral", "bone"]
"""A kind of soil the bench keeps apart, in micrograms a place."""


class Basis(Model):
    """What a rule rests on: rows of the table of facts, or a source of its own."""

    facts: tuple[Annotated[str, Field(pattern=r"^[A-Z][0-9]{1,2}n?$")], ...] = ()
    source: str = ""
    status: Literal["read", "restated", "calculated", "common practice", "memory"] | None = None

    @model_validator(mode="after")
    def _says_something(self) -> Self:
        if not self.facts and not (self.source and self.status):
            raise ValueError("a basis names facts, or a source together with its status")
        return self


class Parameter(Model):
    """A value that the seed draws, so that two sittings differ yet stay equally hard."""

    choices: tuple[float, ...] = Field(min_length=1)
    unit: str


class StartStep(Model):
    """Something that happened to the instrument before the first decision."""

    step: Step
    handling: HandlingChange = HandlingChange()


class ScatteredSoil(Model):
    """Soil that the seed puts on some of the named places."""

    places: tuple[Identifier, ...] = Field(min_length=1)
    how_many: int = Field(ge=1)
    soil: dict[SoilKind, Amount]

    @model_validator(mode="after")
    def _enough_places(self) -> Self:
        if self.how_many > len(self.places):
            raise ValueError(f"how_many is {self.how_many} but only {len(self.places)} places")
        return self


class Start(Model):
    """The instrument as it is met: its soil, how it is being handled, its history."""

    soil: dict[Identifier, dict[SoilKind, Amount]] = Field(default_factory=dict)
    scattered: ScatteredSoil | None = None
    handling: HandlingChange = HandlingChange()
    history: tuple[StartStep, ...] = ()


class Ahead(Model):
    """What an answer will come to, shown before the step that brings it about.

    Choosing a cleaner changes nothing yet; the soak does, four decisions later.
    So that the consequence follows at once, the bench runs `step` on the
    handling as answered so far, with `handling` for what is not settled yet.
    Only lessons show it, and the play itself is not touched.
    """

    step: Step
    handling: HandlingChange = HandlingChange()


class DecisionBase(Model):
    """What every decision has.

    Attributes
    ----------
    id : Identifier
        Unique in its scenario.
    topic : Identifier
        The row of the subject list it belongs to.
    weight : float
        Its part of the scenario's points, above 0.
    critical : bool
        An unsafe answer to a critical decision fails the station whatever the total.
    step : Step or None
        The bench process that runs once the answer has set the handling.
    ahead : Ahead or None
        For a decision without a step of its own: where its answer leads.
    basis : Basis
        What the rule rests on.
    """

    id: Identifier
    topic: Identifier
    weight: float = Field(default=1.0, gt=0, le=10)
    critical: bool = False
    step: Step | None = None
    ahead: Ahead | None = None
    basis: Basis

    @model_validator(mode="after")
    def _looks_ahead_or_acts(self) -> Self:
        if self.step is not None and self.ahead is not None:
            raise ValueError(f"decision {self.id!r} has a step of its own, so it needs no ahead")
        return self


class Option(Model):
    """One answer of a choose-one decision."""

    id: Identifier
    credit: float = Field(ge=0, le=1)
    unsafe: bool = False
    mistake: MistakeId | None = None
    handling: HandlingChange = HandlingChange()

    @model_validator(mode="after")
    def _wrong_names_its_mistake(self) -> Self:
        if self.credit < 1 and self.mistake is None:
            raise ValueError(f"option {self.id!r} is worth less than 1 and names no mistake")
        if self.credit == 1 and (self.mistake is not None or self.unsafe):
            raise ValueError(f"option {self.id!r} is worth 1 but is marked as a mistake")
        return self


class ChooseOne(DecisionBase):
    """Pick one option."""

    kind: Literal["choose_one"]
    options: tuple[Option, ...] = Field(min_length=2, max_length=8)

    @model_validator(mode="after")
    def _has_a_right_answer(self) -> Self:
        _unique(self.options, "option")
        if not any(option.credit == 1 for option in self.options):
            raise ValueError("no option is worth 1")
        return self


class Tick(Model):
    """One box of a choose-several decision."""

    id: Identifier
    right: bool
    unsafe: bool = False
    mistake: MistakeId
    handling: HandlingChange = HandlingChange()
    handling_without: HandlingChange = HandlingChange()


class ChooseSeveral(DecisionBase):
    """Tick every box that applies.

    A tick's ``unsafe`` says that getting this box wrong (leaving out a right
    one, ticking a wrong one) is an unsafe answer; ``mistake`` names what that
    would be.
    """

    kind: Literal["choose_several"]
    ticks: tuple[Tick, ...] = Field(min_length=2, max_length=12)

    @model_validator(mode="after")
    def _has_a_right_answer(self) -> Self:
        _unique(self.ticks, "tick")
        if not any(tick.right for tick in self.ticks):
            raise ValueError("no tick is right")
        return self


class OrderItem(Model):
    """One action to be put in its place."""

    id: Identifier
    step: Step | None = None
    handling: HandlingChange = HandlingChange()


class Precedence(Model):
    """One action that must come before another."""

    first: Identifier
    then: Identifier
    mistake: MistakeId
    unsafe: bool = False


class Order(DecisionBase):
    """Put the actions in order; the file lists them in the right one."""

    kind: Literal["order"]
    items: tuple[OrderItem, ...] = Field(min_length=3, max_length=8)
    precedence: tuple[Precedence, ...] = ()
    mistake: MistakeId

    @model_validator(mode="after")
    def _precedence_agrees(self) -> Self:
        _unique(self.items, "item")
        rank = {item.id: place for place, item in enumerate(self.items)}
        for rule in self.precedence:
            for name in (rule.first, rule.then):
                if name not in rank:
                    raise ValueError(f"precedence names {name!r}, which is no item")
            if rank[rule.first] >= rank[rule.then]:
                raise ValueError(
                    f"the right order puts {rule.then!r} before {rule.first!r}, "
                    "which its own precedence forbids"
                )
        return self


QuantityRule = Literal[
    "dose", "contact_time", "temperature", "rinses", "brush_width", "strokes",
    "flush_volume", "flush_pressure", "light",
]  # fmt: skip
"""A rule of :mod:`scoring.marking.keys` that computes the right quantity from the site's values."""


class Side(Model):
    """What it means to answer too little or too much."""

    mistake: MistakeId
    unsafe: bool = False


class Quantity(DecisionBase):
    """Give a number with its unit; the key is computed from the site's values.

    `place` names the lumen that the number is for, where there is more than one.
    """

    kind: Literal["quantity"]
    rule: QuantityRule
    units: tuple[str, ...] = Field(min_length=1)
    sets: Literal[
        "dose_ml", "minutes", "temperature_c", "rinses", "brush_mm", "strokes",
        "flush_ml", "flush_kpa", "light_lux",
    ]  # fmt: skip
    place: Identifier | None = None
    too_low: Side
    too_high: Side


class MarkPlaces(DecisionBase):
    """Mark on the drawn instrument every place that is still soiled.

    The key is the instrument as the scenario starts, so it comes before any
    step that could change the soil.
    """

    kind: Literal["mark_places"]
    missed: Side
    false_alarm: Side


Decision = Annotated[
    ChooseOne | ChooseSeveral | Order | Quantity | MarkPlaces, Field(discriminator="kind")
]


class Scenario(Model):
    """The whole of one scenario file.

    Attributes
    ----------
    schema_version : int
        Version of this schema, 1.
    id : Identifier
        Unique over all libraries; the file is named ``<id>.yaml``.
    station : Station
        The part of the work it trains.
    instrument : Identifier
        Id of an instrument file.
    minutes : int
        How long it takes, minutes, 1 to 30.
    parameters : dict
        Values drawn by the seed, named in the rest of the file as ``$name`` and
        in the words file as ``{name}``.
    start : Start
        The instrument as it is met.
    decisions : tuple of Decision
        In the order they are met, at least one.
    """

    schema_version: Literal[1]
    id: Identifier
    station: Station
    instrument: Identifier
    minutes: int = Field(ge=1, le=30)
    parameters: dict[Annotated[str, Field(pattern=r"^[a-z][a-z0-9_]*$")], Parameter] = Field(
        default_factory=dict
    )
    start: Start
    decisions: tuple[Decision, ...] = Field(min_length=1, max_length=12)

    @field_validator("parameters")
    @classmethod
    def _site_names_are_the_sites(cls, parameters: dict[str, Parameter]) -> dict[str, Parameter]:
        for start, owner in _TAKEN.items():
            for name in sorted(parameters):
                if name.startswith(start):
                    raise ValueError(f"{name!r} is no name for a parameter: {start} is for {owner}")
        return parameters

    @model_validator(mode="after")
    def _decisions_fit_together(self) -> Self:
        _unique(self.decisions, "decision")
        changed = False
        for decision in self.decisions:
            if decision.kind == "mark_places" and changed:
                raise ValueError(
                    f"decision {decision.id!r} marks places after a step that changes the soil"
                )
            steps = [decision.step]
            if decision.kind == "order":
                steps += [item.step for item in decision.items]
            changed = changed or any(step not in (None, "inspect") for step in steps)
        return self

    def decision(self, decision_id: str) -> Decision:
        """Return the decision with this id, or raise `KeyError`."""
        for decision in self.decisions:
            if decision.id == decision_id:
                return decision
        raise KeyError(decision_id)


class _Named(Protocol):
    @property
    def id(self) -> str: ...


def _unique(items: Iterable[_Named], what: str) -> None:
    seen: set[str] = set()
    for item in items:
        if item.id in seen:
            raise ValueError(f"{what} {item.id!r} stands twice")
        seen.add(item.id)
