"""The arguments of one option as a drawing: who attacks whom, and what stands in the end.

Boxes say in words whether an argument is in, out or undecided, so that nothing hangs on colour.
An arrow is an attack. The option stands on the left, what speaks against it in the middle, what
answers that on the right.
"""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from xml.sax.saxutils import escape

from leastwise.graph.sentences import counted
from leastwise.graph.weighing.argument import Argument, ArgumentGraph

__all__ = ["draw_arguments"]

BOX_WIDTH, GAP, LINE, PAD, COLUMN = 300, 14, 17, 10, 390
CHARACTERS = 40
MOST_LINES = 12  # no sentence of a rule is longer
KINDS = {
    "option": "option",
    "con": "against",
    "open": "open",
    "hope": "hope",
    "answer": "answer",
}
FILL = {"in": "#e7f3ea", "out": "#f1f1f1", "undecided": "#fdf4dc"}
EDGE = {"in": "#1f6b3a", "out": "#6b6b6b", "undecided": "#8a6100"}

HEAD_OF_ARROW = (
    '<defs><marker id="attack" viewBox="0 0 8 8" refX="8" refY="4" markerWidth="8" '
    'markerHeight="8" orient="auto"><path d="M0 0L8 4L0 8z"/></marker></defs>'
)


@dataclass(frozen=True, slots=True)
class _Box:
    """A box with its place and its lines."""

    x: int
    y: int
    height: int
    lines: tuple[str, ...]
    label: str


def draw_arguments(title: str, graph: ArgumentGraph) -> str:
    """Return the arguments of an option as SVG text, with a title and a description in words.

    *title* names the option. The same graph gives the same text.
    """
    boxes = _laid_out(graph)
    width = max(b.x for b in boxes.values()) + BOX_WIDTH + GAP
    height = max(b.y + b.height for b in boxes.values()) + GAP
    arrows = [_arrow(boxes[a], boxes[b]) for a, b in sorted(graph.attacks.edges)]
    drawn = [_box(box) for _, box in sorted(boxes.items())]
    return "\n".join(
        [
            f'<svg xmlns="http://www.w3.org/2000/svg" role="img" viewBox="0 0 {width} {height}" '
            f'width="{width}" height="{height}" font-family="sans-serif" font-size="13">',
            f"<title>Arguments on {escape(title)}</title>",
            f"<desc>{escape(_described(title, graph, len(boxes)))}</desc>",
            HEAD_OF_ARROW,
            *arrows,
            *drawn,
            "</svg>\n",
        ]
    )


def _described(title: str, graph: ArgumentGraph, number: int) -> str:
    attacks = len(graph.attacks.edges)
    return (
        f"{title} is {graph.verdict}. {counted(number, 'argument')}, {counted(attacks, 'attack')}; "
        "an arrow points from what attacks to what is attacked."
    )


def _laid_out(graph: ArgumentGraph) -> dict[str, _Box]:
    """Put each answer beside what it answers, and the option level with the first attack."""
    boxes, y = {}, GAP
    for attacker in graph.attackers("option"):
        lines = _lines(attacker)
        answers = [a for a in graph.attackers(attacker.id) if a.id != "option"]
        heights = [_height(lines), *(_height(_lines(a)) for a in answers)]
        boxes[attacker.id] = _boxed(graph, attacker, 1, y)
        for i, answer in enumerate(answers):
            below = sum(h + GAP for h in heights[1 : 1 + i])
            boxes[answer.id] = _boxed(graph, answer, 2, y + below)
        y += max(heights[0], sum(heights[1:]) + GAP * max(0, len(answers) - 1)) + GAP
    boxes["option"] = _boxed(graph, graph.arguments["option"], 0, GAP)
    return boxes


def _boxed(graph: ArgumentGraph, argument: Argument, column: int, y: int) -> _Box:
    lines = _lines(argument)
    label = graph.labels[argument.id]
    head = f"{KINDS[argument.kind]}: {label}"
    return _Box(GAP + column * COLUMN, y, _height(lines), (head, *lines), label)


def _lines(argument: Argument) -> tuple[str, ...]:
    """Return the text of an argument in lines that fit its box."""
    e = argument.exposure
    text = argument.text
    if e is not None and not text:
        agent, material = (
            name.partition(":")[2].replace("-", " ") for name in (e.agent, e.material)
        )
        text = f"{agent} would reach {material} of {e.part}"
    elif e is not None:
        text = f"a {text} keeps it away"
    return tuple(
        textwrap.wrap(text, CHARACTERS, max_lines=MOST_LINES, placeholder=" ...") or [argument.id]
    )


def _height(lines: tuple[str, ...]) -> int:
    return 2 * PAD + LINE * (len(lines) + 1)


def _box(box: _Box) -> str:
    head, *rest = box.lines
    x, top = box.x + PAD, box.y + PAD + 12
    rows = [f'<tspan x="{x}" font-weight="bold">{escape(head)}</tspan>']
    rows += [f'<tspan x="{x}" dy="{LINE}">{escape(line)}</tspan>' for line in rest]
    return (
        f'<rect x="{box.x}" y="{box.y}" width="{BOX_WIDTH}" height="{box.height}" rx="4" '
        f'fill="{FILL[box.label]}" stroke="{EDGE[box.label]}" stroke-width="1.5"/>'
        f'<text x="{x}" y="{top}" fill="#111">{"".join(rows)}</text>'
    )


def _arrow(start: _Box, end: _Box) -> str:
    """Return an arrow; of two boxes that attack each other each arrow has a line of its own."""
    leftward = start.x > end.x
    x1, x2 = (start.x, end.x + BOX_WIDTH) if leftward else (start.x + BOX_WIDTH, end.x)
    shift = -5 if leftward else 5
    y1 = start.y + min(start.height, 56) // 2 + shift
    y2 = end.y + min(end.height, 56) // 2 + shift
    middle = (x1 + x2) // 2
    return (
        f'<path d="M{x1} {y1}C{middle} {y1} {middle} {y2} {x2} {y2}" fill="none" '
        'stroke="#333" stroke-width="1.2" marker-end="url(#attack)"/>'
    )
