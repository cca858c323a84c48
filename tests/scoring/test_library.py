"""Finding scenarios, words, instruments; and what is said when one is not there."""

from __future__ import annotations

import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from scoring.faults import FaultError
from scoring.library import Library
from tests.lessons.players import LESSONS
from tests.scoring.small import SMALL, small_form, small_library, small_site

ROOT = Path(__file__).parents[2]


def copied(folder: Path) -> Library:
    shutil.copytree(SMALL, folder / "kit")
    return Library([folder / "kit" / "scenarios"], folder / "kit" / "instruments")


def test_scenarios_are_found_in_folders_below(tmp_path: Path) -> None:
    library = copied(tmp_path)
    deeper = tmp_path / "kit" / "scenarios" / "soak"
    deeper.mkdir()
    for path in (tmp_path / "kit" / "scenarios").glob("small-soak*"):
        path.rename(deeper / path.name)
    assert library.scenario_ids() == ("small-look", "small-soak")
    assert library.scenario("small-soak").station == "soak"
    assert library.words("small-soak", "en").title == "Soak a probe"


def test_the_first_folder_that_has_it_counts(tmp_path: Path) -> None:
    library = copied(tmp_path)
    both = Library([tmp_path / "nowhere", *library.scenario_folders], library.instrument_folder)
    assert both.scenario_path("small-look").parent == tmp_path / "kit" / "scenarios"


@pytest.mark.parametrize("use", ["scenario", "scenario_path", "instrument"])
def test_what_is_not_there_is_said(use: str) -> None:
    with pytest.raises(FaultError) as error:
        getattr(small_library(), use)("nobody")
    assert "nobody" in str(error.value)
    assert error.value.faults[0].remedy


def test_a_file_with_another_id_in_it_is_refused(tmp_path: Path) -> None:
    library = copied(tmp_path)
    path = library.scenario_path("small-look")
    path.rename(path.with_name("renamed.yaml"))
    with pytest.raises(FaultError, match="the same name"):
        library.scenario("renamed")


def test_a_language_without_words_is_shown_in_english(tmp_path: Path) -> None:
    library = copied(tmp_path)
    assert library.words("small-look", "de").language == "en"
    english = library.scenario_path("small-look").with_name("small-look.en.yaml")
    german = english.with_name("small-look.de.yaml")
    german.write_text(english.read_text().replace("language: en", "language: de"))
    assert library.words("small-look", "de").language == "de"


def test_digests_change_with_what_marking_rests_on_and_nothing_else(tmp_path: Path) -> None:
    library = copied(tmp_path)
    before = library.form_digest(small_form())
    assert before == small_library().form_digest(small_form())
    words = tmp_path / "kit" / "scenarios" / "small-soak.en.yaml"
    words.write_text(words.read_text().replace("Goggles", "Safety goggles"))
    scenario = tmp_path / "kit" / "scenarios" / "small-soak.yaml"
    scenario.write_text(scenario.read_text() + "\n# a comment\n")
    assert copied_again(library).form_digest(small_form()) == before
    scenario.write_text(scenario.read_text().replace("credit: 0.5", "credit: 0.6"))
    assert copied_again(library).form_digest(small_form()) != before
    heavier = small_form().model_copy(update={"cut": 0.7})
    assert small_library().form_digest(heavier) != before


def copied_again(library: Library) -> Library:
    """A library of the same folders that has read nothing yet."""
    return Library(library.scenario_folders, library.instrument_folder)


def test_an_instance_is_of_this_site_and_seed() -> None:
    instance = small_library().instance("small-look", small_site(), 11)
    assert (instance.seed, instance.site.id, instance.instrument.id) == (11, "small-site", "probe")


def test_what_a_trainee_waits_for_loads_nothing_heavy() -> None:
    code = (
        "import sys\n"
        "import scoring.play, scoring.library, scoring.wording, scoring.catalogue\n"
        "import scoring.records.log, scoring.records.places, scoring.records.header\n"
        "import scoring.marking.sitting, scoring.marking.credit\n"
        "heavy = {'pandas', 'numpy', 'scipy', 'matplotlib', 'sqlalchemy', 'rich', 'typer',"
        " 'nbgrader'}\n"
        "print(sorted(heavy & set(sys.modules)))\n"
    )
    ran = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT
    )
    assert ran.stdout.strip() == "[]"


def test_the_scenarios_of_a_station_are_found_without_reading_those_of_others() -> None:
    library = Library([LESSONS], LESSONS.parent / "instruments")
    found = library.station_ids("soak")
    assert set(library._scenarios) == set(found)
    every = [name for name in library.scenario_ids() if library.scenario(name).station == "soak"]
    assert list(found) == every


def test_scenarios_naming_an_identifier_are_found_without_being_parsed() -> None:
    library = Library([LESSONS], LESSONS.parent / "instruments")
    named = library.ids_naming(["dose"])
    assert not library._scenarios
    every = [library.scenario(name) for name in library.scenario_ids()]
    asked = {one.id for one in every if "dose" in {asked.topic for asked in one.decisions}}
    assert asked <= set(named) < {one.id for one in every}
    assert list(named) == sorted(named)
    assert library.ids_naming([]) == ()


def test_only_the_whole_identifier_is_found(tmp_path: Path) -> None:
    library = copied(tmp_path)
    path = library.scenario_path("small-look")
    path.write_text(path.read_text(encoding="utf-8") + "# one-two\n", encoding="utf-8")
    assert library.ids_naming(["one-two"]) == ("small-look",)
    assert library.ids_naming(["one", "two", "ne-two"]) == ()
