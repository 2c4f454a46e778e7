"""Hours that published treatments state, beside the hours of what their sources chose.

For each source that states hours: the working times of the techniques that it chose, on the
problems that they answered, the same choice counted once, and their hours added up. Where the
record holds no size the general hours of a piece of common size stand, and the table says so.
Those of tests/published/hours are halved: one half may be looked at when rates are mended, the
other is held back.
Run: python bench/hours.py
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Any

import yaml
from judging import PUBLISHED, entries

from leastwise.graph import Adviser, load_adviser
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.weighing.needs import problems
from leastwise.graph.weighing.working_time import working_time


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
    """One source beside the hours of what it chose; *sized* tells whether a size is recorded."""

    entry: str
    words: str
    stated: tuple[float, float]
    reckoned: tuple[float, float]
    sized: str
    half: str = "read before"

    @property
    def overlaps(self) -> bool:
        """Whether what is stated and what is reckoned have hours in common."""
        return self.stated[0] <= self.reckoned[1] and self.reckoned[0] <= self.stated[1]


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
    """Return one published treatment beside the hours reckoned for it.

    Where a source's words fit several techniques, the least and the most of them count.
    """
    case = case_from_data(written["case"], adviser.knowledge)
    parts = {part.id: part for part in case.parts}
    spans: dict[tuple[str, ...], tuple[float, float]] = {}
    sized = []
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
        if mine:  # the same choice for a second problem is the same work
            sized += [time.by_size for time in mine if time.in_words]
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
        "yes" if sized and all(sized) else "in part" if any(sized) else "no",
        half,
    )


def counted(rows: Sequence[Row]) -> str:
    """Return how many of some rows lie within."""
    return f"{sum(one.overlaps for one in rows)} of {len(rows)}"


def main() -> None:
    """Print the hours side by side, and how many lie within: by size recorded and by half."""
    rows = list(measured(load_adviser()))
    print("| source | half | it says | hours a piece | reckoned | size recorded | within |")
    print("|---|---|---|---|---|---|---|")
    for one in rows:
        low, high = one.stated
        says = f"over {low:g}" if high == float("inf") else f"{low:.1f} to {high:.1f}"
        span = f"{one.reckoned[0]:.1f} to {one.reckoned[1]:.1f}"
        within = "yes" if one.overlaps else "no"
        print(
            f"| {one.entry} | {one.half} | {one.words} | {says} | {span} | {one.sized} | {within} |"
        )
    print(f"Within the spread: {counted(rows)}.")
    for sized in ("yes", "in part", "no"):
        print(f"Size recorded, {sized}: {counted([one for one in rows if one.sized == sized])}.")
    for half in ("read before", "mend", "check"):
        print(f"Half, {half}: {counted([one for one in rows if one.half == half])}.")


if __name__ == "__main__":
    main()
