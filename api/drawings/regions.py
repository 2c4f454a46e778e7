"""The sketch plan: a ground (photograph or silhouette), regions over it, and their names beside it.

Names stand in two columns beside the ground, each joined to its region by a line, so that no name
covers another. Every region has a pattern and a line style; nothing hangs on colour.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from xml.sax.saxutils import quoteattr

from leastwise.api.drawings.lit import closed_way, lit_region, quiet_outline
from leastwise.api.drawings.network_lines import clean, fitted
from leastwise.api.drawings.places import Place, place_marks
from leastwise.api.drawings.silhouettes import SILHOUETTES, silhouette_shapes
from leastwise.api.drawings.svg import FONT, PATTERNS, number
from leastwise.graph.case.record import Case

__all__ = [
    "Ground", "Named", "area_of", "ground_of", "ground_shapes", "named_regions", "parts_of",
    "pattern_of", "pattern_tile", "points_of", "region_drawing", "region_shapes",
]  # fmt: skip

Point = tuple[float, float]
INK, QUIET, PAPER = "#23201b", "#5b5449", "#ffffff"
WIDEST, HIGHEST = 440.0, 600.0  # of the ground, in the drawing
COLUMN, GAP, MARGIN, SIZE = 134.0, 20.0, 12.0, 14.0
ROW = SIZE * 1.25
#: Line styles of the edge; they change when the patterns are used up.
DASHES = ("", "7 4", "2 4")
ORDER = ("hatch", "dots", "weave", "fine", "dashes", "back", "web")


@dataclass(frozen=True, slots=True)
class Ground:
    """What regions are drawn on: its size in the drawing, and the silhouette if it is one."""

    width: float
    height: float
    silhouette: str = ""


@dataclass(frozen=True, slots=True)
class Named:
    """A region with its name, laid out."""

    part: str
    name: str
    points: tuple[Point, ...]
    anchor: Point
    rows: tuple[str, ...]
    place: int


def parts_of(case: Case | Sequence[tuple[str, str]]) -> list[tuple[str, str]]:
    """Return ids and names of the parts, in the order of the record."""
    return [(one.id, one.name) for one in case.parts] if isinstance(case, Case) else list(case)


def ground_of(sketch: Mapping[str, object]) -> Ground:
    """Return the ground of a stored sketch; one that can't be read is an empty square."""
    said = str(sketch.get("ground", ""))
    silhouette = SILHOUETTES.get(said.removeprefix("silhouette:"))
    if said.startswith("silhouette:") and silhouette is not None:
        wide, high, key = silhouette.width, silhouette.height, silhouette.key
    else:
        wide, high, key = *_size(sketch.get("size")), ""
    scale = min(WIDEST / wide, HIGHEST / high)
    return Ground(wide * scale, high * scale, key)


