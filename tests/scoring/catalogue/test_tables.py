"""The two tables beside the code are whole, and point to one another without a gap."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from scoring.catalogue import disputed, disputes, facts, mistakes, said_basis, subjects
from scoring.catalogue.tables import FACTS_FILE, MISTAKES_FILE, Fact, Mistake, read_table
from scoring.faults import FaultError
from scoring.model import STATIONS
from scoring.scenario import Basis


def test_every_row_is_there() -> None:
    """Counted against the text itself, so that a swallowed row shows."""
    for path, table in ((FACTS_FILE, facts()), (MISTAKES_FILE, mistakes())):
        starts = re.findall(r"^[A-Z][0-9]+n?,", path.read_text(encoding="utf-8"), re.MULTILINE)
        assert len(table) == len(starts) > 50


def test_every_fact_a_mistake_rests_on_exists() -> None:
    for mistake in mistakes().values():
        assert set(mistake.fact_ids) <= set(facts()), mistake.id


def test_a_mistake_without_a_fact_says_on_what_it_rests() -> None:
    for mistake in mistakes().values():
        assert mistake.fact_ids or re.search("practice|arithmetic|calculated", mistake.basis)


def test_every_station_has_mistakes() -> None:
    assert {mistake.station for mistake in mistakes().values()} == set(STATIONS)


def test_fact_ids_are_found_in_words() -> None:
    row = dict.fromkeys(Mistake.model_fields, "x") | {
        "id": "M01",
        "station": "soak",
        "who_is_harmed": "patient",
        "severity": "3",
        "basis": "B12 (memory of a page); T5; B4n; common practice, no source",
    }
    assert Mistake.model_validate(row).fact_ids == ("B12", "T5", "B4n")


def test_a_basis_is_said_with_source_and_status() -> None:
    said = said_basis(Basis(facts=("B4", "T1"), source="local rules", status="common practice"))
    assert [one.status for one in said[:2]] == [facts()["B4"].status, facts()["T1"].status]
    assert said[0].text == facts()["B4"].fact
    assert said[0].source == facts()["B4"].source
    assert (said[2].text, said[2].source, said[2].status) == ("", "local rules", "common practice")


def test_a_fact_that_is_not_in_the_table_is_said() -> None:
    with pytest.raises(FaultError, match="fact Z99"):
        said_basis(Basis(facts=("Z99",)))


@pytest.mark.parametrize(
    ("rows", "said"),
    [
        ("B1,t,f,,,s,read\nB1,t,f,,,s,read\n", "line 3, id"),
        ("B1,t,f,,,s,guessed\n", "line 2, status"),
        ("B1,t,,,,s,read\n", "line 2, fact"),
        ("B1,t,f,,,s,read,more\n", "line 2"),
        ("B1,t,f\n", "line 2"),
        ("x,t,f,,,s,read\n", "line 2, id"),
        ('B1,t,"f,,,s,read\n', "line 2"),
    ],
)
def test_a_malformed_row_is_refused_with_its_line(tmp_path: Path, rows: str, said: str) -> None:
    path = tmp_path / "facts.csv"
    path.write_text("id,topic,fact,values,unit,source,status\n" + rows, encoding="utf-8")
    with pytest.raises(FaultError, match=said):
        read_table(path, Fact)


def test_the_catalogue_is_large_and_each_topic_has_one_subject() -> None:
    assert len(mistakes()) > 80
    homes = [topic for subject in subjects().values() for topic in subject.topic_ids]
    assert len(homes) == len(set(homes))
    assert {mistake.topic.replace(" ", "-") for mistake in mistakes().values()} == set(homes)


def test_findings_that_disagree_are_told_wherever_one_of_them_is_a_ground() -> None:
    for dispute in disputes().values():
        assert set(dispute.fact_ids) <= set(facts())
        assert len(dispute.fact_ids) > 1
        for name in dispute.fact_ids:
            assert dispute.said in disputed(Basis(facts=("T1", name)))
    assert disputed(Basis(facts=("T1",))) == ()
