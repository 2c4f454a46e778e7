"""The sections of a humidification, drawn: in order of work, with films and what lies beside."""

from __future__ import annotations

from leastwise.api.drawings.svg import ACCENT, INK, QUIET, Sheet, wrapped
from leastwise.graph.case.record import Tri
from leastwise.graph.stations.sheet import Beside, HumidificationSheet, SectionSheet

__all__ = ["BARS", "stations_drawing", "stations_in_words"]

#: What stands below the drawing.
BARS = (
    "Bars are films: whole, it lies there; dashed, it can be laid; dotted, nobody has looked. "
    "Not to scale."
)

LEFT, BOX, GAP, BESIDE, LINE = 8, 250, 46, 330, 15.0
NAME, NOTE = 14.0, 12.0
MOST_STATIONS = 24
#: What a neighbour bears, without and with a film, in words and by its mark.
STATES = {
    (Tri.NO, Tri.YES): "dry only behind a film",
    (Tri.NO, Tri.NO): "too damp even behind a film",
    (Tri.YES, Tri.YES): "bears it, with a film or without",
    (Tri.NO, Tri.UNKNOWN): "too damp without a film",
    (Tri.YES, Tri.UNKNOWN): "bears it without a film",
}
UNKNOWN = "what it bears is not known: test"


def stations_in_words(sheet: HumidificationSheet) -> str:
    """Return the drawing as sentences."""
    said = []
    for one in sheet.sections:
        beside = "; ".join(f"{n.name}: {_state(n)}" for n in one.neighbours) or "nothing"
        said.append(f"{one.number}. {', '.join(one.names)}, {_number(one)}; beside it: {beside}.")
    return " ".join(said)


def stations_drawing(sheet: HumidificationSheet, name: str = "lw-stations") -> str:
    """Return the sections as SVG: one row each, in order of work; not to scale."""
    drawn = Sheet(name)
    y = 10.0
    for place, one in enumerate(sheet.sections):
        if place:
            drawn.add("path", d=f"M{LEFT + 20} {y - GAP + 8}v{GAP - 16}", stroke=INK, fill="none")
            drawn.add(
                "path",
                d=f"M{LEFT + 15} {y - 16}l5 8l5 -8",
                stroke=INK,
                fill="none",
            )
            drawn.text(LEFT + 34, y - GAP / 2 + 4, "when it has dried well", NOTE, fill=QUIET)
        y += _row(drawn, y, one) + GAP
    return drawn.render(y - GAP + 10, "Stations in order of work", stations_in_words(sheet))


def _row(drawn: Sheet, y: float, one: SectionSheet) -> float:
    """Draw a section with its neighbours; return its height."""
    names = wrapped(f"{one.number}. {', '.join(one.names)}", BOX - 16, NAME)[:4]
    height = max(22 + 18 * len(names) + 34, 12 + 40.0 * len(one.neighbours))
    drawn.add("rect", x=LEFT, y=y, width=BOX, height=height, fill="#efe6d8", stroke=INK)
    for i, line in enumerate(names):
        drawn.text(LEFT + 8, y + 18 + 18 * i, line, NAME, font_weight="600" if not i else "400")
    at = y + 18 + 18 * len(names)
    drawn.text(LEFT + 8, at, _number(one), NOTE, fill=QUIET)
    _stations(drawn, at + 8, sum(s.number for s in one.stations))
    for i, beside in enumerate(one.neighbours):
        _beside(drawn, y + 6 + 40 * i, beside)
    return height


def _stations(drawn: Sheet, y: float, number: int) -> None:
    """Draw a small upright for each station, as many as the box has room for."""
    for i in range(min(number, MOST_STATIONS)):
        drawn.add(
            "rect",
            x=LEFT + 8 + 9.6 * i,
            y=y,
            width=7,
            height=10,
            fill="#dfe9ea",
            stroke=ACCENT,
        )


def _beside(drawn: Sheet, y: float, one: Beside) -> None:
    """Draw a neighbour with the film before it: a full bar, a dashed one, or none."""
    x = LEFT + BOX + 34
    drawn.add("path", d=f"M{LEFT + BOX} {y + 14}H{BESIDE}", stroke=QUIET, stroke_dasharray="2 3")
    dashes = {"done": "", "possible": "6 3", "unknown": "1 4"}.get(one.barrier)
    if dashes is not None:
        drawn.add("path", d=f"M{x} {y}v28", stroke=ACCENT, stroke_width=4, stroke_dasharray=dashes)
    lines = wrapped(one.name, 290, NAME)[:1]
    drawn.text(BESIDE + 6, y + 12, lines[0], NAME)
    drawn.text(BESIDE + 6, y + 28, _state(one), NOTE, fill=QUIET)


def _state(one: Beside) -> str:
    return STATES.get((one.bare, one.behind), UNKNOWN)


def _number(one: SectionSheet) -> str:
    known = [s.number for s in one.stations]
    if not all(known):
        return "stations: size not recorded"
    many = sum(known)
    size = one.stations[0]
    return f"{many} station{'s' * (many > 1)} of {size.width_cm:g} by {size.height_cm:g} cm"
