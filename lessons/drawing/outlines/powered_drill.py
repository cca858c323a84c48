"""A battery drill that must not be immersed, its battery taken out: contacts to be seen."""

from __future__ import annotations

from lessons.drawing.geometry import Region
from lessons.drawing.outline import Outline, Spot
from lessons.drawing.steel import EDGE, SHADE, SHINE, hole, light, line, plate

_COPPER = "#cf9f4a"
"""Colour of the contacts: they are not steel, and are what water harms first."""


def powered_drill(opened: bool) -> Outline:
    """Return the drill; it has no joint, so opened or not looks the same."""
    housing = tuple(
        Region(((190.0, y), (430.0, y - 1)), 11.0, broad=True) for y in (68.0, 92.0, 116.0)
    )
    grip = tuple(Region(((x, 156.0), (x + 32, 244.0)), 10.0, broad=True) for x in (392.0, 416.0))
    return Outline(
        steel=_grip() + _housing() + _chuck() + _trigger() + _contacts(),
        over="",
        regions={
            "housing": housing,
            "grip": grip,
            "trigger": (
                Region(((340.0, 154.0), (370.0, 158.0)), 9.0),
                Region(((358.0, 184.0), (378.0, 186.0)), 6.0),
            ),
            "chuck": (
                Region(((78.0, 92.0), (104.0, 92.0)), 9.0),
                Region(((108.0, 92.0), (164.0, 92.0)), 18.0),
            ),
            "battery_contacts": (Region(((410.0, 276.0), (474.0, 272.0)), 6.0),),
        },
        spots=(
            Spot("housing", 300.0, 92.0, 30.0),
            Spot("grip", 424.0, 204.0, 28.0),
            Spot("trigger", 352.0, 166.0, 24.0),
            Spot("chuck", 122.0, 92.0, 28.0),
            Spot("battery_contacts", 442.0, 274.0, 24.0),
        ),
        wet=(*housing, *grip),
        dry=(232.0, 92.0),
    )


def _housing() -> str:
    body = plate(
        "M172 54Q178 46 192 46L436 42Q470 42 478 66L480 116Q474 140 446 142L192 138"
        "Q178 138 172 130Z"
    )
    seam = line("M186 112L472 116", width=1.2, colour=SHADE)
    vents = line("M440 62l0 34M450 63l0 33M460 66l0 28", width=3, colour=SHADE)
    screws = "".join(
        f'<circle cx="{x}" cy="{y}" r="4" fill="{SHADE}" stroke="{EDGE}" stroke-width="1"/>'
        for x, y in ((196, 124), (300, 128), (420, 128))
    )
    return body + seam + vents + screws + light("M190 52L430 48", width=4)


def _chuck() -> str:
    """Return the collar with its key teeth, three jaws and the open nose."""
    collar = plate("M134 60L172 56L172 128L134 124Z", fill=SHADE)
    sleeve = plate("M92 70L134 62L134 122L92 114Z")
    nose = plate("M64 84L92 76L92 108L64 100Z")
    teeth = line("".join(f"M134 {y}l10 0" for y in range(66, 122, 7)), width=1.8)
    ribs = line("".join(f"M{x} {74 - (x - 96) * 0.2:.1f}L{x} {110 + (x - 96) * 0.2:.1f}"
                        for x in range(100, 131, 6)), width=1.5, colour=SHADE)  # fmt: skip
    jaws = line("M66 92L92 92M70 87L92 84M70 97L92 100", width=1.2)
    return (
        collar
        + nose
        + sleeve
        + ribs
        + teeth
        + jaws
        + hole(65, 92, 2.6, 6)
        + light("M96 75L132 68", width=2.6)
    )


def _trigger() -> str:
    first = plate("M332 141L372 141L378 170Q360 174 342 168Q334 156 332 141Z", fill=SHADE)
    second = plate("M350 173L380 173L386 196Q370 200 356 194Q350 184 350 173Z", fill=SHADE)
    return first + second + line("M340 150l26 0M343 159l26 0M358 184l20 0", width=1.4)


def _grip() -> str:
    body = plate(
        "M362 134L450 134C452 170 466 212 486 250L488 262L398 268L394 252C388 220 372 170 362 134Z"
    )
    ribs = line(
        "".join(
            f"M{376 + i * 4.2:.1f} {160 + i * 14}l{70 + i * 1.2:.1f} -6" for i in range(7)
        ),
        width=2, colour=SHADE,
    )  # fmt: skip
    return body + ribs + light("M368 140C378 176 390 214 398 246", width=2.6)


def _contacts() -> str:
    """Return the open foot of the grip, with three contact strips: the battery is out."""
    foot = plate("M390 264L494 257L498 283L394 290Z", fill=SHADE) + (
        f'<path d="M402 270L486 264L488 278L404 284Z" fill="{EDGE}"/>'
    )
    strips = "".join(
        f'<path d="M{x} {y}l12 -.9l1 10l-12 .9z" fill="{_COPPER}" stroke="{SHINE}" '
        f'stroke-width=".8"/>'
        for x, y in ((414, 272), (438, 270.4), (462, 268.8))
    )
    return foot + strips
