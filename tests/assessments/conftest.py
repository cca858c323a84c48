"""A released course, made once: making a gradebook takes seconds, copying one does not."""

from __future__ import annotations

from pathlib import Path

import pytest

from assessments.gradebook.course import Course
from tests.assessments.trial import trial_form, trial_library, trial_settings


@pytest.fixture(scope="session")
def released_course(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The course folder of the trial form, to be copied and never written to."""
    course = Course(trial_settings(tmp_path_factory.mktemp("released")))
    course.release(trial_form(), trial_library())
    return course.root
