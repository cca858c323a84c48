"""Micro forceps: two sprung arms joined at the rear, fine tips, a guide pin between the arms."""

from __future__ import annotations

from lessons.drawing.geometry import Pose, Region, region
from lessons.drawing.outline import Outline, spot
from lessons.drawing.steel import SHADE, bar, light, line, pin, placed, plate

_REAR = (606.0, 152.0)
"""Where the arms are joined; the tips then end inside the picture."""
_TIP = -566.0
"""Where the tips end, from the joint."""
_GUIDE = -372.0
"""Where the guide pin stands, from the joint."""
OPEN_DEGREES = 6.0
"""Turn of each arm when the forceps are opened."""
SHUT_DEGREES = 0.4
"""Turn of each arm when the tips just meet."""


def micro_forceps(opened: bool) -> Outline:
    """Return the micro forceps, tips apart or together."""
    degrees = OPEN_DEGREES if opened else SHUT_DEGREES
    upper = Pose(*_REAR, degrees)
    lower = Pose(*_REAR, -degrees, mirrored=True)
    tip = ((-560.0, -3.0), (-500.0, -7.5), (-470.0, -10.0))
    arm = ((-330.0, -27.0), (-220.0, -33.0), (-110.0, -25.0), (-60.0, -14.0))
    ax, ay = upper.at(_GUIDE, -20)
    bx, by = lower.at(_GUIDE, -20)
    regions: dict[str, tuple[Region, ...]] = {
        "tip_left": (region(lower, tip, 3.4),),
        "tip_right": (region(upper, tip, 3.4),),
        "arm_left": (region(lower, arm, 7.0),),
        "arm_right": (region(upper, arm, 7.0),),
        "guide_pin": (Region(((ax, ay), (bx, by)), 5.5),),
        "rear_joint": (Region(((_REAR[0] - 34, _REAR[1]), (_REAR[0] + 8, _REAR[1])), 10.0),),
    }
    return Outline(
        steel=(
            placed(_arm(), lower.transform())
            + _guide(ax, ay, bx, by)
            + placed(_arm(), upper.transform())
        ),
        over=_rear(),
        regions=regions,
        spots=(
            spot("tip_left", lower, -530, -6, 22.0),
            spot("tip_right", upper, -530, -6, 22.0),
            spot("arm_left", lower, -220, -33, 24.0),
            spot("arm_right", upper, -220, -33, 24.0),
            spot("guide_pin", Pose((ax + bx) / 2, (ay + by) / 2), 0, 0, 22.0),
            spot("rear_joint", Pose(*_REAR), -12, 0, 24.0),
        ),
        wet=(*regions["arm_left"], *regions["arm_right"]),
        joints=((_REAR[0] - 10, _REAR[1]),),
    )


def _arm() -> str:
    """Return the upper arm: a broad sprung strip that ends in a fine, slightly bent tip."""
    body = plate(
        f"M10 -2C-30 -8 -70 -24 -120 -34C-170 -43 -250 -45 -310 -37C-360 -31 -420 -20 -480 -12"
        f"C-520 -8 -550 -5 {_TIP:g} -1.6Q{_TIP - 3:g} -.4 {_TIP + 3:g} -.4"
        f"L-500 -2.4C-430 -8 -370 -15 -310 -22C-250 -29 -170 -28 -120 -20C-80 -13 -40 -1 0 3Z"
    )
    # Ribs under the fingers; their like is on nearly every fine forceps.
    ribs = line(
        "".join(f"M{x} {-41 + abs(x + 220) * 0.04:.1f}l-4 12" for x in range(-300, -139, 9)),
        width=1.5,
    )
    teeth = line("".join(f"M{x} -.8l0 -2.6" for x in range(-560, -518, 4)), width=0.9)
    return (
        body
        + light("M-100 -27C-160 -40 -250 -42 -320 -33C-370 -26 -430 -17 -490 -9")
        + (ribs + teeth)
    )


def _guide(ax: float, ay: float, bx: float, by: float) -> str:
    """Return the pin that keeps the arms in line: fixed in one arm, free in the other."""
    return bar(f"M{bx:.1f} {by:.1f}L{ax:.1f} {ay - 12:.1f}", 6, shine=0.0) + pin(
        round(bx, 1), round(by, 1), 5
    )


def _rear() -> str:
    x, y = _REAR
    return plate(
        f"M{x - 40:g} {y - 13:g}Q{x + 4:g} {y - 17:g} {x + 16:g} {y - 8:g}"
        f"L{x + 16:g} {y + 8:g}Q{x + 4:g} {y + 17:g} {x - 40:g} {y + 13:g}Z",
        fill="none",
    ) + line(f"M{x - 40:g} {y:g}L{x + 12:g} {y:g}", width=1.4, colour=SHADE)
