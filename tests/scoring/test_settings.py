"""Settings go through an environment unchanged."""

from __future__ import annotations

from pathlib import Path

from scoring.settings import Settings

SITE = Path("site.yaml")


def test_an_empty_environment_gives_the_defaults() -> None:
    settings = Settings.from_environment(SITE, {})
    assert settings == Settings(Path.home() / "sinkside-records", SITE)
    assert settings.language == "en"


def test_empty_variables_count_as_not_set() -> None:
    empty = {"SINKSIDE_RECORDS": "", "SINKSIDE_SITE": "", "SINKSIDE_LANGUAGE": ""}
    assert Settings.from_environment(SITE, empty) == Settings.from_environment(SITE, {})


def test_settings_reach_a_kernel_unchanged(tmp_path: Path) -> None:
    settings = Settings(
        tmp_path / "our records ü", tmp_path / "site.yaml", "postgresql+psycopg://host/db", "de"
    )
    assert Settings.from_environment(SITE, settings.as_environment()) == settings


def test_a_relative_folder_stays_the_same_folder_in_another_process(tmp_path: Path) -> None:
    handed = Settings(Path("records"), Path("site.yaml")).as_environment()
    assert Path(handed["SINKSIDE_RECORDS"]) == Path.cwd() / "records"
    assert Path(handed["SINKSIDE_SITE"]) == Path.cwd() / "site.yaml"


def test_the_index_lies_with_the_records_unless_a_database_is_named(tmp_path: Path) -> None:
    assert Settings(tmp_path, SITE).index_url() == f"sqlite:///{tmp_path / 'index.sqlite'}"
    assert Settings(tmp_path, SITE, "postgresql+psycopg://h/d").index_url().endswith("://h/d")
