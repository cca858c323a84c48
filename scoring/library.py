"""Finding and loading scenarios, their words, instruments, forms and site values."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from pathlib import Path

from scoring.digests import form_digest, scenario_digest
from scoring.faults import FaultError
from scoring.form import Form
from scoring.instance import Instance, make_instance
from scoring.instrument import Instrument
from scoring.model import STATIONS, Station
from scoring.scenario import Scenario
from scoring.site import SiteValues
from scoring.words import Words
from scoring.yaml_file import read_yaml


@dataclass
class Library:
    """The scenarios and instruments of some folders, read when first asked for.

    Parameters
    ----------
    scenario_folders : sequence of Path
        Searched in order, with their subfolders, for ``<id>.yaml``.
    instrument_folder : Path
        Holds ``<id>.yaml`` for each instrument.
    """

    scenario_folders: Sequence[Path]
    instrument_folder: Path
    _scenarios: dict[str, Scenario] = field(default_factory=dict, repr=False)
    _instruments: dict[str, Instrument] = field(default_factory=dict, repr=False)
    _words: dict[Path, Words] = field(default_factory=dict, repr=False)

    def scenario_ids(self) -> tuple[str, ...]:
        """Return every scenario id, sorted."""
        return tuple(sorted(path.stem for path in self._scenario_files()))

    def station_ids(self, station: Station) -> tuple[str, ...]:
        """Return the ids of one station's scenarios, sorted.

        A file in a folder named after another station is not read: a page for one station
        need not hold the scenarios of all.
        """
        elsewhere = set(STATIONS) - {station}
        names = sorted(
            path.stem for path in self._scenario_files() if path.parent.name not in elsewhere
        )
        return tuple(name for name in names if self.scenario(name).station == station)

    def ids_naming(self, words: Iterable[str]) -> tuple[str, ...]:
        """Return the ids of the scenarios whose file holds one of these identifiers, sorted.

        The text is searched and not parsed, which would take a hundred times as long; so the
        identifier may stand for anything there, and the caller looks again.
        """
        names = "|".join(re.escape(word) for word in words)
        if not names:
            return ()
        named = re.compile(rf"(?<![\w-])(?:{names})(?![\w-])")
        found = (
            path.stem
            for path in self._scenario_files()
            if named.search(path.read_text(encoding="utf-8", errors="replace"))
        )
        return tuple(sorted(found))

    def scenario_path(self, scenario_id: str) -> Path:
        """Return the file of a scenario; `FaultError` when there is none."""
        for path in self._scenario_files():
            if path.stem == scenario_id:
                return path
        raise FaultError.one(
            ", ".join(str(folder) for folder in self.scenario_folders),
            f"scenario {scenario_id}",
            found="no file of that name",
            wanted=f"a file {scenario_id}.yaml",
            remedy="Check the spelling, or add the scenario.",
        )

    def scenario(self, scenario_id: str) -> Scenario:
        """Return a scenario by id; `FaultError` when it is missing or malformed."""
        if scenario_id not in self._scenarios:
            path = self.scenario_path(scenario_id)
            scenario = read_yaml(path, Scenario)
            _same_name(path, scenario.id)
            self._scenarios[scenario_id] = scenario
        return self._scenarios[scenario_id]

    def words(self, scenario_id: str, language: str) -> Words:
        """Return the words of a scenario; English when the language has none."""
        path = self.scenario_path(scenario_id)
        translated = path.with_name(f"{scenario_id}.{language}.yaml")
        if not translated.exists():
            translated = path.with_name(f"{scenario_id}.en.yaml")
        if translated not in self._words:
            self._words[translated] = read_yaml(translated, Words)
        return self._words[translated]

    def instrument(self, instrument_id: str) -> Instrument:
        """Return an instrument by id; `FaultError` when it is missing or malformed."""
        if instrument_id not in self._instruments:
            path = self.instrument_folder / f"{instrument_id}.yaml"
            instrument = read_yaml(path, Instrument)
            _same_name(path, instrument.id)
            self._instruments[instrument_id] = instrument
        return self._instruments[instrument_id]

    def instance(self, scenario_id: str, site: SiteValues, seed: int) -> Instance:
        """Return the instance of a scenario for one site and seed."""
        scenario = self.scenario(scenario_id)
        return make_instance(scenario, self.instrument(scenario.instrument), site, seed)

    def scenario_digest(self, scenario_id: str) -> str:
        """Return the digest of everything in a scenario that marking rests on."""
        scenario = self.scenario(scenario_id)
        return scenario_digest(scenario, self.instrument(scenario.instrument))

    def form_digest(self, form: Form) -> str:
        """Return the digest of a form together with its scenarios."""
        return form_digest(form, (self.scenario_digest(part.id) for part in form.scenarios))

    def _scenario_files(self) -> list[Path]:
        return [
            path
            for folder in self.scenario_folders
            for path in sorted(folder.rglob("*.yaml"))
            if "." not in path.stem
        ]


def _same_name(path: Path, found: str) -> None:
    if path.stem != found:
        raise FaultError.one(
            path,
            "id",
            found=found,
            wanted=path.stem,
            remedy="Give the file and the id in it the same name.",
        )
