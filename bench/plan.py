"""How long planning takes: 12 parts with 40 damages, and the demo cases.

Prints figures; run by hand with `python bench/plan.py` on a quiet machine. Processor time stands
beside the clock, since a busy machine stretches only the clock.
"""

from __future__ import annotations

import statistics
import sys
import time
from collections.abc import Callable
from typing import Any

from leastwise.graph import Adviser, Case, load_adviser, read_demo
from leastwise.graph.case.demo import demo_names
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.planning.make import make_plan

WANTED_S = 2.0
KINDS = (
    "crease", "split", "dust", "loose-attachment", "tear", "hole", "fraying", "fold-mark",
    "stain", "tide-line",
)  # fmt: skip
MATERIALS = ("silk", "cotton", "wool", "linen")
EQUIPMENT = ["membrane", "vacuum-hepa", "fume-extraction", "mount-workshop", "dyeing-facility"]


def large_case(adviser: Adviser) -> Case:
    """Return an invented object of 12 parts, each sewn to the next, with 40 damages."""
    parts: list[dict[str, Any]] = [
        {
            "id": f"p{i}", "name": f"part {i}", "lies_flat": "yes" if i % 3 else "no",
            "bears_handling": "yes", "bears_needle": "yes" if i % 4 else "unknown",
            "reverse_reachable": "yes", "sound_surroundings": "yes",
            "materials": [{"material": MATERIALS[i % 4], "identified": "certain"}],
        }
        for i in range(12)
    ]  # fmt: skip
    contacts = [
        {"between": [f"p{i}", f"p{i + 1}"], "kind": "stitched", "barrier": "possible",
         "parting": "impossible"}
        for i in range(11)
    ]  # fmt: skip
    damages = [
        {
            "id": f"d{i}", "damage": KINDS[i % 10], "parts": [f"p{i % 12}"], "activity": "stable",
            "evidence": "no",
        }
        for i in range(40)
    ]  # fmt: skip
    return case_from_data(
        {
            "leastwise_case": 1, "id": "large", "title": "A large case", "demo": True,
            "object": {"name": "costume", "kind": "costume"}, "parts": parts,
            "contacts": contacts, "damages": damages,
            "significance": {"statement": "x", "curator_agrees": "yes"},
            "aim": {"purpose": "display", "mounting": "on-figure", "travels": "no"},
            "means": {"hours": 120, "skill": "conservator", "equipment": EQUIPMENT},
        },
        adviser.knowledge,
    )  # fmt: skip


def seconds(work: Callable[[], object], repeats: int = 5) -> tuple[float, float]:
    """Return the median of clock and processor time, after one run to warm up."""
    work()
    clock, processor = [], []
    for _ in range(repeats):
        start, started = time.perf_counter(), time.process_time()
        work()
        clock.append(time.perf_counter() - start)
        processor.append(time.process_time() - started)
    return statistics.median(clock), statistics.median(processor)


def main() -> int:
    """Measure and print."""
    adviser = load_adviser()
    large = large_case(adviser)
    weighed = seconds(lambda: adviser.weigh(large))
    print(f"12 parts, 40 damages, weighed   {weighed[0]:5.2f} s  (processor {weighed[1]:.2f} s)")
    for undecided in (False, True):
        took = seconds(lambda u=undecided: make_plan(large, adviser, undecided=u))  # type: ignore[misc]
        what = "planned, undecided too" if undecided else "planned"
        share = took[0] / WANTED_S
        print(
            f"12 parts, 40 damages, {what:22s} {took[0]:5.2f} s  (processor {took[1]:.2f} s, "
            f"{share:.2f} of the wanted {WANTED_S:g} s)"
        )
    for name in demo_names():
        case = read_demo(name, adviser.knowledge)
        took = seconds(lambda c=case: make_plan(c, adviser))  # type: ignore[misc]
        print(f"demo:{name:20s} planned     {took[0]:5.2f} s  (processor {took[1]:.2f} s)")
    return 0


if __name__ == "__main__":
    sys.exit(main())
