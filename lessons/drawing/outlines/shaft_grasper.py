"""A grasper with a long shaft: small jaws, a flush port, ring handles, and the shaft's inside."""

from __future__ import annotations

from lessons.drawing.geometry import Pose, Region, region
from lessons.drawing.outline import Lumen, Outline, Spot, spot
from lessons.drawing.outlines.ring_handled import ring
from lessons.drawing.steel import EDGE, SHADE, bar, hole, light, line, pin, placed, plate

_JOINT = (112.0, 92.0)
"""Where the jaws turn."""
_PIVOT = (512.0, 106.0)
"""Where the moving handle turns."""
JAW_DEGREES = 27.0
"""Turn of each jaw when opened: wide, for the jaws are short."""
HANDLE_DEGREES = 14.0
"""Turn of the moving handle, away from the fixed one, when the jaws are opened."""
_LUMEN = Lumen(
    "shaft_lumen",
    30.0,
    378.0,
    222.0,
    264.0,
    view=54.0,
    words_x=72.0,
    words_y=198.0,
    leads=((150.0, 104.0), (386.0, 104.0)),
    aside=-84.0,
)


def shaft_grasper(opened: bool) -> Outline:
    """Return the grasper, jaws and handles apart or together."""
    degrees = JAW_DEGREES if opened else 0.0
    upper = Pose(*_JOINT, degrees)
    lower = Pose(*_JOINT, -degrees, mirrored=True)
    moving = Pose(*_PIVOT, HANDLE_DEGREES if opened else 0.0)
    jaw = ((-76.0, -5.5), (-30.0, -8.0))
    shaft = Region(((146.0, 92.0), (392.0, 92.0)), 6.0)
    handle = (
        region(moving, ((-6.0, 30.0), (-28.0, 84.0)), 6.0),
        Region(((540.0, 110.0), (566.0, 150.0), (584.0, 178.0)), 8.0),
    )
    return Outline(
        steel=(
            placed(_jaw(), lower.transform()) + placed(_jaw(), upper.transform())
            + _shaft() + placed(_moving(), moving.transform()) + _body() + _port()
        ),
        over=pin(*_JOINT, 5) + pin(*_PIVOT, 6),
        regions={
            "jaw_left": (region(lower, jaw, 4.0),),
            "jaw_right": (region(upper, jaw, 4.0),),
            "jaw_joint": (Region(((104.0, 92.0), (128.0, 92.0)), 8.0),),
            "shaft_outside": (shaft,),
            "flush_port": (Region(((428.0, 62.0), (428.0, 36.0)), 8.0),),
            "handle": handle,
        },
        spots=(
            spot("jaw_left", lower, -56, -7, 22.0),
            spot("jaw_right", upper, -56, -7, 22.0),
            Spot("jaw_joint", 116.0, 92.0, 22.0),
            Spot("shaft_outside", 262.0, 92.0, 26.0),
            Spot("flush_port", 428.0, 44.0, 24.0),
            Spot("handle", 566.0, 150.0, 28.0),
        ),
        wet=(shaft, *handle),
        lumens=(_LUMEN,),
        joints=(_JOINT, _PIVOT),
    )  # fmt: skip


def _jaw() -> str:
    body = plate("M4 -9C-20 -13 -54 -13 -80 -7Q-88 -4 -84 -.6L-20 -.6L4 3Z")
    window = f'<path d="M-64 -8.6L-32 -9.6L-32 -5L-64 -4.6Z" fill="{SHADE}" stroke="{EDGE}"/>'
    teeth = line("".join(f"M{x} -.8l0 -3.6" for x in range(-80, -18, 5)), width=1.2)
    return body + window + teeth + light("M0 -6.4C-20 -10 -54 -10.6 -76 -6", width=1.4)


def _shaft() -> str:
    clevis = plate("M104 83L140 83L140 101L104 101Q98 92 104 83Z", fill=SHADE)
    return bar("M142 92L404 92", 15) + clevis


def _body() -> str:
    """Return the turning wheel, the housing behind it and the fixed handle with its ring."""
    fixed = ring(596, 206, 25, 32) + bar("M528 98C548 112 560 150 578 176", 16)
    wheel = plate("M396 66L412 62L424 62L430 66L430 118L424 122L412 122L396 118Z") + line(
        "M402 72L424 70M402 82L426 81M402 92L426 92M402 102L426 103M402 112L424 114",
        width=2.2, colour=SHADE,
    )  # fmt: skip
    housing = plate("M430 78L506 74Q538 74 544 92L536 116L504 124L430 106Z")
    return fixed + housing + wheel + light("M436 82L506 79", width=2.4)


def _moving() -> str:
    return ring(-46, 112, 25, 30) + bar("M0 0C-6 24 -14 52 -30 86", 13)


def _port() -> str:
    """Return the port where water is flushed in: a threaded stub with its own opening."""
    return (
        plate("M420 64L420 40L416 40L416 28L440 28L440 40L436 40L436 64Z")
        + line("M417 32l22 2M417 36l22 2", width=1.5, colour=SHADE)
        + hole(428, 28, 8, 3)
    )
