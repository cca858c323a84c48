"""Tools that cut bone: a cannulated reamer, and a rasp shown from both sides."""

from __future__ import annotations

from lessons.drawing.geometry import Region
from lessons.drawing.outline import Lumen, Note, Outline, Spot
from lessons.drawing.steel import EDGE, SHADE, SHINE, bar, hole, light, line, plate

_CANNULATION = Lumen(
    "cannulation",
    86.0,
    566.0,
    226.0,
    262.0,
    view=54.0,
    words_x=190.0,
    words_y=202.0,
    leads=((70.0, 142.0), (560.0, 116.0)),
)
"""The reamer cut open, drawn wider than true: soil inside must be seen at arm's length."""


def reamer(opened: bool) -> Outline:
    """Return the reamer; it has no joint, so opened or not looks the same."""
    flutes = tuple(
        Region(((x, 126.0), (x + 14, 100.0), (x + 20, 74.0)), 5.0)
        for x in (50.0, 74.0, 98.0, 120.0)
    )
    shaft = Region(((160.0, 99.0), (468.0, 99.0)), 7.0)
    return Outline(
        steel=_reamer_shaft() + _reamer_head() + _coupling(),
        over="",
        regions={
            "flutes": flutes,
            "shaft": (shaft,),
            "coupling": (Region(((504.0, 99.0), (592.0, 99.0)), 12.0),),
        },
        spots=(
            Spot("flutes", 90.0, 99.0, 30.0),
            Spot("shaft", 314.0, 99.0, 26.0),
            Spot("coupling", 550.0, 99.0, 28.0),
        ),
        wet=(shaft, Region(((504.0, 99.0), (592.0, 99.0)), 12.0)),
        lumens=(_CANNULATION,),
    )  # fmt: skip


def _reamer_shaft() -> str:
    return bar("M140 99L506 99", 18) + line(
        "M440 91l0 16M446 91l0 16M452 91l0 16", width=1.4, colour=SHADE
    )


def _reamer_head() -> str:
    """Return a barrel of cutting edges that wind round it, with the bore in its nose."""
    body = plate(
        "M34 99C34 84 44 72 60 66L126 60C142 62 150 80 150 99C150 118 142 136 126 138"
        "L60 132C44 126 34 114 34 99Z"
    )
    flutes = "".join(
        f'<path d="M{x} {low}C{x + 8} 116 {x + 18} 92 {x + 18} {top}L{x + 28} {top - 1}'
        f'C{x + 30} 92 {x + 22} 116 {x + 12} {low + 1}Z" fill="{SHADE}" stroke="{EDGE}" '
        f'stroke-width="1.1"/>'
        + line(f"M{x + 14} {low}C{x + 24} 116 {x + 32} 92 {x + 31} {top}", width=2, colour=SHINE)
        for x, low, top in ((46, 128, 67), (70, 133, 65), (94, 135, 63))
    )
    return body + flutes + hole(37, 99, 4, 9)


def _coupling() -> str:
    """Return the end that the drive takes: a groove, a flat and the open bore."""
    return (
        plate("M496 84L520 84L520 114L496 114Z", fill=SHADE)
        + plate("M520 80L548 80L548 118L520 118Z")
        + plate("M548 88L558 88L558 110L548 110Z", fill=SHADE)
        + plate("M558 82L596 82L602 88L602 110L596 116L558 116Z")
        + line("M566 104L598 104M566 94L598 94", width=1.2)
        + light("M524 85L545 85M562 87L594 87", width=2.6)
        + hole(601, 99, 3.4, 7)
    )


def rasp(opened: bool) -> Outline:
    """Return the rasp, and under it its head from the other side."""
    grip = Region(((392.0, 92.0), (540.0, 92.0)), 17.0, broad=True)
    neck = Region(((268.0, 92.0), (360.0, 92.0)), 7.0)
    return Outline(
        steel=_rasp_head(92.0) + _neck() + _grip() + _strike() + _rasp_back(),
        over="",
        regions={
            "teeth_front": (Region(((56.0, 92.0), (228.0, 92.0)), 19.0, broad=True),),
            "teeth_back": (Region(((56.0, 232.0), (228.0, 232.0)), 19.0, broad=True),),
            "neck": (neck,),
            "grip": (grip,),
            "strike_plate": (Region(((598.0, 56.0), (598.0, 128.0)), 10.0),),
        },
        spots=(
            Spot("teeth_front", 142.0, 92.0, 30.0),
            Spot("teeth_back", 142.0, 232.0, 30.0),
            Spot("neck", 312.0, 92.0, 26.0),
            Spot("grip", 466.0, 92.0, 30.0),
            Spot("strike_plate", 598.0, 92.0, 26.0),
        ),
        wet=(neck, grip),
        notes=(Note("back", 300.0, 237.0),),
    )


def _rasp_head(y: float) -> str:
    """Return the toothed head: rows of teeth, each a chisel edge, on a body that tapers."""
    body = plate(
        f"M34 {y:g}C36 {y - 15:g} 48 {y - 19:g} 70 {y - 21:g}L236 {y - 30:g}Q250 {y - 30:g} 250 "
        f"{y - 16:g}L250 {y + 16:g}Q250 {y + 30:g} 236 {y + 30:g}L70 {y + 21:g}"
        f"C48 {y + 19:g} 36 {y + 15:g} 34 {y:g}Z"
    )
    shade, edge = "", ""
    for number, x in enumerate(range(48, 242, 8)):
        half = 12.0 + (x - 48) / 190 * 15
        for row in (-0.75, -0.25, 0.25, 0.75):
            at = y + row * half + (2.0 if number % 2 else -2.0)
            shade += f"M{x} {at - 3:.1f}l5 1v4l-5 1z"
            edge += f"M{x} {at - 3:.1f}v6"
    return (
        body
        + f'<path d="{shade}" fill="{SHADE}"/>'
        + line(edge, width=1.5)
        + light(f"M64 {y - 17:g}L232 {y - 26:g}", width=2.4)
    )


def _rasp_back() -> str:
    """Return the other side of the head, with a sign that the rasp was turned over."""
    turn = line("M264 198c24 8 26 58 2 68", width=2.4, colour=EDGE) + line(
        "M272 253l-8 14l16 1", width=2.4, colour=EDGE
    )
    return _rasp_head(232.0) + turn


def _neck() -> str:
    return plate("M250 80L286 84L372 82L372 102L286 100L250 104Z") + light("M256 84L368 86")


def _grip() -> str:
    body = plate(
        "M368 76Q374 68 388 68L548 68Q562 68 568 78L568 106Q562 116 548 116"
        "L388 116Q374 116 368 108Z"
    )
    waffle = "".join(f"M{x} 74l0 36" for x in range(390, 550, 10)) + "".join(
        f"M384 {y}l166 0" for y in range(80, 110, 8)
    )
    return body + line(waffle, width=1.3, colour=SHADE) + light("M384 72L550 72", width=2.6)


def _strike() -> str:
    return (
        plate("M566 84L590 84L590 100L566 100Z", fill=SHADE)
        + plate("M588 44Q588 40 592 40L606 40Q610 40 610 46L610 138Q610 144 606 144L592 144"
                "Q588 144 588 140Z")
        + light("M593 46L593 138", width=2.4)
    )  # fmt: skip
