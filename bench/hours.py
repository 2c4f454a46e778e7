"""Hours that published treatments state, beside the hours of what their sources chose.

For each source that states hours: the working times of the techniques that it chose, on the
problems that they answered, the same choice counted once, and their hours added up. Where its
words fit several techniques, the least and the most of them count; where the hours of some of
these follow from a recorded size, those alone, since the others are those of a small place.
Those of tests/published/hours are halved: one half may be looked at when rates are mended, the
other is held back.

What is stated over what is reckoned (sqrt of least x most) is a source's factor; an open end counts
as its lower end. From the factors comes the spread of graph/planning/projects.py: each source is
held to the spread of the others of its kind (leave one out), and the figures of seed_data are those
that this prints.
Run: python bench/hours.py
"""

from __future__ import annotations

import statistics
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from math import isinf, log, sqrt
from typing import Any

import yaml

from bench.judging import PUBLISHED, entries
from leastwise.graph import Adviser, load_adviser
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.planning.projects import ProjectSpread, mostly_by_size
from leastwise.graph.weighing.needs import problems
from leastwise.graph.weighing.working_time import WorkingTime, working_time


@dataclass(frozen=True)
class Stated:
    """What a source says that the work took: hours, at least and at most, for *pieces* objects."""

    low: float
    high: float
    pieces: int
    words: str


#: As the sources say it; "over" leaves the upper end open.
STATED = {
    "P-017": Stated(150, float("inf"), 1, "more than 150 hours of work"),
    "P-050": Stated(250, float("inf"), 1, "treatment over 250 hours"),
    "P-101": Stated(8, 8, 1, "about 8 hours of stitching a section"),
    "P-135": Stated(1100, float("inf"), 4, "over 1100 hours for four linings"),
    "P-138": Stated(360, 360, 1, "360 hours for a cut of 370 cm"),
    "P-139": Stated(5, 15, 1, "5 to 15 hours a banner"),
    "P-165": Stated(540, 540, 188, "540 hours for 188 bears"),
}


@dataclass(frozen=True)
class Row:
    """One source beside the hours of what it chose; *sized* says if sizes give most of them."""

    entry: str
    words: str
    stated: tuple[float, float]
    reckoned: tuple[float, float]
    sized: bool
    half: str = "read before"

    @property
    def overlaps(self) -> bool:
        """Whether what is stated and what is reckoned have hours in common."""
        return self.stated[0] <= self.reckoned[1] and self.reckoned[0] <= self.stated[1]

    @property
    def factor(self) -> float:
        """How many times as long as reckoned the work took."""
        low, high = self.stated
        return sqrt(low * (low if isinf(high) else high) / (self.reckoned[0] * self.reckoned[1]))


def stated_of(written: dict[str, Any]) -> Stated:
    """Return the hours that a record of tests/published/hours holds; null leaves the end open."""
    said = written["stated"]
    high = float("inf") if said["high"] is None else said["high"]
    return Stated(said["low"], high, said["pieces"], said["words"])


def measured(adviser: Adviser) -> Iterator[Row]:
    """Yield a row for each published treatment that states hours."""
    for one in entries():
        if one["id"] in STATED:
            yield row(one, adviser, STATED[one["id"]])
    for file in sorted((PUBLISHED / "hours").glob("*.yaml")):
        for one in yaml.safe_load(file.read_text(encoding="utf-8")):
            yield row(one, adviser, stated_of(one), one["half"])


def row(written: dict[str, Any], adviser: Adviser, one: Stated, half: str = "read before") -> Row:
    """Return one published treatment beside the hours reckoned for it."""
    case = case_from_data(written["case"], adviser.knowledge)
    parts = {part.id: part for part in case.parts}
    spans: dict[tuple[str, ...], tuple[float, float]] = {}
    longest: list[WorkingTime] = []
    for line in written["expect"].get("chosen") or []:
        named = line["problem"] if isinstance(line["problem"], list) else [line["problem"]]
        wanted = set(line["any_of"])
        techniques = [
            t for t in adviser.catalogue.techniques.values() if wanted & {t.id, *t.groups}
        ]
        mine = [
            working_time(technique, problem, [parts[p] for p in problem.parts])
            for problem in problems(case, adviser.catalogue)
            if problem.id in named or problem.damage in named
            for technique in techniques
        ]
        mine = [time for time in mine if time.by_size] or mine
        if mine:  # the same choice for a second problem is the same work
            longest.append(max(mine, key=lambda time: time.hours[1]))
            key = tuple(sorted(t.id for t in techniques))
            low, high = spans.get(key, (0.0, 0.0))
            spans[key] = (
                max(low, min(time.hours[0] for time in mine)),
                max(high, *(time.hours[1] for time in mine)),
            )
    return Row(
        written["id"],
        one.words,
        (one.low / one.pieces, one.high / one.pieces),
        (sum(low for low, _ in spans.values()), sum(high for _, high in spans.values())),
        mostly_by_size(longest),
        half,
    )


def spread(rows: Sequence[Row]) -> ProjectSpread:
    """Return the spread of some sources."""
    logs = [log(one.factor) for one in rows]
    return ProjectSpread(len(logs), statistics.fmean(logs), statistics.stdev(logs))


def foreseen(one: Row, rows: Sequence[Row], each_end: float = 0.05) -> bool:
    """Return whether a source lies within what the others of its kind lead one to expect."""
    others = [other for other in rows if other.sized is one.sized and other.entry != one.entry]
    low, high = spread(others).factors(each_end)
    return low <= one.factor <= high


def counted(rows: Sequence[Row]) -> str:
    """Return how many of some rows lie within what is reckoned."""
    return f"{sum(one.overlaps for one in rows)} of {len(rows)}"


def main() -> None:
    """Print the hours side by side, how many lie within, and the spread of the projects."""
    rows = list(measured(load_adviser()))
    print(
        "| source | half | it says | hours a piece | reckoned | by size | within | factor | seen |"
    )
    print("|---|---|---|---|---|---|---|---|---|")
    yes = {True: "yes", False: "no"}
    for one in rows:
        low, high = one.stated
        says = f"over {low:.3g}" if isinf(high) else f"{low:.3g} to {high:.3g}"
        span = f"{one.reckoned[0]:.3g} to {one.reckoned[1]:.3g}"
        told = (one.entry, one.half, one.words, says, span, yes[one.sized], yes[one.overlaps])
        print(f"| {' | '.join(told)} | {one.factor:.2g} | {yes[foreseen(one, rows)]} |")
    print(f"Within what is reckoned: {counted(rows)}.")
    for half in ("read before", "mend", "check"):
        print(f"Half, {half}: {counted([one for one in rows if one.half == half])}.")
    for sized in (True, False):
        mine = [one for one in rows if one.sized is sized]
        told_of(spread(mine), "known" if sized else "not known")
        for share, each_end in ((90, 0.05), (50, 0.25)):
            seen = sum(map(partial(foreseen, rows=rows, each_end=each_end), mine))
            print(f"  foreseen by the others at {share} %: {seen} of {len(mine)}")


def told_of(found: ProjectSpread, size: str) -> None:
    """Print a spread as seed_data/planning.ttl holds it, and what it means."""
    low, high = found.factors()
    print(
        f"Size {size}: lw:projects {found.projects} ; lw:meanLog {found.mean:.3f} ; "
        f"lw:deviationLog {found.deviation:.3f}; in the middle {found.middle:.2g} times, "
        f"nine of ten of the next {low:.2g} to {high:.2g} times"
    )


if __name__ == "__main__":
    main()
