"""Blank silhouettes of our own making, as grounds for a sketch plan.

Each is drawn in its own box of units. A symmetrical one is drawn as its left half, from the axis
at the top to the axis at the bottom, and mirrored.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from leastwise.api.drawings.svg import number

__all__ = ["SILHOUETTES", "Silhouette", "silhouette_shapes"]

Point = tuple[float, float]
#: A straight line to one point, or a cubic curve with two handles to the third.
Segment = tuple[Point] | tuple[Point, Point, Point]


@dataclass(frozen=True, slots=True)
class Silhouette:
    """A blank ground: its outline, the seams and folds inside, and what only holds or wears it."""

    key: str
    label: str
    width: float
    height: float
    outlines: tuple[str, ...]
    lines: tuple[str, ...]
    figure: tuple[str, ...] = ()


def silhouette_shapes(one: Silhouette) -> str:
    """Return the shapes of a silhouette as SVG, without an element around them."""
    drawn = [
        f'<path class="sil-figure" d="{d}" fill="none" stroke="#857c6c" stroke-width="1.3"/>'
        for d in one.figure
    ]
    drawn += [
        f'<path class="sil-cloth" d="{d}" fill="#fbf8f1" stroke="#23201b" stroke-width="2" '
        'stroke-linejoin="round"/>'
        for d in one.outlines
    ]
    drawn += [
        f'<path class="sil-seam" d="{d}" fill="none" stroke="#5b5449" stroke-width="1.1" '
        'stroke-linecap="round"/>'
        for d in one.lines
    ]
    return "".join(drawn)


def _drawn(start: Point, segments: Sequence[Segment]) -> str:
    said = [f"M{_at(start)}"]
    for one in segments:
        said.append(f"{'L' if len(one) == 1 else 'C'}{' '.join(_at(point) for point in one)}")
    return "".join(said)


def _at(point: Point) -> str:
    return f"{number(point[0])} {number(point[1])}"


def _mirrored(axis: float, point: Point) -> Point:
    return 2 * axis - point[0], point[1]


def _whole(axis: float, start: Point, half: Sequence[Segment]) -> str:
    """Return a closed outline from its left half, which begins and ends on the axis."""
    points = [start, *(one[-1] for one in half)]
    back: list[Segment] = []
    for i in range(len(half) - 1, -1, -1):
        one = half[i]
        end = _mirrored(axis, points[i])
        if len(one) == 1:
            back.append((end,))
        else:
            back.append((_mirrored(axis, one[1]), _mirrored(axis, one[0]), end))
    return _drawn(start, [*half, *back]) + "Z"


def _both(axis: float, start: Point, line: Sequence[Segment]) -> tuple[str, str]:
    """Return an open line of the left half and its mirror image."""
    other: list[Segment] = []
    for one in line:
        if len(one) == 1:
            other.append((_mirrored(axis, one[0]),))
        else:
            first, second, end = (_mirrored(axis, point) for point in one)
            other.append((first, second, end))
    return _drawn(start, line), _drawn(_mirrored(axis, start), other)


def _oval(x: float, y: float, rx: float, ry: float) -> str:
    a, b = number(rx), number(ry)
    return (
        f"M{number(x - rx)} {number(y)}A{a} {b} 0 1 1 {number(x + rx)} {number(y)}"
        f"A{a} {b} 0 1 1 {number(x - rx)} {number(y)}Z"
    )


def _dress_lines(*, is_front: bool) -> list[str]:
    lines = [
        *_both(200, (140, 111), [((130, 132), (130, 156), (137, 178))]),
        *_both(200, (158, 250), [((172, 256), (186, 258), (200, 258))]),
        *_both(200, (176, 258), [((166, 350), (142, 480), (126, 612))]),
        *_both(200, (192, 259), [((190, 360), (180, 490), (174, 618))]),
        *_both(200, (165, 262), [((146, 350), (114, 470), (92, 606))]),
        *_both(200, (79, 268), [((101, 276),)]),
    ]
    if is_front:
        lines += [
            "M200 138V258",
            *_both(200, (172, 252), [((170, 222), (166, 206), (160, 194))]),
        ]
    else:
        lines += [
            "M200 108V380",
            *(f"M195 {y}H205" for y in range(124, 378, 18)),
            *_both(200, (178, 255), [((170, 216), (160, 180), (141, 150))]),
        ]
    return lines


def _dress(*, is_front: bool) -> Silhouette:
    neck = 138.0 if is_front else 108.0
    half: list[Segment] = [
        ((188, neck), (177, 118 if is_front else 106), (174, 99)),
        ((163, 104), (150, 107), (140, 111)),
        ((121, 117), (112, 136), (106, 162)),
        ((98, 200), (86, 240), (74, 280)),
        ((96, 288),),
        ((108, 250), (124, 212), (137, 178)),
        ((141, 204), (151, 226), (158, 250)),
        ((140, 320), (94, 450), (62, 600)),
        ((104, 614), (152, 620), (200, 620)),
    ]
    lines = _dress_lines(is_front=is_front)
    head = [_oval(200, 50, 24, 32)]
    head += _both(200, (188, 79), [((188, 90), (184, 96), (174, 99))])
    hand: list[Segment] = [
        ((70, 296), (68, 316), (72, 322)),
        ((80, 326), (90, 312), (93, 288)),
    ]
    head += _both(200, (77, 281), hand)
    name = "front" if is_front else "back"
    outline = _whole(200, (200, neck), half)
    label = f"Dress on a figure, {name}"
    return Silhouette(f"dress-{name}", label, 400, 640, (outline,), tuple(lines), tuple(head))


def _skirt() -> Silhouette:
    half: list[Segment] = [
        ((178, 36), (156, 33), (136, 28)),
        ((130, 56),),
        ((112, 150), (62, 300), (32, 420)),
        ((80, 444), (140, 452), (200, 452)),
    ]
    lines = [
        *_both(200, (130, 56), [((154, 62), (176, 64), (200, 64))]),
        *_both(200, (148, 61), [((132, 180), (98, 320), (76, 438))]),
        *_both(200, (166, 63), [((158, 190), (138, 330), (126, 447))]),
        *_both(200, (184, 64), [((182, 190), (176, 330), (172, 451))]),
        *_both(200, (37, 402), [((84, 426), (142, 434), (200, 434))]),
    ]
    return Silhouette("skirt", "Skirt", 400, 480, (_whole(200, (200, 36), half),), tuple(lines))


def _bodice() -> Silhouette:
    half: list[Segment] = [
        ((184, 62), (174, 46), (168, 30)),
        ((148, 38), (126, 44), (108, 50)),
        ((78, 60), (66, 92), (60, 128)),
        ((50, 186), (36, 248), (22, 312)),
        ((56, 322),),
        ((72, 262), (92, 200), (110, 146)),
        ((116, 196), (126, 232), (136, 262)),
        ((126, 292), (112, 322), (100, 352)),
        ((132, 366), (168, 374), (200, 392)),
    ]
    lines = [
        "M200 74V392",
        *(_oval(208, y, 3, 3) for y in range(98, 270, 28)),
        *_both(200, (108, 50), [((92, 80), (94, 118), (110, 146))]),
        *_both(200, (136, 262), [((158, 272), (180, 276), (200, 276))]),
        *_both(200, (168, 273), [((164, 236), (156, 204), (142, 178))]),
        *_both(200, (168, 273), [((162, 306), (154, 338), (148, 368))]),
        *_both(200, (27, 292), [((62, 302),)]),
        *_both(200, (168, 30), [((160, 50), (176, 78), (200, 96))]),
    ]
    return Silhouette(
        "bodice", "Bodice or jacket", 400, 420, (_whole(200, (200, 74), half),), tuple(lines)
    )


def _trousers() -> Silhouette:
    half: list[Segment] = [
        ((140, 36), (120, 34), (100, 30)),
        ((95, 58),),
        ((84, 110), (76, 170), (74, 230)),
        ((70, 330), (66, 430), (64, 530)),
        ((90, 536), (116, 536), (136, 532)),
        ((142, 430), (150, 320), (160, 226)),
    ]
    lines = [
        *_both(160, (95, 58), [((116, 63), (138, 65), (160, 65))]),
        "M160 65C164 120 164 180 160 226",
        "M160 180C148 176 142 160 141 66",
        *_both(160, (97, 92), [((104, 112), (96, 132), (81, 146))]),
        *_both(160, (116, 64), [((106, 220), (102, 380), (100, 534))]),
        *_both(160, (65, 508), [((92, 514), (118, 514), (138, 510))]),
    ]
    return Silhouette(
        "trousers", "Trousers", 320, 560, (_whole(160, (160, 36), half),), tuple(lines)
    )


def _flat() -> Silhouette:
    ends = [f"M{x} {a}v{b}" for x in range(44, 440, 9) for a, b in ((26, 14), (320, 14))]
    lines = [
        "M52 40V320",
        "M428 40V320",
        "M52 62H428",
        "M52 298H428",
        *ends,
    ]
    return Silhouette("flat", "Flat textile", 480, 360, ("M40 40H440V320H40Z",), tuple(lines))


def _banner() -> Silhouette:
    cloth = "M70 62H330V452L200 520L70 452Z"
    sleeve = "M66 42H334V78H66Z"
    hem: list[Segment] = [((200, 502),)]
    lines = [
        *_both(200, (86, 78), [((86, 442),)]),
        *_both(200, (86, 442), hem),
        *(f"M{x} 78v5" for x in range(76, 330, 10)),
        *(
            f"M{number(x)} {number(452 + (x - 70) * 68 / 130)}v16"
            f"M{number(400 - x)} {number(452 + (x - 70) * 68 / 130)}v16"
            for x in range(72, 200, 8)
        ),
    ]
    figure = (
        "M24 55H376V65H24Z",
        _oval(18, 60, 9, 9),
        _oval(382, 60, 9, 9),
        "M40 65C34 110 46 150 40 190M36 190H44L48 226H32Z",
        "M360 65C366 110 354 150 360 190M356 190H364L368 226H352Z",
        "M40 55C90 8 310 8 360 55",
    )
    return Silhouette(
        "banner", "Banner with a pole sleeve", 400, 560, (cloth, sleeve), tuple(lines), figure
    )


def _fan() -> Silhouette:
    def at(radius: float, degrees: float) -> Point:
        turn = math.radians(degrees)
        return 260 - radius * math.cos(turn), 300 - radius * math.sin(turn)

    first, last, outer, inner = 14.0, 166.0, 244.0, 132.0
    a, b, c, d = at(outer, first), at(outer, last), at(inner, last), at(inner, first)
    leaf = f"M{_at(a)}A{outer} {outer} 0 0 1 {_at(b)}L{_at(c)}A{inner} {inner} 0 0 0 {_at(d)}Z"
    turns = [first + i * (last - first) / 16 for i in range(17)]
    sticks = "".join(
        f"M{_at(at(20, turn))}L{_at(at(inner, turn - 2.2))}A{inner} {inner} 0 0 1 "
        f"{_at(at(inner, turn + 2.2))}Z"
        for turn in turns
    )
    folds = [f"M{_at(at(inner, turn))}L{_at(at(outer, turn))}" for turn in turns[1:-1]]
    edge = f"M{_at(at(232, first))}A232 232 0 0 1 {_at(at(232, last))}"
    guards = tuple(
        f"M{_at(at(outer, turn - 1.4))}L{_at(at(outer, turn + 1.4))}L{_at(at(14, turn + 14))}"
        f"L{_at(at(14, turn - 14))}Z"
        for turn in (first, last)
    )
    return Silhouette(
        "fan", "Fan", 520, 340, (sticks, leaf, *guards), (*folds, edge, _oval(260, 300, 6, 6))
    )


def _shoe() -> Silhouette:
    outline = (
        "M44 232C48 208 78 196 116 186C164 173 206 146 238 108C248 98 258 98 264 108"
        "C286 138 330 138 362 108C372 92 384 82 396 82C408 118 406 158 400 186"
        "C396 214 404 246 414 278H366C362 250 346 232 318 230C262 234 180 256 108 256"
        "C70 256 42 250 44 232Z"
    )
    lines = (
        "M46 240C110 250 220 224 312 216C346 213 376 206 401 184",
        "M316 230C350 226 378 218 400 202",
        "M190 152C200 176 214 200 236 224",
        "M362 108C352 146 350 180 356 210",
        "M238 108C228 96 212 98 210 110C210 122 226 124 238 108ZM250 104C262 92 276 96 276 108",
    )
    return Silhouette("shoe", "Shoe, from the side", 460, 310, (outline,), lines)


#: Key -> silhouette, in the order in which they are offered.
SILHOUETTES: dict[str, Silhouette] = {
    one.key: one
    for one in (
        _dress(is_front=True),
        _dress(is_front=False),
        _bodice(),
        _skirt(),
        _trousers(),
        _flat(),
        _banner(),
        _fan(),
        _shoe(),
    )
}
