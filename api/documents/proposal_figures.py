"""The drawings and photographs of a proposal, each with a caption and words that stand for it."""

from __future__ import annotations

import base64
import io
import itertools
import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from html import unescape
from typing import TYPE_CHECKING

from PIL import Image

from leastwise.api.drawings.arguments import draw_arguments
from leastwise.api.drawings.network import network_drawing, touches_of
from leastwise.api.drawings.order import order_charts
from leastwise.api.drawings.places import Place
from leastwise.api.drawings.regions import region_drawing
from leastwise.graph.meanings import BLOCKING
from leastwise.graph.proposal.report.choice import Work
from leastwise.graph.proposal.report.values import Figure, Line, Para
from leastwise.graph.weighing.argument import ArgumentGraph

if TYPE_CHECKING:
    from leastwise.api.store import Picture

__all__ = [
    "MOST_PHOTOGRAPHS",
    "PRINT_PIXELS",
    "TYPES",
    "Figures",
    "Held",
    "Photograph",
    "add_drawing",
    "as_address",
    "as_jpeg",
    "figures_of",
    "photograph_figures",
    "photograph_of",
    "size_of",
    "texts_of",
]

#: Drawings that can't be read on paper are left out, and it is said.
MOST_ARGUMENTS, MOST_DRAWINGS, MOST_PHOTOGRAPHS = 14, 6, 24
#: Width and height that a drawing has on a page, and the letters that can still be read, in points.
PAGE, LETTER, READABLE = (420.0, 468.0), 13.0, 4.6
TOO_LARGE = (
    "A drawing of how these parts touch could not be read on a page; the table above lists every "
    "contact."
)
SKETCH_PIXELS, PRINT_PIXELS = 1000, 1800
TYPES = {"image/jpeg": "jpg", "image/png": "png", "image/webp": "webp", "image/gif": "gif"}
STAGES = {"before": "before treatment", "during": "during treatment", "after": "after treatment"}
_SIZE = re.compile(r'<svg[^>]*? viewBox="[\d.-]+ [\d.-]+ ([\d.]+) ([\d.]+)"')


@dataclass(frozen=True, slots=True)
class Photograph:
    """A photograph of a case with its file."""

    name: str
    stage: str
    media_type: str
    width: int
    height: int
    data: bytes


@dataclass(frozen=True, slots=True)
class Held:
    """The file of a figure; width and height in its own units (pixels)."""

    data: bytes
    media_type: str
    width: float
    height: float

    @property
    def suffix(self) -> str:
        """Return how the file's name ends."""
        return "svg" if self.is_drawing else TYPES[self.media_type]

    @property
    def is_drawing(self) -> bool:
        """Return whether it is a drawing of ours."""
        return self.media_type == "image/svg+xml"


@dataclass
class Figures:
    """Figures by section, and their files by key, as they are gathered."""

    by_section: dict[str, list[Figure | Para]] = field(default_factory=dict)
    files: dict[str, Held] = field(default_factory=dict)
    photographs_before: int = 0

    def add(self, section: str, figure: Figure, held: Held) -> None:
        """Put a figure into a section."""
        self.by_section.setdefault(section, []).append(figure)
        self.files[figure.key] = held


def figures_of(
    work: Work,
    *,
    photographs: Sequence[Photograph] = (),
    sketch: Mapping[str, object] | None = None,
    sketch_photograph: Photograph | None = None,
) -> Figures:
    """Return the figures of a proposal: photographs, sketch, contacts, order of work, reasons.

    *sketch_photograph* is what the sketch is drawn on, where that isn't a silhouette.
    """
    case = work.case
    found = Figures(photographs_before=sum(p.stage == "before" for p in photographs))
    if sketch and sketch.get("regions"):
        href = as_address(sketch_photograph) if sketch_photograph else None
        label = work.adviser.knowledge.label
        places = [
            Place(i, damage.in_words(label), damage.place.x, damage.place.y)
            for i, damage in enumerate(case.damages, 1)
            if damage.place is not None
        ]
        drawn = region_drawing(case, sketch, href, name="proposal-sketch", places=places)
        add_drawing(found, "images", "sketch", drawn, "Sketch with the regions of the parts.")
    _photographs(found, photographs)
    if case.contacts:
        drawn = network_drawing(
            [(p.id, p.name) for p in case.parts], touches_of(case), name="proposal-net", widest=760
        )
        add_drawing(
            found, "observation", "contacts", drawn, "How the parts touch.", small=TOO_LARGE
        )
    if len(work.steps) > 1:
        for i, drawn in enumerate(order_charts(work.steps, "proposal-order"), 1):
            add_drawing(
                found, "method", f"order-{i}", drawn, "The order of the work over the hours."
            )
    _reasons(found, work)
    return found


