from __future__ import annotations

from scoring.catalogue import mistakes as catalogue
from scoring.cohort.frequent import MIDDLE_SEVERITY, frequent_mistakes
from scoring.variation.intervals import wilson
from tests.scoring.cohort.made import sitting, tabulate


def made(operator: str, form: str, mistake: str, times: int = 1):
    return sitting(operator, form, {"soak": [0.5] * times + [1.0]}, mistakes={"soak": mistake})


def test_people_are_counted_before_times() -> None:
    marks = [made("OP-1", "a", "M20", times=5), made("OP-2", "a", "M24"), made("OP-3", "a", "M24")]
    first, second = frequent_mistakes(tabulate(marks), catalogue(), {})["soak"]
    assert (first.mistake, first.operators, first.times, first.sittings) == ("M24", 2, 2, 2)
    assert (second.mistake, second.operators, second.times, second.sittings) == ("M20", 1, 5, 1)
    assert first.share == wilson(2, 3)
    assert first.text == catalogue()["M24"].mistake
    assert first.right_action == catalogue()["M24"].right_action


def test_the_site_says_how_severe() -> None:
    marks = [made("OP-1", "a", "M20")]
    for own, wanted in [({}, catalogue()["M20"].severity), ({"M20": 4}, 4)]:
        assert frequent_mistakes(tabulate(marks), catalogue(), own)["soak"][0].severity == wanted


def test_of_equally_many_people_the_severer_comes_first() -> None:
    marks = [made("OP-1", "a", "M20"), made("OP-1", "b", "M24")]
    for severer in ("M20", "M24"):
        severity = {"M20": 1, "M24": 1} | {severer: 4}
        assert (
            frequent_mistakes(tabulate(marks), catalogue(), severity)["soak"][0].mistake == severer
        )


def test_a_mistake_the_catalogue_lost_is_still_shown() -> None:
    (only,) = frequent_mistakes(tabulate([made("OP-1", "a", "M999")]), catalogue(), {})["soak"]
    assert "M999" in only.text
    assert only.severity == MIDDLE_SEVERITY


def test_a_station_without_mistakes_has_none() -> None:
    marks = [sitting("OP-1", "a", {"soak": [1.0], "brush": [0.5]})]
    found = frequent_mistakes(tabulate(marks), catalogue(), {}, most=3)
    assert found["soak"] == ()
    assert len(found["brush"]) == 1


def test_no_more_than_asked_for() -> None:
    marks = [
        made("OP-1", form, mistake)
        for form, mistake in zip("abc", ("M20", "M21", "M24"), strict=True)
    ]
    assert len(frequent_mistakes(tabulate(marks), catalogue(), {}, most=2)["soak"]) == 2
    assert frequent_mistakes(tabulate([]), catalogue(), {}) == {}
