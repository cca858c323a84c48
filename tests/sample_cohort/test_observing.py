from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from sample_cohort.generate import CohortSummary
from sample_cohort.observing import TIMES_A_YEAR, write_observations
from sample_cohort.plan import NEW, ON_LEAVE, OPERATORS, PEOPLE, SITES
from sample_cohort.truth import RATERS, SHIFT_HABIT
from scoring.checklist import Checklist
from scoring.cohort.invented import INVENTED
from scoring.model import Station, digest
from scoring.observation import Observation
from scoring.records.observations import observations_folder
from scoring.settings import Settings

GOLDEN = "7431cff8fee922b42bf3b5cbe2e278e8395d8620b4c49b8db36364b4386346d7"
"""Digest of every observation; see that of the answers in test_generate."""


def test_the_observations_have_not_drifted(observations: Sequence[Observation]) -> None:
    assert digest([one.model_dump(mode="json") for one in observations]) == GOLDEN


def test_again_gives_the_same_bytes_and_changes_nothing(
    observations: Sequence[Observation],
    settings: Settings,
    cohort: CohortSummary,
    checklists: Mapping[Station, Checklist],
) -> None:
    folder = observations_folder(settings)
    before = {path: path.stat().st_mtime_ns for path in folder.iterdir()}
    counted: list[int] = []
    paths = write_observations(
        settings, checklists, cohort.retrained, cohort.seed, progress=counted.append
    )
    assert counted == list(range(1, len(observations) + 1))
    assert {path: path.stat().st_mtime_ns for path in folder.iterdir()} == before
    assert set(paths) == set(before)


def test_everybody_is_watched_twice_at_each_station_and_nobody_when_away(
    observations: Sequence[Observation], checklists: Mapping[Station, Checklist]
) -> None:
    occasions = {one.occasion: one for one in observations}
    watched = Counter((one.operator, one.station) for one in occasions.values())
    for code in set(OPERATORS) - NEW.keys() - ON_LEAVE.keys():
        for station in checklists:
            assert watched[code, station] == TIMES_A_YEAR
    for one in observations:
        person = PEOPLE[one.operator]
        assert person.since is not None
        assert one.at.date() >= person.since
        assert one.at.weekday() < 5
        assert one.at.month - 1 not in ON_LEAVE.get(one.operator, ())
        assert one.site == SITES[person.site]
        assert one.id.startswith(INVENTED)


def test_each_rater_stands_once_on_an_occasion_and_pairs_are_there_to_compare(
    observations: Sequence[Observation],
) -> None:
    raters = Counter((one.occasion, one.rater) for one in observations)
    assert set(raters.values()) == {1}
    both = Counter(Counter(one.occasion for one in observations).values())
    assert set(both) == {1, 2}
    assert 0.3 < both[2] / (both[1] + both[2]) < 0.5
    pairs = {
        frozenset(one.rater for one in observations if one.occasion == occasion)
        for occasion, count in Counter(one.occasion for one in observations).items()
        if count == 2
    }
    assert len(pairs) == len(RATERS) * (len(RATERS) - 1) // 2


def test_every_item_of_the_checklist_is_rated_and_nothing_else(
    observations: Sequence[Observation], checklists: Mapping[Station, Checklist]
) -> None:
    for one in observations:
        checklist = checklists[one.station]
        assert set(one.ratings) == {item.id for item in checklist.items}
        assert one.checklist_digest == digest(checklist)


def test_one_item_watches_what_the_shift_leaves_out(
    checklists: Mapping[Station, Checklist],
) -> None:
    named = [
        (station, item.id)
        for station, checklist in checklists.items()
        for item in checklist.items
        if set(item.mistakes) & set(SHIFT_HABIT.mistakes)
    ]
    assert named == [("rinse", "treated-last")]