def region_drawing(  # noqa: PLR0913 - what a drawing is told by
    case: Case | Sequence[tuple[str, str]],
    sketch: Mapping[str, object],
    picture_href: str | None = None,
    *,
    name: str = "sketch",
    title: str = "",
    hrefs: Mapping[str, str] | None = None,
    places: Sequence[Place] = (),
    lit: Mapping[str, int] | None = None,
) -> str:
    """Return ground, regions and names as SVG text for a page, a document or on its own.

    *case* gives the parts, also as ids and names; *sketch* is the body of a stored sketch;
    *picture_href* is the address (or ``data:`` URI) of the photograph if it is the ground, None
    where it is no longer there. *hrefs* makes a region a link, *places* are damages to be marked.
    *lit* sets regions off from the others, each with its number in a disc.
    Regions of parts that the case doesn't have are left out.
    """
    parts = parts_of(case)
    ground = ground_of(sketch)
    drawn = named_regions(parts, sketch.get("regions"))
    left, right = _sides(drawn)
    x0 = MARGIN + (COLUMN + GAP if drawn else 0.0)
    y0 = MARGIN
    width = x0 * 2 + ground.width
    columns = [_stacked(side, ground, y0) for side in (left, right)]
    ends = [y + ROW * len(one.rows) for column in columns for one, y in column]
    height = max([y0 + ground.height, *ends]) + MARGIN
    said = title or "Sketch plan"
    told = f"{len(drawn)} regions: {', '.join(one.name for one in drawn)}." if drawn else ""
    if places:
        told += f" Damage: {', '.join(f'{one.number} {one.name}' for one in places)}."
    used = {pattern_of(one.place) for one in drawn}
    w, h = number(width), number(height)
    box = " ".join(number(v) for v in (x0, y0, ground.width, ground.height))
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" class="sketch" width="{w}" height="{h}" '
            f'viewBox="0 0 {w} {h}" role="{"group" if hrefs else "img"}" data-ground="{box}" '
            f'aria-labelledby="{name}-title {name}-desc" font-family={quoteattr(FONT)}>',
            f'<title id="{name}-title">{clean(said)}</title>',
            f'<desc id="{name}-desc">{clean(told or "No region is drawn yet.")}</desc>',
            f"<defs>{''.join(pattern_tile(name, key) for key in PATTERNS if key in used)}</defs>",
            ground_shapes(ground, (x0, y0), picture_href, str(sketch.get("ground", ""))),
            *_shapes(drawn, lit, name, ground, (x0, y0), hrefs or {}),
            *(_label(one, y, True, ground, (x0, y0), hrefs or {}) for one, y in columns[0]),
            *(_label(one, y, False, ground, (x0, y0), hrefs or {}) for one, y in columns[1]),
            *_numbers(drawn, lit or {}, ground, (x0, y0)),
            *place_marks(places, ground.width, ground.height, (x0, y0)),
            "</svg>\n",
        ]
    )


def points_of(given: object) -> tuple[Point, ...]:
    """Return stored points; what can't be read as such is left out."""
    found: list[Point] = []
    for one in given if isinstance(given, list) else []:
        if isinstance(one, list) and len(one) == 2:
            x, y = one
            if isinstance(x, int | float) and isinstance(y, int | float):
                found.append((min(1.0, max(0.0, float(x))), min(1.0, max(0.0, float(y)))))
    return tuple(found)


# -- laying out


def _size(given: object) -> Point:
    if isinstance(given, list) and len(given) == 2:
        wide, high = given
        if isinstance(wide, int) and isinstance(high, int) and wide > 0 and high > 0:
            return float(wide), float(high)
    return 400.0, 400.0


def named_regions(parts: Sequence[tuple[str, str]], given: object) -> list[Named]:
    """Return the parts that have a region among those *given*, in the order of the record."""
    stored = given if isinstance(given, dict) else {}
    found: list[Named] = []
    for part, name in parts:
        points = points_of(stored.get(part))
        if len(points) >= 3:
            rows = tuple(fitted(name or part, COLUMN - 6, SIZE, 3))
            found.append(Named(part, name or part, points, _anchor(points), rows, len(found)))
    return found


def _sides(drawn: Sequence[Named]) -> tuple[list[Named], list[Named]]:
    """Return which names stand left and which right, near to their regions and as many on both."""
    by_side = sorted(drawn, key=lambda one: (one.anchor[0], one.place))
    half = len(by_side) // 2
    while half > 0 and by_side[half - 1].anchor[0] > 0.62:
        half -= 1
    while half < len(by_side) and by_side[half].anchor[0] < 0.38 and half < 0.7 * len(by_side):
        half += 1
    key = lambda one: (one.anchor[1], one.place)  # noqa: E731 - used twice, here only
    return sorted(by_side[:half], key=key), sorted(by_side[half:], key=key)


def _stacked(side: Sequence[Named], ground: Ground, top: float) -> list[tuple[Named, float]]:
    """Return each name with its upper edge: near its region's height, none over another."""
    wanted = [top + one.anchor[1] * ground.height - ROW * len(one.rows) / 2 for one in side]
    places: list[float] = []
    free = top
    for y, one in zip(wanted, side, strict=True):
        places.append(max(y, free))
        free = places[-1] + ROW * len(one.rows) + 7
    limit = max(top + ground.height, free - 7)
    low = limit
    for i in range(len(side) - 1, -1, -1):  # back up from the foot
        room = ROW * len(side[i].rows)
        places[i] = max(top, min(places[i], low - room))
        low = places[i] - 7
    return list(zip(side, places, strict=True))


