"""Hours that published treatments state, beside the hours of what their sources chose.

For each source that states hours: the working times of the techniques that it chose, on the
problems that they answered, the same choice counted once, and their hours added up. Where the
record holds no size the general hours of a piece of common size stand, and the table says so.
Run: python bench/hours.py
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from judging import entries

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

    @property
    def overlaps(self) -> bool:
        """Whether what is stated and what is reckoned have hours in common."""
        return self.stated[0] <= self.reckoned[1] and self.reckoned[0] <= self.stated[1]


def row(written: dict[str, Any], adviser: Adviser) -> Row:
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
    one = STATED[written["id"]]
    return Row(
        written["id"],
        one.words,
        (one.low / one.pieces, one.high / one.pieces),
        (sum(low for low, _ in spans.values()), sum(high for _, high in spans.values())),
        "yes" if sized and all(sized) else "in part" if any(sized) else "no",
    )


def main() -> None:
    """Print the hours side by side."""
    adviser = load_adviser()
    rows = [row(one, adviser) for one in entries() if one["id"] in STATED]
    print("| source | it says | hours a piece | reckoned | size recorded | within |")
    print("|---|---|---|---|---|---|")
    for one in rows:
        low, high = one.stated
        says = f"over {low:g}" if high == float("inf") else f"{low:.1f} to {high:.1f}"
        span = f"{one.reckoned[0]:.1f} to {one.reckoned[1]:.1f}"
        within = "yes" if one.overlaps else "no"
        print(f"| {one.entry} | {one.words} | {says} | {span} | {one.sized} | {within} |")
    sized = [one for one in rows if one.sized != "no"]
    print(
        f"{sum(one.overlaps for one in rows)} of {len(rows)} within the spread; "
        f"of {len(sized)} with a recorded size {sum(one.overlaps for one in sized)}."
    )


if __name__ == "__main__":
    main()
