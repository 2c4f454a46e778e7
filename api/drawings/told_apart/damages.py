"""Damages, each as a few yarns or a section in which the decisive thing is plain."""

from __future__ import annotations

from collections.abc import Callable

from leastwise.api.drawings.told_apart.pen import PITCH, Pen

__all__ = ["DAMAGES"]


def _end(pen: Pen, x: float, y: float, dx: float, dy: float) -> None:
    """Draw the frayed end of a yarn that points along (dx, dy)."""
    for side in (-1.6, 0, 1.6):
        tip = (x + dx * 6 + dy * side, y + dy * 6 + dx * side)
        pen.line([(x, y), tip], 1.1)


def _slit(pen: Pen) -> None:
    # tapestry: the weft covers the warp and turns back at the border of two colours
    for row in range(12):
        y = 10 + row * 9
        apart = 1 + 7 * max(0.0, 1 - ((row - 5.5) / 4.5) ** 2)
        pen.line([(10, y), (86 - apart, y)], 6, opacity=0.75)
        pen.line([(94 + apart, y), (170, y)], 6, opacity=0.3)
    for y in (10, 19, 100, 109):
        pen.line([(83, y - 2.5), (97, y + 2.5)], 1.8)
    for y, broken in ((32, 6), (88, -6)):
        pen.path(f"M83 {y}q3 2 5 {broken}", 1.4)
        pen.path(f"M97 {y}q-3 2 -4 {broken}", 1.4)


def _split(pen: Pen) -> None:
    def gone(i: int, j: int) -> bool:
        return i in (6, 7) and 1 <= j <= 7

    pen.weave(lambda i, j: not gone(i, j), lambda i, j: not gone(i, j))
    for j in range(1, 8):
        y = 12 + j * PITCH
        _end(pen, 12 + 5.5 * PITCH, y, 1, 0)
        _end(pen, 12 + 7.5 * PITCH, y, -1, 0)


