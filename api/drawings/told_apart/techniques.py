"""Techniques: stitches as they lie on the cloth, layers in section, from the object outwards."""

from __future__ import annotations

from collections.abc import Callable

from leastwise.api.drawings.told_apart.pen import Pen

__all__ = ["TECHNIQUES"]

Draw = Callable[[Pen], None]


def _worn(pen: Pen) -> None:
    """Draw the cloth that is to be held: threads that run up and down, with a gap across."""
    for i in range(15):
        x = 12 + i * 11
        pen.line([(x, 8), (x, 46)], 3, opacity=0.3)
        pen.line([(x, 74), (x, 112)], 3, opacity=0.3)


def _laid(pen: Pen) -> None:
    _worn(pen)
    for k in range(7):
        x = 30 + k * 20
        pen.line([(x, 18), (x, 102)], 2.2)
        for n in range(5):
            y = 26 + n * 17 + (k % 2) * 8
            if y < 100:
                pen.line([(x - 3.5, y + 1.5), (x + 3.5, y - 1.5)], 1.6)


def _brick(pen: Pen) -> None:
    _worn(pen)
    for row in range(8):
        y = 16 + row * 12.5
        for k in range(8):
            x = 18 + k * 21 + (row % 2) * 10.5
            if x < 162:
                pen.line([(x, y), (x + 7, y)], 2.4)


def _running(pen: Pen) -> None:
    pen.weave(opacity=0.2)
    for y in (36, 60, 84):
        for k in range(9):
            pen.line([(16 + k * 18, y), (26 + k * 18, y)], 2.8)


def _herringbone(pen: Pen) -> None:
    pen.tone([(6, 62), (174, 62), (174, 114), (6, 114)], 0.25)
    pen.line([(6, 62), (174, 62)], 1.6)
    for k in range(7):
        x = 18 + k * 22
        pen.line([(x, 84), (x + 16, 44)], 2)
        pen.line([(x + 10, 44), (x + 26, 84)], 2)


def _object(pen: Pen, y: float) -> None:
    """Draw the object in section: a band with a gap."""
    pen.line([(16, y), (78, y)], 7, opacity=0.6, stroke_linecap="butt")
    pen.line([(98, y), (164, y)], 7, opacity=0.6, stroke_linecap="butt")


def _sheer(pen: Pen, y: float, left: float = 16, right: float = 164) -> None:
    pen.line([(left, y), (right, y)], 1.8, stroke_dasharray="2 3")


def _support(pen: Pen, y: float, left: float = 16, right: float = 164) -> None:
    pen.line([(left, y), (right, y)], 3)


def _stitch(pen: Pen, x: float, top: float, bottom: float) -> None:
    pen.path(f"M{x - 3} {top}V{bottom}h6V{top}Z", 1.2)


def _overlay(pen: Pen) -> None:
    _sheer(pen, 48)
    _object(pen, 60)
    for x in (28, 152):
        _stitch(pen, x, 45, 66)
    pen.word(90, 38, "sheer")
    pen.word(90, 84, "object, nothing behind it")


def _encapsulation(pen: Pen) -> None:
    _sheer(pen, 44)
    _object(pen, 56)
    _support(pen, 68)
    for x in (22, 88, 158):
        _stitch(pen, x, 41, 71)
    pen.word(90, 34, "sheer")
    pen.word(90, 88, "support behind")


def _patch(pen: Pen) -> None:
    _object(pen, 56)
    _support(pen, 68, 62, 114)
    for x in (68, 108):
        _stitch(pen, x, 51, 71)
    pen.word(90, 88, "only behind the place")


def _full(pen: Pen) -> None:
    _object(pen, 56)
    _support(pen, 68)
    for x in (24, 46, 68, 108, 132, 156):
        _stitch(pen, x, 51, 71)
    pen.word(90, 88, "behind all of it, carries it")


