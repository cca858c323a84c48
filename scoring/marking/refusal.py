"""Why an answer cannot be taken: a code for the program, a sentence for the person.

The sentences here are the English ones. A page in another language hands its own
to :func:`scoring.marking.credit.check_answer`, by the same codes.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Literal, NamedTuple

RefusalCode = Literal[
    "no_choice",
    "unknown_choice",
    "no_box",
    "missing_action",
    "no_list",
    "no_name",
    "twice",
    "unknown_name",
    "no_quantity",
    "no_unit",
    "unknown_unit",
    "wrong_kind_of_unit",
    "other_unit",
    "no_number",
    "impossible_amount",
    "not_whole",
]

ENGLISH: dict[RefusalCode, str] = {
    "no_choice": "Choose one answer.",
    "unknown_choice": "This answer is not one of the choices.",
    "no_box": "Tick at least one box.",
    "missing_action": "Put every action in its place.",
    "no_list": "The answer must be a list.",
    "no_name": "Each entry must be given by its name.",
    "twice": "One entry is given twice.",
    "unknown_name": "The answer names something that is not there.",
    "no_quantity": "Give a number and a unit.",
    "no_unit": "Give the unit as well.",
    "unknown_unit": "This unit is not known. Choose one of these: {units}.",
    "wrong_kind_of_unit": "This is the wrong kind of unit here. Choose one of these: {units}.",
    "other_unit": "Choose one of these units: {units}.",
    "no_number": "Give the amount as a number.",
    "impossible_amount": "This amount cannot be set at the sink. Check the number and the unit.",
    "not_whole": "This is counted one by one. Give a whole number.",
}
"""What is said, by code. ``{units}`` stands for the units that may be given."""


class Refusal(NamedTuple):
    """Why an answer cannot be taken; `units` are those that may be given, if any."""

    code: RefusalCode
    units: tuple[str, ...] = ()

    def said(self, sentences: Mapping[RefusalCode, str] = ENGLISH) -> str:
        """Return the sentence; English where `sentences` has none."""
        sentence = sentences.get(self.code, ENGLISH[self.code])
        return sentence.replace("{units}", ", ".join(self.units))
