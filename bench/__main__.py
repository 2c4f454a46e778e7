"""How fast Leastwise is, in one table: each figure beside its goal, by the clock and the processor.

    python -m bench [--pyshacl] [--only WORD ...] [--write docs/speed.md]

Run from the root of the source, with `pip install -e ".[bench]"`. The public engines run in the
same run on the same data, and the figures count only if all give the same results. pySHACL takes
minutes and is left out unless it is asked for; nothing is extrapolated. On a machine that does
something else besides, the processor's time says more than the clock's.
"""

from __future__ import annotations

import argparse
from collections.abc import Iterator
from datetime import UTC, datetime
from pathlib import Path

from bench.clock import machine
from bench.figures import ALL, Bench, Figure

HEAD = "| figure | measured on | goal | wall p50 | p95 | processor p50 | p95 | met |"


def row(figure: Figure) -> str:
    """Return a figure as a row of the table; what is met is judged by the processor's time."""
    walls, processors = figure.shown()
    goal = f"{figure.goal} / {figure.goal_p95}" if figure.goal_p95 else figure.goal
    cells = (figure.name, figure.workload, goal, *walls, *processors, figure.met)
    return f"| {' | '.join(cells)} |"


def lines(bench: Bench, only: list[str]) -> Iterator[str]:
    """Yield the table line by line, as its figures are measured."""
    yield HEAD
    yield "|---" * HEAD.count(" | ") + "|---|"
    for group in ALL:
        if not only or any(word in group.__name__ for word in only):
            for figure in group(bench):
                yield row(figure)


def main() -> None:
    """Measure, print and, if asked to, write."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--pyshacl", action="store_true", help="let pySHACL run too (minutes)")
    parser.add_argument("--only", nargs="*", default=[], help="words of the groups to measure")
    parser.add_argument("--write", type=Path, help="a file to put between its two marks")
    given = parser.parse_args()
    head = f"Measured on {datetime.now(UTC).date().isoformat()}: {machine()}.\n"
    print(head, flush=True)
    table = []
    for line in lines(Bench(pyshacl=given.pyshacl), given.only):
        print(line, flush=True)
        table.append(line)
    if given.write:
        _write(given.write, "\n".join([head, *table]))


def _write(path: Path, text: str) -> None:
    """Put the table in its place in a page."""
    start, end = "<!-- measured: start -->", "<!-- measured: end -->"
    before, _, rest = path.read_text("utf-8").partition(start)
    after = rest.partition(end)[2]
    path.write_text(f"{before}{start}\n\n{text}\n\n{end}{after}", "utf-8")


if __name__ == "__main__":
    main()