def _anchor(points: Sequence[Point]) -> Point:
    """Return a point well inside a region: the middle of its area, else the best of a grid."""
    area = area_of(points)
    if abs(area) > 1e-9:
        x = y = 0.0
        for (ax, ay), (bx, by) in zip(points, [*points[1:], points[0]], strict=True):
            cross = ax * by - bx * ay
            x += (ax + bx) * cross
            y += (ay + by) * cross
        middle = x / (6 * area), y / (6 * area)
        if _inside(middle, points):
            return middle
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    grid = [
        (
            min(xs) + (i + 0.5) / 12 * (max(xs) - min(xs)),
            min(ys) + (j + 0.5) / 12 * (max(ys) - min(ys)),
        )
        for i in range(12)
        for j in range(12)
    ]
    inside = [point for point in grid if _inside(point, points)]
    corners = list(points)
    return max(
        inside or [points[0]],
        key=lambda p: min((p[0] - x) ** 2 + (p[1] - y) ** 2 for x, y in corners),
    )


def area_of(points: Sequence[Point]) -> float:
    """Return the area within points, in squares of a share; its sign tells which way round."""
    pairs = zip(points, [*points[1:], points[0]], strict=True)
    return sum(ax * by - bx * ay for (ax, ay), (bx, by) in pairs) / 2


def _inside(point: Point, points: Sequence[Point]) -> bool:
    x, y = point
    odd = False
    for (ax, ay), (bx, by) in zip(points, [*points[1:], points[0]], strict=True):
        if (ay > y) != (by > y) and x < (bx - ax) * (y - ay) / (by - ay) + ax:
            odd = not odd
    return odd


# -- shapes


def pattern_of(place: int) -> str:
    """Return the pattern of the region at that place among those drawn."""
    return ORDER[place % len(ORDER)]


def pattern_tile(name: str, key: str) -> str:
    """Return a pattern's definition, under the name of the drawing."""
    size, shape = PATTERNS[key]
    return (
        f'<pattern id="{name}-{key}" width="{size}" height="{size}" '
        f'patternUnits="userSpaceOnUse">{shape}</pattern>'
    )


def ground_shapes(ground: Ground, corner: Point, href: str | None, said: str) -> str:
    """Return what regions lie on: a silhouette, a photograph, or an empty ground that says so."""
    x, y = number(corner[0]), number(corner[1])
    w, h = number(ground.width), number(ground.height)
    if ground.silhouette:
        one = SILHOUETTES[ground.silhouette]
        scale = ground.width / one.width
        return (
            f'<g class="ground" transform="translate({x} {y})scale({scale:.5f})">'
            f"{silhouette_shapes(one)}</g>"
        )
    if href is not None:
        return (
            f'<image class="ground" href={quoteattr(href)} x="{x}" y="{y}" width="{w}" '
            f'height="{h}" preserveAspectRatio="none"/>'
        )
    words = "The photograph was taken away." if said.startswith("photograph:") else "Empty ground"
    return (
        f'<rect class="ground sil-cloth" x="{x}" y="{y}" width="{w}" height="{h}" '
        f'fill="#fbf8f1" stroke="{QUIET}" stroke-dasharray="6 4"/>'
        f'<text class="sil-note" x="{number(corner[0] + ground.width / 2)}" '
        f'y="{number(corner[1] + 24)}" text-anchor="middle" font-size="12.5" fill="{QUIET}">'
        f"{words}</text>"
    )


