"""The layers of a stack in section, to scale of order, with the way that moisture takes."""

from __future__ import annotations

import math
from dataclasses import dataclass

from leastwise.api.drawings.svg import ACCENT, INK, QUIET, Sheet, wrapped
from leastwise.graph.physics import Layer, Question, Role, Stack
from leastwise.graph.physics.bounds import rounded

__all__ = ["draw_section", "stack_in_words", "stack_section"]

LEFT, RIGHT = 214, 416
WAY = 285  # where moisture goes up
PITCH = 36  # from label to label
#: Role -> pattern, tone.
LOOK = {
    Role.SUPPORT: ("hatch", "#f1efe9"),
    Role.BARRIER: ("", INK),
    Role.BLOTTER: ("dots", "#dfe9ea"),
    Role.MEMBRANE: ("dashes", "#ffffff"),
    Role.TISSUE: ("web", "#ffffff"),
    Role.TEXTILE: ("weave", "#efe6d8"),
    Role.AIR_GAP: ("", "#ffffff"),
    Role.COVER: ("", INK),
}


@dataclass(frozen=True, slots=True)
class _Band:
    layer: Layer
    top: float
    height: float

    @property
    def middle(self) -> float:
        return self.top + self.height / 2


def layer_height(layer: Layer) -> float:
    """Return the height of a layer: by the order of its thickness, thin ones still visible."""
    if layer.role in (Role.BARRIER, Role.COVER):
        return 6.0
    return 16.0 + 12.0 * max(0.0, min(2.2, math.log10(max(layer.thickness_mm, 0.1) / 0.1)))


def stack_section(stack: Stack, question: Question, title: str = "") -> str:
    """Return the section of a stack as SVG."""
    sheet = Sheet("lw-section")
    height = draw_section(sheet, 30, stack, question)
    name = title or "Layers of a stack in section"
    return sheet.render(height + 12, name, stack_in_words(stack, question))


def stack_in_words(stack: Stack, question: Question) -> str:
    """Return the section as a sentence, from below upwards."""
    layers = ", ".join(f"{x.name} ({_role(x, question)})" for x in stack.layers)
    return (
        f"From below upwards: {layers}. {_way_in_words(stack, question)} Heights follow the "
        "order of thickness."
    )


def _way_in_words(stack: Stack, question: Question) -> str:
    wet = [x.name for x in stack.layers if x.role is Role.BLOTTER]
    top = "the cover" if stack.layers[-1].role is Role.COVER else "the open air of the room"
    source = f"Moisture goes from {wet[0]} to {question.treated}" if wet else "There is no source"
    beside = f"; {question.neighbour} lies beside it" if question.neighbour else ""
    return f"{source}{beside}; above lies {top}."


def draw_section(
    sheet: Sheet, y: float, stack: Stack, question: Question, hole_mm: float | None = None
) -> float:
    """Draw the section from *y* down and return where it ends."""
    top = sheet.heading(
        y,
        "Section of the stack",
        "Heights follow the order of thickness, not the thickness itself.",
    )
    bands = _bands(stack, top + (6 if stack.layers[-1].role is Role.COVER else 24))
    bottom = bands[0].top + bands[0].height
    for band in bands:
        _draw_band(sheet, band, question)
    _hole(sheet, bands, hole_mm)
    _way(sheet, bands, stack, question)
    labels = _spaced([band.middle for band in reversed(bands)], PITCH, bands[-1].top + 6)
    for band, place in zip(reversed(bands), labels, strict=True):
        _label(sheet, band, place, question)
    return max(bottom, labels[-1] + 14) + 8


def _bands(stack: Stack, top: float) -> list[_Band]:
    """Return the bands from below upwards, stretched so that their labels have room."""
    heights = [layer_height(layer) for layer in stack.layers]
    factor = max(1.0, (len(heights) * PITCH - 10) / sum(heights))
    thick = [
        h if x.role in (Role.BARRIER, Role.COVER) else h * factor
        for h, x in zip(heights, stack.layers, strict=True)
    ]
    base, bands = top + sum(thick), []
    for layer, height in zip(stack.layers, thick, strict=True):
        base -= height
        bands.append(_Band(layer, base, height))
    return bands


def _spaced(wanted: list[float], gap: float, first: float) -> list[float]:
    """Return places near those wanted, from above down, at least a gap apart.

    >>> _spaced([10, 12, 60], 20, 0)
    [10, 30, 60]
    """
    places: list[float] = []
    for place in wanted:
        places.append(max(place, places[-1] + gap if places else first))
    return places


