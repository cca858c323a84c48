"""Finding the forms of exams by name."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from assessments import HERE
from scoring.faults import FaultError
from scoring.form import Form
from scoring.yaml_file import read_yaml

FORMS = HERE / "forms"
"""The forms that come with the kit."""


def exam_forms(folders: Sequence[Path] = (FORMS,)) -> tuple[Form, ...]:
    """Return every exam form in the folders, by id and version.

    Raises
    ------
    FaultError
        A form is malformed, is no exam, or two files hold the same version.
    """
    found: dict[str, tuple[Form, Path]] = {}
    for path in [path for folder in folders for path in sorted(folder.glob("*.yaml"))]:
        form = read_yaml(path, Form)
        if form.purpose != "exam":
            raise FaultError.one(
                path,
                "purpose",
                found=form.purpose,
                wanted="exam",
                remedy="Move the file out of the folder of exam forms.",
            )
        if form.name in found:
            raise FaultError.one(
                path,
                "version",
                found=f"{form.name}, which also stands in {found[form.name][1].name}",
                wanted="each version of a form once",
                remedy="Give the changed form the next version.",
            )
        found[form.name] = (form, path)
    return tuple(form for form, _ in sorted(found.values(), key=_rank))


def find_form(name: str, folders: Sequence[Path] = (FORMS,)) -> Form:
    """Return the form called `name`: ``<id>_v<version>``, or its id for the newest version.

    Raises
    ------
    FaultError
        There is no such form.
    """
    forms = exam_forms(folders)
    fitting = [form for form in forms if name in (form.name, form.id)]
    if not fitting:
        raise FaultError.one(
            ", ".join(str(folder) for folder in folders),
            "form",
            found=name,
            wanted="one of " + (", ".join(form.name for form in forms) or "(there is none yet)"),
            remedy="Check the spelling of the form's name.",
        )
    return fitting[-1]


def _rank(found: tuple[Form, Path]) -> tuple[str, int]:
    return found[0].id, found[0].version