def _damp_blotter(pen: Pen) -> None:
    pen.tone([(16, 44), (164, 44), (164, 58), (16, 58)], 0.45)
    for k in range(12):
        pen.dot(24 + k * 12, 51, 1.6)
    pen.line([(16, 62), (164, 62)], 7, opacity=0.6, stroke_linecap="butt")
    pen.word(90, 38, "damp blotter")
    pen.word(90, 86, "touches the object")


def _membrane(pen: Pen) -> None:
    pen.tone([(16, 28), (164, 28), (164, 42), (16, 42)], 0.45)
    for k in range(12):
        pen.dot(24 + k * 12, 35, 1.6)
    pen.line([(16, 48), (164, 48)], 1.8, stroke_dasharray="6 2")
    for k in range(5):
        pen.arrow((34 + k * 28, 51), (34 + k * 28, 64))
    pen.line([(16, 72), (164, 72)], 7, opacity=0.6, stroke_linecap="butt")
    pen.word(90, 22, "damp blotter")
    pen.word(90, 96, "membrane: vapour only")


def _pressure(pen: Pen) -> None:
    pen.line([(16, 40), (164, 40)], 4, opacity=0.35, stroke_linecap="butt")
    pen.line([(16, 47), (164, 47)], 7, opacity=0.7, stroke_linecap="butt")
    pen.path("M16 54h148v26H16Z", 1.4)
    for k in range(10):
        pen.path(f"M{22 + k * 15} 60q5 6 0 14", 0.9)
    pen.word(90, 30, "sheet touches and holds")
    pen.word(90, 100, "object on soft padding")


def _framed(pen: Pen) -> None:
    pen.line([(16, 36), (164, 36)], 4, opacity=0.35, stroke_linecap="butt")
    pen.tone([(16, 38), (26, 38), (26, 62), (16, 62)], 0.6)
    pen.tone([(154, 38), (164, 38), (164, 62), (154, 62)], 0.6)
    pen.line([(32, 58), (148, 58)], 7, opacity=0.7, stroke_linecap="butt")
    pen.line([(16, 66), (164, 66)], 4)
    pen.word(90, 28, "glazing")
    pen.word(90, 51, "gap")
    pen.word(90, 90, "spacer keeps them apart")


def _sleeve(pen: Pen) -> None:
    pen.ring(74, 30, 8, 2)
    pen.path("M74 14c-14 0 -18 10 -17 20c1 8 6 12 8 12h20c5 -2 9 -8 8 -18c-1 -9 -7 -14 -19 -14Z", 2)
    pen.line([(94, 30), (94, 108)], 6, opacity=0.6)
    pen.word(38, 34, "rod")
    pen.word(128, 74, "object")


def _hook(pen: Pen) -> None:
    pen.tone([(52, 12), (70, 12), (70, 54), (52, 54)], 0.4)
    for k in range(8):
        y = 16 + k * 4.8
        pen.path(f"M71 {y}q5 0 4 -3", 1.2)
        pen.path(f"M82 {y + 1}q-5 -2 -4 2", 1.2)
    pen.line([(85, 12), (85, 54)], 3)
    pen.line([(92, 12), (92, 108)], 6, opacity=0.6)
    pen.word(34, 36, "batten")
    pen.word(126, 74, "object")


TECHNIQUES: dict[str, Draw] = {
    "technique:laid-couching": _laid,
    "technique:brick-couching": _brick,
    "technique:running-stitch": _running,
    "technique:herringbone-edge": _herringbone,
    "technique:crepeline-overlay": _overlay,
    "technique:encapsulation": _encapsulation,
    "technique:stitched-patch": _patch,
    "technique:full-stitched-support": _full,
    "technique:damp-blotter": _damp_blotter,
    "technique:membrane-pack-flat": _membrane,
    "technique:pressure-mount": _pressure,
    "technique:glazed-frame": _framed,
    "technique:sleeve-and-rod": _sleeve,
    "technique:hook-and-loop-heading": _hook,
}