def _photographs(found: Figures, photographs: Sequence[Photograph]) -> None:
    shown = [p for p in photographs if p.media_type in TYPES][:MOST_PHOTOGRAPHS]
    named = photograph_figures([(p.name, p.stage) for p in shown])
    for figure, one in zip(named, shown, strict=True):
        found.add("images", figure, as_jpeg(one, PRINT_PIXELS))


def photograph_figures(named: Sequence[tuple[str, str]]) -> list[Figure]:
    """Return photographs as figures, from the name and stage of each."""
    found = []
    for i, (name, stage) in enumerate(named, 1):
        when = STAGES.get(stage, stage)
        alt = f"Photograph of the object, {when}, called {name}"
        found.append(Figure(f"photograph-{i}", f"Photograph {i}, {when}: {name}", alt))
    return found


def photograph_of(picture: Picture) -> Photograph:
    """Return a stored photograph as documents take it."""
    return Photograph(
        picture.name,
        picture.stage,
        picture.media_type,
        picture.width,
        picture.height,
        picture.data,
    )


def as_address(photograph: Photograph) -> str:
    """Return a photograph as an address that holds it, no wider than the sketch needs it."""
    small = as_jpeg(photograph, SKETCH_PIXELS)
    return f"data:image/jpeg;base64,{base64.b64encode(small.data).decode()}"


def as_jpeg(photograph: Photograph, most: int) -> Held:
    """Return a photograph as JPEG, no side longer than *most*, so that documents stay small."""
    whole = max(photograph.width, photograph.height) <= most
    if whole and photograph.media_type == "image/jpeg":
        return Held(photograph.data, "image/jpeg", photograph.width, photograph.height)
    turned = io.BytesIO()
    with Image.open(io.BytesIO(photograph.data)) as picture:
        picture.thumbnail((most, most))
        flat = Image.new("RGB", picture.size, "white")
        solid = picture.convert("RGBA")
        flat.paste(solid, mask=solid.getchannel("A"))
        flat.save(turned, "JPEG", quality=85)
        return Held(turned.getvalue(), "image/jpeg", *flat.size)


def _reasons(found: Figures, work: Work) -> None:
    """Draw the arguments on what is proposed and on what would help more but is barred."""
    drawn = itertools.islice(_argued(work), MOST_DRAWINGS)
    for number, (label, graph) in enumerate(drawn, 1):
        add_drawing(
            found,
            "reasons",
            f"reasons-{number}",
            draw_arguments(label, graph),
            f"What speaks for and against {label}, {graph.verdict}. An arrow points from what "
            "attacks to what is attacked.",
        )


def _argued(work: Work) -> Iterator[tuple[str, ArgumentGraph]]:
    """Yield the options whose arguments are worth a drawing and fit into one, each by its label."""
    barred = [b.option for left in work.plan.left_undone for b in left.barred[:1]]
    known = work.choices.options
    for option in dict.fromkeys([*(o.id for o in work.proposed), *barred]):
        speaks = [f for f in known[option].findings if f.effect in BLOCKING]
        if not 1 <= len(speaks) <= MOST_ARGUMENTS:
            continue
        graph = work.adviser.arguments(work.case, option)
        if 2 <= len(graph.arguments) <= MOST_ARGUMENTS:
            yield known[option].label, graph


def add_drawing(  # noqa: PLR0913, PLR0917 - what a drawing is told by
    found: Figures, section: str, key: str, svg: str, caption: str, small: str = ""
) -> None:
    """Add a drawing; its description is the text that stands for it.

    *small* is said instead where nobody could read it on a page.
    """
    size = size_of(svg)
    if size is None:
        return
    if small and LETTER * min(PAGE[0] / size[0], PAGE[1] / size[1]) < READABLE:
        found.by_section.setdefault(section, []).append(Para(Line(small)))
        return
    said = " ".join(texts_of(svg))
    held = Held(svg.encode(), "image/svg+xml", *size)
    found.add(section, Figure(key, caption, said or caption), held)


def size_of(svg: str) -> tuple[float, float] | None:
    """Return the width and height of a drawing in its own units; None where it names none."""
    size = _SIZE.search(svg)
    return None if size is None else (float(size[1]), float(size[2]))


def texts_of(svg: str) -> Iterator[str]:
    """Yield title and description of a drawing, which stand for it where nobody sees it."""
    for tag in ("title", "desc"):
        match = re.search(rf"<{tag}[^>]*>(.*?)</{tag}>", svg, re.DOTALL)
        if match:
            yield unescape(match[1]).strip()
