"""Ring-handled instruments with a box lock: artery clamp and needle holder.

The two halves are one shape and its mirror image. In a half's own coordinates
the pin is at the origin, the jaws point to the left and the rings to the right.
"""

from __future__ import annotations

from dataclasses import dataclass

from lessons.drawing.geometry import Pose, Region, region
from lessons.drawing.outline import Outline, Spot, spot
from lessons.drawing.steel import EDGE, SHADE, bar, light, line, pin, placed, plate


@dataclass(frozen=True, slots=True)
class _Form:
    pin_x: float
    jaw: float
    jaw_height: float
    shank: float
    jaws: tuple[str, str]
    insert: bool
    open_degrees: float
    """Half the angle between the halves when opened: as wide as the picture allows."""


_PIN_Y = 156.0
"""Height of the box lock in the picture: halves opened to either side stay inside 0 to 360."""


def clamp(opened: bool) -> Outline:
    """Return the artery clamp: long jaws with cross teeth."""
    return _outline(
        _Form(216.0, 180.0, 19.0, 318.0, ("jaw_left", "jaw_right"), False, 11.0), opened
    )


def needle_holder(opened: bool) -> Outline:
    """Return the needle holder: short stout jaws with crosshatched inserts."""
    return _outline(
        _Form(150.0, 112.0, 22.0, 384.0, ("insert_left", "insert_right"), True, 9.0), opened
    )


def _outline(form: _Form, opened: bool) -> Outline:
    degrees = form.open_degrees if opened else 0.0
    first = Pose(form.pin_x, _PIN_Y, degrees)
    second = Pose(form.pin_x, _PIN_Y, -degrees, mirrored=True)
    steel = (
        placed(_half(form, ratchet_at=11.0), second.transform())
        + placed(_half(form, ratchet_at=0.0), first.transform())
        + _box(form, opened)
    )
    regions = _regions(form, first, second)
    return Outline(
        steel=steel,
        over=pin(form.pin_x, _PIN_Y, 5),
        regions=regions,
        spots=_spots(form, first, second),
        wet=(
            *regions["shank_left"], *regions["shank_right"],
            *regions[form.jaws[0]], *regions[form.jaws[1]],
        ),
        joints=((form.pin_x, _PIN_Y),),
    )  # fmt: skip


def _half(form: _Form, ratchet_at: float) -> str:
    end, ring_x = form.shank, form.shank + 30
    shank = (
        f"M14 3C{end * 0.22:.0f} 5 {end * 0.5:.0f} 9 {end * 0.74:.0f} 17"
        f"S{end - 8:.0f} 27 {end + 6:.0f} 34"
    )
    ratchet_x = end * 0.8 + ratchet_at
    return (
        _ratchet(ratchet_x, leftward=ratchet_at > 0)
        + ring(ring_x, 47, 30, 25)
        + bar(shank, 14)
        + _jaw(form)
    )


def ring(x: float, y: float, wide: float, high: float) -> str:
    """Return a finger ring about a middle, with its two radii."""
    path = (
        f"M{x - wide:g} {y:g}a{wide:g} {high:g} 0 1 1 {2 * wide:g} 0"
        f"a{wide:g} {high:g} 0 1 1 {-2 * wide:g} 0z"
    )
    return bar(path, 10, shine=-0.24)


def _ratchet(x: float, *, leftward: bool) -> str:
    """Return a bar across the gap, with teeth on the side that meets the other one."""
    side = x if leftward else x + 11
    step = -2.6 if leftward else 2.6
    teeth = "".join(f"l{step:g} 1.4l{-step:g} 2.6" for _ in range(5))
    return plate(f"M{x:g} 22L{x:g} -9L{x + 11:g} -9L{x + 11:g} 22Z", fill=SHADE) + line(
        f"M{side:g} -8{teeth}", width=1.6
    )


