"""A bone rongeur with two joints: cups, links crossing at both joints, leaf springs."""

from __future__ import annotations

from lessons.drawing.geometry import Pose, Region, region
from lessons.drawing.outline import Outline, Spot, spot
from lessons.drawing.steel import EDGE, SHADE, bar, light, line, pin, placed, plate

OPEN_DEGREES = 10.0
"""Turn of each half about its joint when opened."""

_FRONT = (178.0, 158.0)
"""Where the front joint is drawn: cups and handles opened stay inside 640 by 360."""
_TAIL = (62.0, 24.0)
"""Where the link pin sits on a jaw, from the front joint, and mirrored on a handle."""
_SPRING = 92.0
"""How far behind the rear joint the leaf springs meet."""


def rongeur(opened: bool) -> Outline:
    """Return the rongeur, its handles apart and cups open, or shut."""
    degrees = OPEN_DEGREES if opened else 0.0
    rear = (_FRONT[0] + 2 * Pose(0.0, 0.0, degrees).at(*_TAIL)[0], _FRONT[1])
    jaw_up = Pose(*_FRONT, degrees)
    jaw_down = Pose(*_FRONT, -degrees, mirrored=True)
    # Handles turn the other way about the rear joint, as in pliers.
    handle_up = Pose(*rear, -degrees)
    handle_down = Pose(*rear, degrees, mirrored=True)
    steel = (
        _springs(handle_up, handle_down)
        + placed(_handle(), handle_down.transform())
        + placed(_jaw(), jaw_down.transform())
        + placed(_handle(), handle_up.transform())
        + placed(_jaw(), jaw_up.transform())
    )
    lower, upper = jaw_down.at(*_TAIL), jaw_up.at(*_TAIL)
    over = (
        pin(*_FRONT, 7) + pin(round(rear[0], 1), rear[1], 7)
        + pin(round(lower[0], 1), round(lower[1], 1), 4)
        + pin(round(upper[0], 1), round(upper[1], 1), 4)
    )  # fmt: skip
    regions = _regions(jaw_up, jaw_down, handle_up, handle_down)
    return Outline(
        steel=steel,
        over=over,
        regions=regions,
        spots=_spots(jaw_up, jaw_down, handle_up, handle_down),
        wet=(*regions["handle_left"], *regions["handle_right"]),
        joints=(_FRONT, rear),
    )


def _jaw() -> str:
    """Return the upper jaw with its cup, running through the front joint to the lower link pin."""
    arm = "M-14 -8C10 2 36 14 62 24"
    body = (
        "M10 -18C-24 -26 -66 -30 -104 -26C-130 -23 -148 -12 -152 -1"
        "L-146 -1C-134 -9 -118 -12 -102 -12C-70 -12 -40 -6 -20 4C-6 12 12 12 18 2Z"
    )
    cup = (
        f'<path d="M-149 -2C-138 -15 -122 -20 -106 -19C-100 -18 -100 -13 -104 -12'
        f'C-120 -12 -136 -9 -146 -2Z" fill="{SHADE}" stroke="{EDGE}" stroke-width="1.2"/>'
    )
    return bar(arm, 16) + plate(body) + cup + light("M4 -13C-26 -20 -62 -25 -98 -22")


def _handle() -> str:
    """Return the upper handle, running through the rear joint to the lower link pin."""
    return bar("M-62 24C-38 14 -16 6 0 0C30 -14 60 -40 110 -46S230 -50 292 -34", 17) + line(
        "M150 -50l0 7M164 -51l0 7M178 -51l0 7M192 -51l0 7M206 -51l0 7M220 -50l0 7M234 -48l0 7",
        width=1.4,
    )


def _springs(up: Pose, down: Pose) -> str:
    """Return two leaf springs, bowed towards each other and meeting in the middle."""
    drawn = ""
    for pose in (up, down):
        ax, ay = pose.at(176, -42)
        cx, cy = pose.x + _SPRING, pose.y
        drawn += bar(f"M{ax:.1f} {ay:.1f}Q{ax - 60:.1f} {ay:.1f} {cx:g} {cy:g}", 5)
    return drawn + pin(round(up.x + _SPRING, 1), up.y, 4)


def _regions(
    jaw_up: Pose, jaw_down: Pose, handle_up: Pose, handle_down: Pose
) -> dict[str, tuple[Region, ...]]:
    cup = ((-138.0, -12.0), (-120.0, -17.0), (-104.0, -18.0))
    handle = ((70.0, -36.0), (110.0, -46.0), (180.0, -49.0), (270.0, -39.0))

    def leaf(pose: Pose) -> Region:
        ax, ay = pose.at(170, -40)
        middle = (ax - 46, (ay + pose.y) / 2 + (ay - pose.y) * 0.22)
        return Region(((ax - 6, ay), middle, (pose.x + _SPRING + 2, pose.y)), 3.5)

    return {
        "cup_left": (region(jaw_down, cup, 6.0),),
        "cup_right": (region(jaw_up, cup, 6.0),),
        "joint_front": (Region(((_FRONT[0] - 9, _FRONT[1]), (_FRONT[0] + 7, _FRONT[1])), 12.0),),
        "joint_rear": (
            Region(((handle_up.x - 12, handle_up.y), (handle_up.x + 12, handle_up.y)), 10.0),
        ),
        "spring": (leaf(handle_up), leaf(handle_down)),
        "handle_left": (region(handle_down, handle, 8.0),),
        "handle_right": (region(handle_up, handle, 8.0),),
    }


def _spots(jaw_up: Pose, jaw_down: Pose, handle_up: Pose, handle_down: Pose) -> tuple[Spot, ...]:
    return (
        spot("cup_left", jaw_down, -122, -16, 22.0),
        spot("cup_right", jaw_up, -122, -16, 22.0),
        Spot("joint_front", _FRONT[0], _FRONT[1], 24.0),
        Spot("joint_rear", round(handle_up.x, 1), handle_up.y, 24.0),
        Spot("spring", round(handle_up.x + _SPRING + 4, 1), handle_up.y, 24.0),
        spot("handle_left", handle_down, 180, -49, 26.0),
        spot("handle_right", handle_up, 180, -49, 26.0),
    )
