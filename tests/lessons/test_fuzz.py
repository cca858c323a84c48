"""Any change to any scenario of the kit gives faults that say what and where, or a sound file."""

from __future__ import annotations

import tempfile
from collections.abc import Callable
from pathlib import Path

from hypothesis import given, settings
from hypothesis import strategies as st

from scoring.check import check_files
from scoring.site import SiteValues
from scoring.yaml_file import read_yaml
from tests.lessons.players import SITES as SITE_FILES
from tests.lessons.players import library
from tests.scoring.check.test_files import any_text, cut_lines, double_lines, swap_value

ALL_IDS = library().scenario_ids()
SITES = [read_yaml(path, SiteValues) for path in SITE_FILES]
CHANGES = [cut_lines, swap_value, double_lines, any_text]


@settings(max_examples=80, deadline=None)
@given(
    data=st.data(),
    name=st.sampled_from(ALL_IDS),
    words=st.booleans(),
    changes=st.lists(st.sampled_from(CHANGES), min_size=1, max_size=3),
)
def test_a_changed_scenario_never_ends_in_a_traceback(
    data: st.DataObject,
    name: str,
    words: bool,
    changes: list[Callable[[str, st.DataObject], str]],
) -> None:
    path = library().scenario_path(name)
    texts = {
        each.name: each.read_text(encoding="utf-8")
        for each in (path, path.with_name(f"{name}.en.yaml"))
    }
    changed = f"{name}.en.yaml" if words else path.name
    for change in changes:
        texts[changed] = change(texts[changed], data)
    with tempfile.TemporaryDirectory() as folder:
        for file, text in texts.items():
            (Path(folder) / file).write_bytes(text.encode("utf-8", "surrogatepass"))
        for fault in check_files([Path(folder)], library(), SITES):
            assert fault.file
            assert fault.item
            assert fault.wanted
            assert fault.remedy.endswith(".")
            assert "Traceback" not in str(fault)
