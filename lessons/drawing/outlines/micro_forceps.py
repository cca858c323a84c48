"""Micro forceps: two sprung arms joined at the rear, fine tips, a guide pin between the arms."""

from __future__ import annotations

from lessons.drawing.geometry import Pose, Region, region
from lessons.drawing.outline import Outline, spot
from lessons.drawing.steel import bar, hole, light, line, pin, placed, plate

_REAR = (606.0, 152.0)
"""Where the arms are joined; the tips then end inside the picture."""
_TIP = -566.0
"""Where the tips end, from the joint."""
_GUIDE = -372.0
"""Where the guide pin stands, from the joint."""
OPEN_DEGREES = 5.0
"""Turn of each arm when the forceps are opened; unturned, the tips just meet."""


def micro_forceps(opened: bool) -> Outline:
    """Return the micro forceps, tips apart or together."""
    degrees = OPEN_DEGREES if opened else 0.0
    upper = Pose(*_REAR, degrees)
    lower = Pose(*_REAR, -degrees, mirrored=True)
    tip = ((-560.0, -3.0), (-500.0, -7.5), (-470.0, -10.0))
    arm = ((-330.0, -27.0), (-220.0, -33.0), (-110.0, -25.0), (-60.0, -14.0))
    foot, top = lower.at(_GUIDE, -20), lower.at(_GUIDE, 42)
    regions: dict[str, tuple[Region, ...]] = {
        "tip_left": (region(lower, tip, 3.4),),
        "tip_right": (region(upper, tip, 3.4),),
        "arm_left": (region(lower, arm, 7.0),),
        "arm_right": (region(upper, arm, 7.0),),
        "guide_pin": (Region((top, foot), 5.0),),
        "rear_joint": (Region(((_REAR[0] - 34, _REAR[1]), (_REAR[0] + 8, _REAR[1])), 10.0),),
    }
    return Outline(
        steel=(
            placed(_arm(), lower.transform())
            + _guide(foot, top)
            + placed(_arm() + hole(_GUIDE, -18.5, 4.5, 2.6), upper.transform())
            + _rear()
        ),
        over="",
        regions=regions,
        spots=(
            spot("tip_left", lower, -530, -6, 22.0),
            spot("tip_right", upper, -530, -6, 22.0),
            spot("arm_left", lower, -220, -33, 24.0),
            spot("arm_right", upper, -220, -33, 24.0),
            spot("guide_pin", lower, _GUIDE, 12, 22.0),
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


def _guide(foot: tuple[float, float], top: tuple[float, float]) -> str:
    """Return the pin that keeps the arms in line: fixed in one arm, it enters the other."""
    (ax, ay), (bx, by) = foot, top
    return bar(f"M{ax:.1f} {ay:.1f}L{bx:.1f} {by:.1f}", 6, shine=0.0) + pin(
        round(ax, 1), round(ay, 1), 5
    )


def _rear() -> str:
    """Return the tail in which both arms are welded together."""
    outer = "M-66 -19C-40 -10 -8 -10 10 -9Q20 -6 20 0Q20 6 10 9C-8 10 -40 10 -66 19"
    inner = "C-56 8 -44 3 -34 0C-44 -3 -56 -8 -66 -19Z"
    return placed(
        plate(outer + inner) + line("M-32 0L14 0", width=1.4) + light("M-44 -8C-30 -6 0 -6 12 -5"),
        Pose(*_REAR).transform(),
    )