def _jaw(form: _Form) -> str:
    tip, high = form.jaw, form.jaw_height
    body = (
        f"M-10 {-high:g}C{-tip * 0.4:.0f} {-high:g} {-tip * 0.75:.0f} {-high * 0.85:.1f} "
        f"{-tip:g} {-high * 0.42:.1f}Q{-tip - 5:g} -1 {-tip:g} -.6L-10 -.6Z"
    )
    parts = plate(body) + light(
        f"M-22 {-high + 3.5:g}C{-tip * 0.4:.0f} {-high + 3.5:g} {-tip * 0.75:.0f} "
        f"{-high * 0.85 + 3:.1f} {-tip + 8:g} {-high * 0.42 + 2.2:.1f}"
    )
    if form.insert:
        start, stop = -tip + 2, -34.0
        parts += plate(f"M{start:g} -6.5L{stop:g} -8L{stop:g} -.8L{start:g} -.8Z", fill="#d9c48a")
        cross = "".join(
            f"M{x:.1f} -1l5 -5.5M{x + 5:.1f} -1l-5 -5.5" for x in _steps(start + 2, stop - 7, 6.0)
        )
        return parts + line(cross, width=0.9)
    teeth = "".join(f"M{x:.1f} -.8l0 -4.6" for x in _steps(-tip + 4, -30, 4.5))
    return parts + line(teeth, width=1.3)


def _steps(start: float, stop: float, step: float) -> list[float]:
    return [start + step * i for i in range(int((stop - start) / step) + 1)]


def _box(form: _Form, opened: bool) -> str:
    """Return the box of the lock: one half is let through the other."""
    x, y = form.pin_x, _PIN_Y
    body = plate(
        f"M{x - 30:g} {y - 15:g}L{x - 18:g} {y - 22:g}L{x + 20:g} {y - 22:g}L{x + 35:g} {y - 12:g}"
        f"L{x + 35:g} {y + 12:g}L{x + 20:g} {y + 22:g}L{x - 18:g} {y + 22:g}L{x - 30:g} {y + 15:g}Z"
    )
    shine = light(f"M{x - 15:g} {y - 18:g}L{x + 18:g} {y - 18:g}")
    if not opened:
        return body + shine + line(f"M{x - 29:g} {y:g}L{x + 34:g} {y:g}", width=1.4)
    slot = (
        f'<path d="M{x - 26:g} {y - 12:g}L{x + 30:g} {y - 9:g}L{x + 30:g} {y + 9:g}'
        f'L{x - 26:g} {y + 12:g}Z" fill="{SHADE}" stroke="{EDGE}" stroke-width="1.2"/>'
    )
    return body + shine + slot


def _regions(form: _Form, first: Pose, second: Pose) -> dict[str, tuple[Region, ...]]:
    tip, end = form.jaw, form.shank
    deep = form.jaw_height * 0.42
    jaw = ((-tip + 12, -deep * 0.75), (-34.0, -deep * 1.1))
    shank = (
        (42.0, 5.0), (end * 0.4, 8.5), (end * 0.62, 13.0), (end * 0.74, 18.0),
    )  # fmt: skip
    ring_x, ring_y = end + 31, 47.0
    ring = tuple(
        (ring_x + dx, ring_y + dy)
        for dx, dy in ((-20, -18), (0, -25), (20, -15), (29, 3), (20, 19), (0, 25), (-20, 18))
    )
    ratchet = ((end * 0.8 + 5, -6.0), (end * 0.8 + 5, 11.0))
    # The first half's jaw is the upper one, its shank and ring are the lower ones.
    left, right = form.jaws
    middle = Pose(form.pin_x, _PIN_Y)
    return {
        left: (region(second, jaw, deep),),
        right: (region(first, jaw, deep),),
        "box_lock": (region(middle, ((-18.0, 0.0), (22.0, 0.0)), 15.0),),
        "ratchet": (region(first, ratchet, 4.5),),
        "shank_left": (region(first, shank, 6.0),),
        "shank_right": (region(second, shank, 6.0),),
        "ring_left": (region(first, ring, 4.6),),
        "ring_right": (region(second, ring, 4.6),),
    }


def _spots(form: _Form, first: Pose, second: Pose) -> tuple[Spot, ...]:
    tip, end = form.jaw, form.shank
    left, right = form.jaws

    jaw_x = -tip * 0.83
    return (
        spot(left, second, jaw_x, -8, 22.0),
        spot(right, first, jaw_x, -8, 22.0),
        spot("box_lock", Pose(form.pin_x, _PIN_Y), 2, 0, 24.0),
        spot("ratchet", first, end * 0.8 + 5, 6, 22.0),
        spot("shank_left", first, end * 0.42, 9, 24.0),
        spot("shank_right", second, end * 0.42, 9, 24.0),
        spot("ring_left", first, end + 31, 47, 30.0),
        spot("ring_right", second, end + 31, 47, 30.0),
    )
