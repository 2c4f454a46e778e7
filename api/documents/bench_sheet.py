"""The sheet of one step as a document: everything to work from, with its drawings, as blocks.

The blocks are plain data, so that a template sets them (PDF) and a test reads them. What is drawn
comes from the drawings of the pages, so page, command line and PDF show the same.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

from leastwise.api.documents.proposal_figures import Held, size_of, texts_of
from leastwise.api.documents.words import capital
from leastwise.api.drawings.display import display_drawings
from leastwise.api.drawings.layers import layers_drawing
from leastwise.api.drawings.on_sketch import WHERE, stations_on_sketch
from leastwise.api.drawings.stations import BARS, stations_drawing
from leastwise.graph.answer import Answer
from leastwise.graph.case.record import Case
from leastwise.graph.display.worked import support_details
from leastwise.graph.planning.bench_layers import Layers
from leastwise.graph.planning.bench_sheet import BenchSheet, Row, bench_sheet
from leastwise.graph.planning.costs import cost_of
from leastwise.graph.planning.provisions import Provisions
from leastwise.graph.stations.sheet import humidification_sheet
from leastwise.graph.stations.values import Beside, HumidificationSheet, SectionSheet
from leastwise.graph.weighing.advise import Adviser

__all__ = ["Edition", "Ground", "SheetDocument", "Step", "sheet_document", "worked_step"]

READINGS = 8
SKETCH_MM = 118.0
ADVICE = (
    "Advice for a conservator's own judgement; local codes, safety data sheets and licensed "
    "practice decide. Practice is common practice, not measured."
)

Block = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Edition:
    """What the sheet was made from: case and knowledge by their marks, and the day."""

    case: str
    knowledge: str
    date: str


@dataclass(frozen=True, slots=True)
class Step:
    """What is worked out of one step: its sheet, its stations if it has any, its supports.

    *cost* is by the house's own prices; "" where it gives none.
    """

    sheet: BenchSheet
    stations: HumidificationSheet | None = None
    supports: tuple[Row, ...] = ()
    cost: str = ""


@dataclass(frozen=True, slots=True)
class Ground:
    """The stored sketch of a case, and the photograph that it lies on, if it lies on one."""

    sketch: Mapping[str, object]
    picture_href: str | None = None


@dataclass(frozen=True)
class SheetDocument:
    """A sheet as plain data for the template, with the files of its drawings by key."""

    plain: Mapping[str, Any]
    files: Mapping[str, Held]


def sheet_document(
    case: Case, step: Step, edition: Edition, ground: Ground | None = None
) -> SheetDocument:
    """Return the sheet of one step of a case; stations are drawn on *ground* if there is one."""
    made, sheet, stations = _Maker(), step.sheet, step.stations
    on_sketch = ""
    if stations is not None and ground is not None:
        on_sketch = stations_on_sketch(stations, ground.sketch, ground.picture_href)
    amounts = sheet.amounts if stations is None else stations.amounts
    blocks = [
        *_before(sheet),
        *made.of_step(sheet, stations, on_sketch),
        *made.of_display(sheet),
        *_list("Cost", [step.cost]),
        *_table("Amounts and supports", _rows(amounts)),
        *_table("The supports", _rows(step.supports)),
        *_after(sheet),
    ]
    plain = {
        "title": capital(sheet.label),
        "kind_words": "Bench sheet",
        "about": f"{capital(sheet.problems)} on {', '.join(sheet.parts)} · {sheet.extent}",
        "object": case.title,
        "demo": case.demo,
        "verdict": sheet.verdict.value,
        "people": list(sheet.people),
        "against": list(sheet.against),
        "blocks": blocks,
        "reading": sheet.reading,
        "readings": READINGS,
        "claims": ", ".join(sheet.claims),
        "edition": f"case {edition.case[:10]} · knowledge {edition.knowledge[:10]}",
        "date": edition.date,
        "advice": ADVICE,
        "files": {
            key: {"name": f"{key}.svg", "width": held.width, "height": held.height}
            for key, held in made.files.items()
        },
    }
    return SheetDocument(plain, made.files)


def worked_step(  # noqa: PLR0913, PLR0917 - what a step is worked out from
    adviser: Adviser,
    case: Case,
    answer: Answer,
    option: str,
    stations: HumidificationSheet | None = None,
    also: Sequence[str] = (),
) -> Step:
    """Return all that is worked out of an option; *stations* where they are known already.

    *also* are options for further problems that the same work answers.

    Raises:
        UnknownOption: the case has no such option.

    """
    stations = stations or humidification_sheet(adviser, case, answer, option)
    if stations is not None and not also:
        sheet = stations.frame
    else:
        sheet = bench_sheet(adviser, case, answer, option, also)
    made = adviser.steps(case, option).candidates[0]
    details = support_details(case, adviser.catalogue, made.technique.id, made.parts)
    supports = tuple(Row(row.what, row.value, row.basis) for row in details)
    used = Provisions(adviser.catalogue).materials(made.technique.id, made.damage, made.sized)
    hours = next(o.hours for o in answer.options() if o.id == option)
    cost = cost_of(adviser.knowledge, adviser.policy.id, hours, used)
    return Step(sheet, stations, supports, cost.in_words if cost else "")


def _heading(text: str, level: int = 2) -> Block:
    return {"kind": "heading", "text": text, "level": level}


def _list(title: str, items: Iterable[str], kind: str = "bullets") -> Iterator[Block]:
    found = [capital(one) for one in items if one]
    if found:
        yield _heading(title)
        yield {"kind": kind, "items": found}


def _table(title: str, rows: Sequence[tuple[str, str, str]], level: int = 2) -> Iterator[Block]:
    if rows:
        yield _heading(title, level)
        yield {
            "kind": "table",
            "rows": [[capital(what), value, basis] for what, value, basis in rows],
        }


def _rows(rows: Iterable[Row]) -> list[tuple[str, str, str]]:
    return [(row.what, row.value, row.basis) for row in rows]


def _before(sheet: BenchSheet) -> Iterator[Block]:
    checks = [
        f"{one.what}{', or ' + ', or '.join(one.or_else) if one.or_else else ''}"
        for one in sheet.checks
    ]
    if sheet.more_checks:
        checks.append(f"{sheet.more_checks} more open points stand under Options.")
    yield from _list("Settle first", checks, "ticks")
    yield from _list("Do, in this order", sheet.steps, "steps")
    yield from _list("At hand", [sheet.equipment])


def _after(sheet: BenchSheet) -> Iterator[Block]:
    yield from _list("Look, and at what", sheet.looks)
    yield from _list("Stop at once", sheet.stops, "stops")
    care = [
        *sheet.care,
        *([f"{sheet.more_care} more cautions under Options."] * bool(sheet.more_care)),
    ]
    yield from _list("Take care", care)


@dataclass
class _Maker:
    """Gathers blocks and the drawings that they show."""

    files: dict[str, Held] = field(default_factory=dict)

    def figure(
        self, key: str, svg: str, caption: str, most: float = 1.0, high_mm: float = 200.0
    ) -> Block:
        """Return a drawing as a block; *most* is its width as a share of the page."""
        wide, high = size_of(svg) or (640.0, 400.0)
        self.files[key] = Held(svg.encode(), "image/svg+xml", wide, high)
        alt = " ".join(texts_of(svg))
        return {"kind": "figure", "key": key, "caption": caption, "alt": alt or caption,
                "most": most, "high_mm": high_mm}  # fmt: skip

    def of_step(
        self, sheet: BenchSheet, stations: HumidificationSheet | None, on_sketch: str
    ) -> Iterator[Block]:
        """Yield layers and times, or all stations of a humidification."""
        if stations is None:
            yield from self._layers("layers", sheet.layers, "Layers")
            yield from _table("Times", _rows(sheet.times))
            return
        yield from _list("Before the first station", stations.first)
        yield _heading("Stations")
        yield {"kind": "para", "text": stations.in_words}
        if on_sketch:
            yield self.figure("sketch", on_sketch, WHERE, 0.8, SKETCH_MM)
        yield self.figure("order", stations_drawing(stations), BARS, 0.9)
        notes = [_notes(one) for one in stations.sections]
        common = [line for line in notes[0] if all(line in more for more in notes)]
        common = common if len(notes) > 1 else []
        for one in stations.sections:
            yield from self._section(one, common)
        yield from _list("At every station", common)
        yield from _list("If a station goes wrong", stations.gone_wrong, "steps")
        work = [row for row in _rows(sheet.times) if row[0] == "Work in all"]
        yield from _table("Hours", work)

    def _layers(self, key: str, layers: Layers | None, title: str) -> Iterator[Block]:
        if layers is not None:
            yield _heading(title)
            yield self.figure(key, layers_drawing(layers, f"lw-{key}", title), layers.basis, 0.62)

    def _section(self, one: SectionSheet, common: Collection[str]) -> Iterator[Block]:
        yield _heading(f"{one.number}. {capital(', '.join(one.names))}", 3)
        yield {"kind": "para", "text": one.because}
        places = [
            f"{name}: {found.number} stations, {found.in_words}" if found.number > 1
            else f"{name}: {found.in_words}"
            for name, found in zip(one.names, one.stations, strict=True)
        ]  # fmt: skip
        yield {"kind": "bullets", "items": [capital(line) for line in places]}
        times = [[t.what, t.value, f"{t.basis}. {t.remark}".strip()] for t in one.times]
        figure = None
        if one.layers is not None:
            key = f"pack-{one.number}"
            drawn = layers_drawing(one.layers, f"lw-{key}", f"Pack on the {one.names[0]}")
            figure = self.figure(key, drawn, f"The pack of one station. Cloth: {one.cloth}.")
        yield {"kind": "beside", "figure": figure, "rows": times}
        lines = [*(_beside(near) for near in one.neighbours), *_notes(one)]
        yield {"kind": "bullets", "items": [line for line in lines if line not in common]}

    def of_display(self, sheet: BenchSheet) -> Iterator[Block]:
        """Yield what is worked out of a mount, with its drawings to scale."""
        if sheet.display is None:
            return
        drawn = display_drawings(sheet.display)
        if drawn:
            yield _heading("Display, drawn to scale")
        for n, svg in enumerate(drawn, 1):
            yield self.figure(f"display-{n}", svg, "Drawn to scale.", 0.74)
        yield from _table("Sizes and loads", _rows(sheet.worked))


def _notes(one: SectionSheet) -> list[str]:
    notes = [one.reshaping, *one.physics, " ".join(one.relaxes), *one.missing]
    return [line for line in notes if line]


def _beside(one: Beside) -> str:
    film = f"{capital(one.name)} ({one.contact.replace('-', ' ')}): {one.film}."
    return " ".join((film, *one.says))
