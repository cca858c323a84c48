"""A battery drill that must not be immersed, its battery taken out: contacts to be seen."""

from __future__ import annotations

from lessons.drawing.geometry import Region
from lessons.drawing.outline import Outline, Spot
from lessons.drawing.steel import EDGE, SHADE, SHINE, STEEL, hole, light, line, plate

_COPPER = "#cf9f4a"
"""Colour of the contacts: they are not steel, and are what water harms first."""


def powered_drill(opened: bool) -> Outline:
    """Return the drill; it has no joint, so opened or not looks the same."""
    housing = tuple(
        Region(((186.0, y), (430.0, y - 1)), 11.0, broad=True) for y in (68.0, 92.0, 116.0)
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
        dry=(404.0, 84.0),
    )


def _housing() -> str:
    """Return the motor's body with its vents, and the gear case before it."""
    body = plate("M228 44L436 40Q474 42 484 68L486 112Q478 140 446 142L228 138Z") + line(
        "M236 114L478 118", width=1.2, colour=SHADE
    )
    gears = plate("M172 58Q176 50 188 48L232 42L232 140L188 136Q176 134 172 126Z", fill=SHADE)
    vents = line("M438 60l0 40M449 61l0 38M460 64l0 32", width=3.4, colour=SHADE)
    switch = plate("M352 116L388 116L388 130L352 130Z", fill=SHADE) + line(
        "M360 123l-5 0l3 -3m-3 3l3 3M380 123l5 0l-3 -3m3 3l-3 3", width=1.3
    )
    screws = "".join(
        f'<circle cx="{x}" cy="{y}" r="4" fill="{SHADE}" stroke="{EDGE}" stroke-width="1"/>'
        for x, y in ((248, 127), (430, 131))
    )
    return (
        body + gears + vents + switch + screws + light("M240 49L432 46", width=4)
        + light("M186 56L224 50", width=3) + line("M200 50L200 136", width=1.2)
    )  # fmt: skip


def _chuck() -> str:
    """Return a drill chuck: collar with key teeth, sleeve with key hole, three jaws."""
    collar = plate("M136 58L174 54L174 130L136 126Z", fill=STEEL)
    sleeve = plate("M94 66L136 60L136 124L94 118Z", fill=SHADE)
    nose = plate("M62 82L94 70L94 114L62 102Z")
    teeth = line("".join(f"M138 {y}l9 0" for y in range(64, 124, 6)), width=2)
    knurl = line(
        "".join(f"M{x} {63 - (x - 150) * 0.1:.1f}L{x} {122 + (x - 150) * 0.1:.1f}"
                for x in range(152, 172, 5)), width=1.4, colour=SHADE,
    )  # fmt: skip
    jaws = line("M64 87L92 82M64 97L92 102", width=1.6) + plate(
        "M46 88L64 86L64 98L46 96Z", fill=SHADE
    ) + line("M46 92L64 92", width=1.6)  # fmt: skip
    key = hole(114, 92, 8, 9) + ('<ellipse cx="114" cy="92" rx="4" ry="5" fill="#1f2d38"/>')
    return (
        collar
        + nose
        + jaws
        + sleeve
        + knurl
        + teeth
        + key
        + (light("M98 73L132 68", width=2.6) + light("M140 63L170 60", width=2.2))
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