def _tear(pen: Pen) -> None:
    def gone(i: int, j: int) -> bool:
        return 3 <= i <= 10 and j == 7 - (i // 2 + i % 3 // 2)

    pen.weave(lambda i, j: not gone(i, j), lambda i, j: not gone(i, j))
    for i in range(3, 11):
        j = 7 - (i // 2 + i % 3 // 2)
        x, y = 12 + i * PITCH, 12 + j * PITCH
        _end(pen, x, y - 6, 0.2, 1)
        _end(pen, x, y + 6, -0.2, -1)


def _abrasion(pen: Pen) -> None:
    def worn(i: int, j: int) -> bool:
        return (i - 6.5) ** 2 / 22 + (j - 4) ** 2 / 9 < 1

    pen.weave(lambda i, j: not worn(i, j), lambda i, j: not worn(i, j))
    pen.weave(worn, worn, width=2, opacity=0.5)
    for i in range(2, 12):
        for j in range(1, 8):
            if worn(i, j) and (i * 3 + j * 5) % 4 == 0:
                x, y = 12 + i * PITCH, 12 + j * PITCH
                pen.line([(x, y), (x + 3, y - 5)], 0.9)
                pen.line([(x, y), (x - 4, y - 3)], 0.9)


def _loss(pen: Pen) -> None:
    def gone(i: int, j: int) -> bool:
        return j > 8.4 - (i - 3) * 0.9 + (i % 3) * 0.8 and i > 3

    pen.weave(lambda i, j: not gone(i, j), lambda i, j: not gone(i, j))
    pen.line([(18, 114), (174, 114), (174, 6)], 1.2, stroke_dasharray="3 4")


def _hole(pen: Pen) -> None:
    def gone(i: int, j: int) -> bool:
        return 5 <= i <= 8 and 3 <= j <= 5

    pen.weave(lambda i, j: not gone(i, j), lambda i, j: not gone(i, j))
    for i in range(5, 9):
        _end(pen, 12 + i * PITCH, 12 + 2.5 * PITCH, 0, 1)
        _end(pen, 12 + i * PITCH, 12 + 5.5 * PITCH, 0, -1)
    for j in range(3, 6):
        _end(pen, 12 + 4.5 * PITCH, 12 + j * PITCH, 1, 0)
        _end(pen, 12 + 8.5 * PITCH, 12 + j * PITCH, -1, 0)


def _one_way(pen: Pen) -> None:
    pen.weave(lambda i, _: not 4 <= i <= 9)
    for j in range(9):
        y = 12 + j * PITCH
        pen.path(f"M{12 + 3.5 * PITCH} {y}q{3 * PITCH} {4 if j % 2 else -3} {6 * PITCH} 0", 2.4)


def _shattering(pen: Pen) -> None:
    splits = ((2, 0, 5), (4, 3, 8), (6, 0, 3), (7, 5, 8), (9, 1, 6), (11, 4, 8), (12, 0, 3))

    def gone(i: int, j: int) -> bool:
        across = (j == 4 and 4 <= i <= 6) or (j == 6 and 9 <= i <= 11)
        return across or any(i == at and low <= j <= high for at, low, high in splits)

    pen.weave(lambda i, j: not gone(i, j), lambda i, j: not gone(i, j))


def _fraying(pen: Pen) -> None:
    pen.weave(lambda _, j: j < 5, lambda _, j: j < 5, rows=6)
    for i in range(14):
        x = 12 + i * PITCH
        bend = (5, -4, 3, -6)[i % 4]
        pen.path(f"M{x} {12 + 4.5 * PITCH}q{bend} 16 {-bend / 2} {26 + (i * 7) % 15}", 2.2)
    pen.path("M20 92q40 -12 70 4t72 -6", 2.2, opacity=0.6)


def _crease(pen: Pen) -> None:
    pen.line([(14, 86), (88, 34)], 7, opacity=0.55, stroke_linecap="butt")
    pen.line([(92, 34), (166, 86)], 7, opacity=0.55, stroke_linecap="butt")
    for x, dx in ((86, -1), (94, 1)):
        for up in (4, 8, 12):
            pen.line([(x, 34), (x - dx * (2 - up / 6), 34 - up / 1.6)], 1.1)
    pen.path("M90 18v-8", 1.2)
    pen.word(90, 108, "sharp: yarns broken")


def _fold_mark(pen: Pen) -> None:
    pen.path("M14 86C56 78 66 42 90 42S124 78 166 86", 7, opacity=0.55, stroke_linecap="butt")
    pen.line([(90, 30), (90, 22)], 1.2)
    pen.word(90, 108, "rounded: yarns whole")


def _dust(pen: Pen) -> None:
    rings = pen.section(74)
    for n, x in enumerate(rings):
        top = 62 if n % 2 else 58
        for k in range(3):
            shift = ((n * 5 + k * 7) % 11) - 5
            pen.dot(x + shift, top - (n + k * 2) % 5, 1.5)
    pen.word(90, 108, "lies on top and between")


def _ingrained(pen: Pen) -> None:
    rings = pen.section(74)
    for n, x in enumerate(rings):
        pen.tone([(x - 5, 70), (x, 68), (x + 5, 70), (x + 5, 78), (x, 80), (x - 5, 78)], 0.35)
        for k in range(5):
            pen.dot(x - 3 + (k * 5 + n) % 7, 71 + (k * 3 + n) % 7, 0.9)
    pen.word(90, 108, "held in the fibre by grease")


def _snag(pen: Pen) -> None:
    pen.weave(weft=lambda i, j: not (j == 4 and 4 <= i <= 9))
    x0, x1, y = 12 + 3.5 * PITCH, 12 + 9.5 * PITCH, 12 + 4 * PITCH
    pen.path(f"M{x0} {y}C{x0 + 34} {y} {x0 + 2} 10 {(x0 + x1) / 2} 10S{x1 - 34} {y} {x1} {y}", 4)


def _ladder(pen: Pen) -> None:
    for column in range(7):
        x = 18 + column * 22
        if column == 3:
            for row in range(1, 7):
                pen.line([(x - 5, 14 + row * 15), (x + 18, 14 + row * 15)], 1.6)
            _end(pen, x + 7, 16, 0, 1)
            continue
        for row in range(7):
            y = 10 + row * 15
            pen.path(f"M{x} {y}q0 9 6.5 9t6.5 -9q0 -4 -2 -5M{x} {y}q0 -4 2 -5", 2.4, opacity=0.65)


def _stain(pen: Pen) -> None:
    pen.weave(opacity=0.3)
    blot = [(62, 34), (96, 26), (124, 44), (128, 72), (104, 92), (70, 86), (52, 62)]
    pen.tone(blot, 0.55)


def _tide_line(pen: Pen) -> None:
    pen.weave(opacity=0.3)
    pen.path("M62 34Q80 22 100 27T128 48T124 82T92 94T58 82T50 56T62 34Z", 5, opacity=0.8)
    pen.path("M72 44Q86 34 100 39T118 54T114 76T92 83T68 74T62 58T72 44Z", 1, opacity=0.6)


def _bleed(pen: Pen) -> None:
    pen.weave(opacity=0.3)
    pen.tone([(6, 6), (76, 6), (76, 114), (6, 114)], 0.6)
    for reach, strength in ((100, 0.3), (122, 0.16), (140, 0.08)):
        edge = [(reach, 12), (reach + 6, 50), (reach - 4, 84), (reach + 3, 114)]
        pen.tone([(76, 6), *edge, (76, 114)], strength)


def _crocking(pen: Pen) -> None:
    pen.tone([(6, 62), (174, 62), (174, 114), (6, 114)], 0.6)
    pen.weave(columns=14, rows=4, top=72, opacity=0.3)
    pen.path("M60 56V22q0 -8 8 -8h44q8 0 8 8v34z", 1.6)
    for k in range(9):
        pen.dot(64 + k * 6.5, 52 - (k * 5) % 4, 1.6)
    pen.arrow((128, 36), (152, 36))
    pen.arrow((52, 36), (28, 36))


def _fading(pen: Pen) -> None:
    pen.weave(opacity=0.3)
    pen.tone([(6, 6), (66, 6), (66, 114), (6, 114)], 0.6)
    for k in range(4):
        pen.line([(112 + k * 16, 6), (92 + k * 16, 40)], 1.1)


def _grazing(pen: Pen) -> None:
    for j, y in enumerate((56, 76, 96)):
        pen.line([(10, y), (170, y)], 9, opacity=0.45)
        for k in range(22):
            x = 12 + k * 7.4
            if not (j == 0 and 60 < x < 122):
                pen.line([(x, y - 4), (x + 2, y - 9)], 0.9)
    pen.path("M60 51q10 5 20 1t20 2t22 -3", 1.6)
    _larva(pen, 92, 40)


def _larva(pen: Pen, x: float, y: float) -> None:
    pen.path(f"M{x - 12} {y}q4 -9 12 -5t14 1", 6)
    pen.dot(x + 15, y - 4, 3)


def _insect_hole(pen: Pen) -> None:
    def gone(i: int, j: int) -> bool:
        return (i, j) in _BITTEN

    pen.weave(lambda i, j: not gone(i, j), lambda i, j: not gone(i, j))
    pen.path("M62 42q6 -6 12 0q6 -6 12 0q8 -4 12 2q6 -2 8 6q6 4 0 10q4 6 -2 10q2 8 -8 8q-6 6 -12 0"
             "q-6 6 -12 0q-8 4 -10 -4q-8 -2 -4 -10q-6 -6 0 -10q-2 -8 4 -12Z", 1.2)  # fmt: skip
    _larva(pen, 136, 104)


_BITTEN = {(i, j) for i in range(4, 9) for j in range(3, 7)}


def _pucker(pen: Pen) -> None:
    pen.line([(14, 60), (166, 60)], 1.6, stroke_dasharray="5 4")
    for k in range(10):
        x = 22 + k * 15
        pen.path(f"M{x} 60q{-4 if k % 2 else 5} -14 1 {-26 - (k % 3) * 5}", 1.3)
        pen.path(f"M{x} 60q{5 if k % 2 else -4} 14 -1 {26 + (k % 3) * 5}", 1.3)
    pen.word(90, 112, "short wrinkles along a join")


def _distortion(pen: Pen) -> None:
    for k in range(7):
        y = 16 + k * 13
        pen.path(f"M14 {y + 4}C50 {y - 12} 80 {y + 16 - k} 110 {y}S150 {y + 10} 166 {y - 4}", 1.4,
                 opacity=0.7)  # fmt: skip
    for k in range(11):
        x = 16 + k * 15
        pen.path(f"M{x} 14C{x + 9} 40 {x - 10} 70 {x + 3} 100", 1.4, opacity=0.7)
    pen.word(90, 116, "not flat, not square")


def _sag(pen: Pen) -> None:
    pen.line([(20, 14), (160, 14)], 3)
    for k in range(8):
        x = 26 + k * 18.3
        pen.line([(x, 14), (x, 88 + 16 * (1 - ((x - 90) / 70) ** 2))], 1.3, opacity=0.7)
    for k in range(1, 6):
        y = 14 + k * 15
        pen.path(f"M24 {y}Q90 {y + 6 * k} 156 {y}", 1.3, opacity=0.7)
    pen.arrow((168, 40), (168, 84))


def _cracked(pen: Pen) -> None:
    pen.line([(10, 82), (170, 82)], 6, opacity=0.45)
    for x, lift in ((12, 0), (48, 9), (84, 0), (122, 12)):
        pen.path(f"M{x} {74 - lift}L{x + 31} {74 - lift / 3}", 4, stroke_linecap="butt")
    pen.word(90, 108, "firm flakes, lifting edges")


def _powdering(pen: Pen) -> None:
    pen.line([(10, 82), (170, 82)], 6, opacity=0.45)
    for k in range(60):
        pen.dot(12 + (k * 37) % 157, 76 - (k * 5) % 7, 1.3)
    for k in range(9):
        pen.dot(60 + (k * 23) % 60, 60 - (k * 11) % 34, 1.1, 0.7)
    pen.word(90, 108, "grains come off at a touch")


def _mould(pen: Pen, *, alive: bool) -> None:
    pen.section(86)
    for k in range(9):
        x = 22 + k * 17
        if alive:
            tall = 26 + (k * 7) % 16
            pen.path(f"M{x} 78q{3 if k % 2 else -3} {-tall / 2} 0 {-tall}", 1.2)
            pen.dot(x, 78 - tall - 3, 3.2, 0.8)
            pen.path(f"M{x} 78q8 -8 15 -4", 0.9)
        else:
            for s in range(4):
                pen.dot(x - 5 + (s * 4 + k) % 10, 76 - (s * 3 + k) % 6, 1.2, 0.8)
    pen.word(90, 114, "fluffy, damp, smears" if alive else "dry powder, brushes off")


Draw = Callable[[Pen], None]
DAMAGES: dict[str, Draw] = {
    "damage:slit": _slit,
    "damage:split": _split,
    "damage:tear": _tear,
    "damage:abrasion": _abrasion,
    "damage:loss": _loss,
    "damage:hole": _hole,
    "damage:unidirectional-loss": _one_way,
    "damage:shattering": _shattering,
    "damage:fraying": _fraying,
    "damage:crease": _crease,
    "damage:fold-mark": _fold_mark,
    "damage:dust": _dust,
    "damage:ingrained-soil": _ingrained,
    "damage:snag": _snag,
    "damage:ladder": _ladder,
    "damage:stain": _stain,
    "damage:tide-line": _tide_line,
    "damage:dye-bleed": _bleed,
    "damage:crocking": _crocking,
    "damage:fading": _fading,
    "damage:insect-grazing": _grazing,
    "damage:insect-hole": _insect_hole,
    "damage:pucker": _pucker,
    "damage:planar-distortion": _distortion,
    "damage:sag": _sag,
    "damage:cracked-paint": _cracked,
    "damage:powdering-paint": _powdering,
    "damage:mould-active": lambda pen: _mould(pen, alive=True),
    "damage:mould-dormant": lambda pen: _mould(pen, alive=False),
}
