"""A page may ask its kernel for a widget of any kind; none touches a file or the network."""

from __future__ import annotations

import json
import subprocess
import sys

PROGRAM = """
import json, sys
import comm
from comm.base_comm import BaseComm

class Unheard(BaseComm):
    def publish_msg(self, *_what, **_more):
        pass

comm.create_comm = lambda **about: Unheard(**about)

import lessons.page.card
from ipywidgets.widgets.widget import Widget, _registry

def kinds(level, names=()):
    for name, below in level.items():
        if len(names) == 5:
            yield (*names, name), below
        else:
            yield from kinds(below, (*names, name))

touched, watching = [], False

def watch(event, about):
    if watching and event.split(".")[0] in {
        "open", "socket", "exec", "subprocess", "os", "shutil", "urllib", "import", "ctypes"
    }:
        touched.append(f"{event} {about}"[:200])

sys.addaudithook(watch)
fields = ("_model_module", "_model_module_version", "_model_name",
          "_view_module", "_view_module_version", "_view_name")
given = (TARGET, "http://127.0.0.1:9/x", [{"name": TARGET, "content": b"x"}])
made = refused = 0
for names, kind in kinds(_registry._registry):
    for trait in kind.class_trait_names(sync=True):
        for value in given:
            state = {trait: value, **dict(zip(fields, names))}
            message = {"metadata": {"version": "2.1.0"}, "buffers": [],
                       "content": {"data": {"state": state}}}
            watching = True
            try:
                Widget.handle_comm_opened(Unheard(target_name="jupyter.widget"), message)
                made += 1
            except Exception:  # any kind may refuse in its own way; counted, and that is enough
                refused += 1
            finally:
                watching = False
watching = CONTROL
if CONTROL:
    open(TARGET).close()
watching = False
print(json.dumps([made, refused, touched]))
"""


def run(*, control: bool) -> tuple[int, int, list[str]]:
    """Make every kind of widget with every trait set to a path or an address."""
    program = f"TARGET, CONTROL = {__file__!r}, {control}\n{PROGRAM}"
    ran = subprocess.run(
        [sys.executable, "-W", "ignore", "-c", program],
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
        check=True,
    )
    made, refused, touched = json.loads(ran.stdout.splitlines()[-1])
    return made, refused, touched


def test_no_widget_a_page_can_make_touches_a_file_or_the_network() -> None:
    made, refused, touched = run(control=False)
    assert made > 500
    assert refused > 0  # values that do not fit are refused, so the traits really were set
    assert touched == []


def test_the_watch_sees_a_file_being_opened() -> None:
    _, _, touched = run(control=True)
    assert len(touched) == 1
    assert "test_page_made_widgets" in touched[0]