def _draw_band(sheet: Sheet, band: _Band, question: Question) -> None:
    layer, width = band.layer, RIGHT - LEFT
    pattern, tone = LOOK[layer.role]
    sheet.filled((LEFT, band.top, width, band.height), pattern, tone)
    treated = layer.name == question.treated
    outline = {"stroke_width": 3.0, "stroke": ACCENT} if treated else {"stroke_width": 1.0}
    dash = "5 3" if layer.name == question.neighbour else None
    dashed = {"stroke_dasharray": dash, "stroke_width": 2.0} if dash else {}
    style = {"stroke": INK, "fill": "none", **outline, **dashed}
    inset = 1.5 if treated else 0.0
    sheet.rect(LEFT, band.top + inset, width, band.height - 2 * inset, **style)


def _hole(sheet: Sheet, bands: list[_Band], hole_mm: float | None) -> None:
    """Draw a gap in the membrane, not to scale, with its width."""
    pierced = next((b for b in bands if b.layer.role is Role.MEMBRANE), None)
    if hole_mm is None or pierced is None:
        return
    place = RIGHT - 22
    sheet.rect(place, pierced.top - 0.6, 12, pierced.height + 1.2, fill="#ffffff")
    for edge in (place, place + 12):
        sheet.line([(edge, pierced.top), (edge, pierced.top + pierced.height)])
    words = f"hole {hole_mm:g} mm"
    sheet.text(place - 4, pierced.middle + 4, words, 12, text_anchor="end", halo=True)


def _way(sheet: Sheet, bands: list[_Band], stack: Stack, question: Question) -> None:
    """Draw the way of moisture from the source both ways until a film stops it."""
    wet = next((i for i, b in enumerate(bands) if b.layer.role is Role.BLOTTER), None)
    if wet is None:
        return
    for step, offset in ((1, 0), (-1, 34)):
        _arm(sheet, bands, wet, step, offset)
    if stack.layers[-1].role is not Role.COVER:
        top = bands[-1].top
        sheet.text(WAY + 10, top - 5, "to the room", 12, fill=ACCENT, halo=True)


def _arm(sheet: Sheet, bands: list[_Band], wet: int, step: int, offset: int) -> None:
    """Draw one arm of the way, upwards or downwards, as far as the film that stops it."""
    x, here = WAY - offset, wet + step
    start = bands[wet].middle
    while 0 <= here < len(bands) and bands[here].layer.role not in (Role.BARRIER, Role.COVER):
        here += step
    stopped = 0 <= here < len(bands)
    if abs(here - wet) == 1 and stopped:
        return  # a film lies on the source itself
    last = bands[here - step]
    end = last.top + (last.height - 2 if step < 0 else 2)
    if not stopped and step > 0:
        end = last.top - 16
    sheet.line([(x, start), (x, end)], stroke="#ffffff", stroke_width=7)
    sheet.arrow((x, start), (x, end), stroke=ACCENT, stroke_width=2.4)


def _label(sheet: Sheet, band: _Band, place: float, question: Question) -> None:
    """Write what the layer is at its left, and its figures at its right."""
    layer = band.layer
    for edge, knee, end in ((LEFT, LEFT - 8, LEFT - 14), (RIGHT, RIGHT + 8, RIGHT + 14)):
        points = [(edge, band.middle), (knee, band.middle), (end, place)]
        sheet.line(points, stroke=QUIET, stroke_width=0.8)
    weight = "bold" if layer.name in (question.treated, question.neighbour) else "normal"
    name = wrapped(layer.name, 178, 13)
    shown = name[0] if len(name) == 1 else name[0] + " …"
    sheet.text(LEFT - 18, place - 1, shown, 13, text_anchor="end", font_weight=weight)
    sheet.text(LEFT - 18, place + 13, _role(layer, question), 12, text_anchor="end", fill=QUIET)
    lines = wrapped(_figures(layer), sheet.width - RIGHT - 26, 12)[:2]
    first = place + 4 if len(lines) == 1 else place - 1
    for k, line in enumerate(lines):
        sheet.text(RIGHT + 18, first + 14 * k, line, 12)


def _role(layer: Layer, question: Question) -> str:
    if layer.name == question.treated:
        return "treated"
    if layer.name == question.neighbour:
        return f"keep under {100 * question.neighbour_limit:g} % RH"
    return layer.role.value


def _figures(layer: Layer) -> str:
    """Return the figures of a layer, with units."""
    said = []
    if layer.fibre and layer.role in (Role.TEXTILE, Role.TISSUE):
        said.append(layer.fibre)
    if layer.role in (Role.MEMBRANE, Role.BARRIER, Role.COVER):
        said.append(layer.kind)
        said.append(f"{rounded(layer.resistance_s_m):,.0f} s/m".replace(",", " "))
    if layer.areal_density_g_m2:
        said.append(f"{layer.areal_density_g_m2:g} g/m²")
    if layer.thickness_mm and layer.role is not Role.MEMBRANE:
        said.append(f"{layer.thickness_mm:g} mm")
    if layer.water_load_g_m2:
        said.append(f"+ {layer.water_load_g_m2:g} g/m² water")
    if layer.colder_by_k:
        said.append(f"{layer.colder_by_k:g} K colder")
    return ", ".join(said)
