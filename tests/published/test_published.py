"""Every statistic reproduces the published examples, to the digits that were printed."""

from __future__ import annotations

import pytest

from tests.published.__main__ import areas
from tests.published.case import Case

AREAS = areas()


@pytest.mark.parametrize("area", sorted(AREAS))
def test_published_figures_are_reproduced(area: str) -> None:
    held = AREAS[area]
    assert held
    wrong = [_said(case) for case in held if not case.agrees()]
    assert not wrong, "\n".join(wrong)


def _said(case: Case) -> str:
    return (
        f"{case.example}, {case.quantity}: kit {case.compute():.10g}, published "
        f"{case.published}, independent {case.oracle}"
    )
