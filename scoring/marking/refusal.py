"""Why an answer cannot be taken: a code for the program, a sentence for the person.

A page hands the sentences of its language (:func:`sentences`) to
:func:`scoring.marking.credit.check_answer`, by the same codes.
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

GERMAN: dict[RefusalCode, str] = {
    "no_choice": "Wählen Sie eine Antwort.",
    "unknown_choice": "Diese Antwort steht nicht zur Wahl.",
    "no_box": "Kreuzen Sie mindestens ein Feld an.",
    "missing_action": "Geben Sie jedem Schritt seinen Platz.",
    "no_list": "Die Antwort muss eine Liste sein.",
    "no_name": "Jeder Eintrag muss mit seinem Namen angegeben werden.",
    "twice": "Ein Eintrag kommt zweimal vor.",
    "unknown_name": "Die Antwort nennt etwas, das es hier nicht gibt.",
    "no_quantity": "Geben Sie eine Zahl und eine Einheit an.",
    "no_unit": "Geben Sie auch die Einheit an.",
    "unknown_unit": "Diese Einheit ist nicht bekannt. Wählen Sie eine von diesen: {units}.",
    "wrong_kind_of_unit": "Diese Einheit passt hier nicht. Wählen Sie eine von diesen: {units}.",
    "other_unit": "Wählen Sie eine von diesen Einheiten: {units}.",
    "no_number": "Geben Sie die Menge als Zahl an.",
    "impossible_amount": (
        "Diese Menge ist am Becken nicht möglich. Prüfen Sie die Zahl und die Einheit."
    ),
    "not_whole": "Hier wird einzeln gezählt. Geben Sie eine ganze Zahl an.",
}
"""The same in German; not yet reviewed by a speaker."""

_BY_LANGUAGE: Mapping[str, Mapping[RefusalCode, str]] = {"en": ENGLISH, "de": GERMAN}


def sentences(language: str) -> Mapping[RefusalCode, str]:
    """Return what is said in a language, by code; English for one that has none."""
    return _BY_LANGUAGE.get(language, ENGLISH)


class Refusal(NamedTuple):
    """Why an answer cannot be taken; `units` are those that may be given, if any."""

    code: RefusalCode
    units: tuple[str, ...] = ()

    def said(self, sentences: Mapping[RefusalCode, str] = ENGLISH) -> str:
        """Return the sentence; English where `sentences` has none."""
        sentence = sentences.get(self.code, ENGLISH[self.code])
        return sentence.replace("{units}", ", ".join(self.units))
