"""The picture in words, for those who do not see it."""

from __future__ import annotations

from lessons.drawing.blotch import FAINTEST
from lessons.drawing.words import InstrumentWords, Mark, PictureWords
from scoring.bench.state import SOIL_KINDS, State
from scoring.instrument import Instrument

SOME, MUCH = 10.0, 60.0
"""From these amounts on soil is called some and much, ug/cm2. Working judgement, no
source; used instruments carried 40 to 420 ug/cm2 (C2)."""


def amount_word(ug_per_cm2: float, words: PictureWords) -> str:
    """Return the sentence part for an amount."""
    if ug_per_cm2 < SOME:
        return words.amounts["traces"]
    return words.amounts["some"] if ug_per_cm2 < MUCH else words.amounts["much"]


def described(
    instrument: Instrument,
    state: State,
    opened: bool,
    marks: tuple[Mark, ...],
    names: InstrumentWords,
    words: PictureWords,
) -> str:
    """Return what is on each place and what else there is to see, in sentences."""
    sentence = words.opened if opened else words.closed
    has_joint = any(place.kind == "joint" for place in instrument.places.values())
    said = [sentence.format(name=_first_upper(names.name)) if has_joint else f"{names.name}."]
    said[0] = _first_upper(said[0])
    for place_id, place in instrument.places.items():
        soils = []
        for kind in SOIL_KINDS:
            amount = state.soil[place_id][kind] / place.area_cm2
            if amount >= FAINTEST:
                soil = words.legend[kind]  # type: ignore[index]
                soils.append(amount_word(amount, words).format(soil=soil))
        if soils:
            label = names.places.get(place_id, place_id)
            said.append(_first_upper(words.on_place.format(place=label, soils=", ".join(soils))))
    if len(said) == 1:
        said.append(words.no_soil)
    said += [getattr(words, mark) for mark in marks if mark not in SOIL_KINDS]
    return " ".join(said)


def _first_upper(text: str) -> str:
    return text[:1].upper() + text[1:]