def _linked(inner: str, part: str, hrefs: Mapping[str, str], *, is_name: bool) -> str:
    """Return a region or its name as a link; only the name is reached with the keyboard."""
    if part not in hrefs:
        return inner
    quiet = "" if is_name else ' tabindex="-1" aria-hidden="true"'
    return f"<a href={quoteattr(hrefs[part])}{quiet}>{inner}</a>"


def _shapes(  # noqa: PLR0913, PLR0917 - where regions stand
    drawn: Sequence[Named],
    lit: Mapping[str, int] | None,
    name: str,
    ground: Ground,
    corner: Point,
    hrefs: Mapping[str, str],
) -> list[str]:
    """Return the regions; where some are lit, the others as a quiet outline."""
    return [
        region_shapes(one, name, ground, corner, hrefs)
        if lit is None or one.part in lit
        else quiet_outline(_placed(one, ground, corner))
        for one in drawn
    ]


def _numbers(
    drawn: Sequence[Named], lit: Mapping[str, int], ground: Ground, corner: Point
) -> list[str]:
    shown = (one for one in drawn if one.part in lit)
    return [lit_region(_placed(one, ground, corner), lit[one.part]) for one in shown]


def _placed(one: Named, ground: Ground, corner: Point) -> list[Point]:
    """Return the anchor of a region and then its points, in the drawing's own units."""
    points = (one.anchor, *one.points)
    return [(corner[0] + x * ground.width, corner[1] + y * ground.height) for x, y in points]


def region_shapes(
    one: Named, name: str, ground: Ground, corner: Point, hrefs: Mapping[str, str]
) -> str:
    """Return a region with its pattern and its edge, as a link where *hrefs* holds its part."""
    d = closed_way(_placed(one, ground, corner)[1:])
    dash = DASHES[one.place // len(ORDER) % len(DASHES)]
    dashes = f' stroke-dasharray="{dash}"' if dash else ""
    inner = (
        f'<g class="region" data-part="{clean(one.part)}"><title>{clean(one.name)}</title>'
        f'<path class="region-veil" d="{d}" fill="{PAPER}" fill-opacity="0.38" '
        f'stroke="{PAPER}" stroke-width="4.5"/>'
        f'<path class="region-fill" d="{d}" fill="url(#{name}-{pattern_of(one.place)})"/>'
        f'<path class="region-edge" d="{d}" fill="none" stroke="{INK}" '
        f'stroke-width="1.8"{dashes}/>'
        "</g>"
    )
    return _linked(inner, one.part, hrefs, is_name=False)


def _label(  # noqa: PLR0913, PLR0917 - where a name stands
    one: Named,
    y: float,
    is_left: bool,
    ground: Ground,
    corner: Point,
    hrefs: Mapping[str, str],
) -> str:
    ax, ay = corner[0] + one.anchor[0] * ground.width, corner[1] + one.anchor[1] * ground.height
    edge = MARGIN + COLUMN if is_left else corner[0] + ground.width + GAP
    knee = edge + 8 if is_left else edge - 8
    middle = y + ROW * len(one.rows) / 2
    way = f"M{number(edge)} {number(middle)}H{number(knee)}L{number(ax)} {number(ay)}"
    x, anchor = (edge - 5, "end") if is_left else (edge + 5, "start")
    rows = "".join(
        f'<text class="region-name" x="{number(x)}" y="{number(y + ROW * (i + 0.8))}" '
        f'text-anchor="{anchor}" font-size="{SIZE}" fill="{INK}">{clean(row)}</text>'
        for i, row in enumerate(one.rows)
    )
    inner = (
        f'<g class="region-label" data-part="{clean(one.part)}"><title>{clean(one.name)}</title>'
        f'<path class="region-halo" d="{way}" fill="none" stroke="{PAPER}" stroke-width="3.5"/>'
        f'<path class="region-way" d="{way}" fill="none" stroke="{INK}" stroke-width="1"/>'
        f'<circle class="region-dot" cx="{number(ax)}" cy="{number(ay)}" r="2.6" fill="{INK}" '
        f'stroke="{PAPER}"/>{rows}</g>'
    )
    return _linked(inner, one.part, hrefs, is_name=True)
