"""Whether the words of an instrument name each of its places."""

from __future__ import annotations

from collections.abc import Iterator

from scoring.check.desk import CheckedFile, Desk, sorted_words
from scoring.faults import Fault


def label_faults(file: CheckedFile, desk: Desk) -> Iterator[Fault]:
    """Compare `places` of a words file with those of its `instrument`.

    For any model with `instrument` (an id), `language` and `places` (labels by
    place), so that the package that shows the words may own their schema.
    """
    words = file.value
    wanted_name = f"{words.instrument}.{words.language}"
    if file.path.stem != wanted_name:
        yield file.fault(
            ("instrument",),
            file.path.name,
            f"{wanted_name}.yaml",
            "Name the file after its instrument and language.",
        )
    instrument = desk.instrument(words.instrument)
    if instrument is None:
        yield from desk.missing(file, ("instrument",), "an instrument", words.instrument)
        return
    for place in sorted(instrument.places.keys() - words.places.keys()):
        yield file.fault(
            ("places",), f"no label for {place}", "a label for each place", "Add the label."
        )
    for place, label in words.places.items():
        if place not in instrument.places:
            yield file.fault(
                ("places", place),
                place,
                "one of: " + sorted_words(set(instrument.places)),
                "Check the spelling, or take the label out.",
            )
        elif not label.strip():
            yield file.fault(("places", place), "nothing", "some text", "Write the label.")
