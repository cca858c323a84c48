"""The generated parts of the bench's README are put where their marks are."""

from __future__ import annotations

import pytest

from scoring.readme_part import with_part


def test_a_part_is_put_between_its_marks_and_the_rest_stays() -> None:
    before = "above\n<!-- rows: start -->\nold\n<!-- rows: end -->\nbelow\n"
    after = with_part(before, "rows", "new")
    assert after == "above\n<!-- rows: start -->\n\nnew\n\n<!-- rows: end -->\nbelow\n"
    assert with_part(after, "rows", "new") == after


@pytest.mark.parametrize("readme", ["", "<!-- rows: start -->", "<!-- other: end -->"])
def test_a_readme_without_the_marks_is_refused(readme: str) -> None:
    with pytest.raises(ValueError, match="rows"):
        with_part(readme, "rows", "new")
