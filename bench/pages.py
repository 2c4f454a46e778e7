"""How long the pages of a large case take: first view after a change, second view, and why.

40 parts of 3 materials, 60 contacts, 12 damages. Prints milliseconds and ratios, asserts none.
Run: python -m bench.pages [--plain] (with --plain the collector is left as it is).
"""

from __future__ import annotations

import argparse
import copy
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

from fastapi.testclient import TestClient

from bench.large_case import large_record
from leastwise.api.app import create_app
from leastwise.api.pages.steps import STEPS
from leastwise.api.pages.warm import calm_collector, start_warming
from leastwise.api.settings import Settings
from leastwise.api.store import Store
from leastwise.graph import Adviser, load_adviser
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.questions.acceptability import case_shares

GOAL_MS = 300
#: Pages that are shown at once and filled in later, unless one waits for the whole.
WAITING = ("/plan", "/bench", "/proposal", "/exposure")


def timed(work: Callable[[], object]) -> float:
    """Return the milliseconds that the clock on the wall passes."""
    start = time.perf_counter()
    work()
    return (time.perf_counter() - start) * 1000


def computed(work: Callable[[], object]) -> float:
    """Return the milliseconds that this process computes, whatever else the machine does."""
    start = time.process_time()
    work()
    return (time.process_time() - start) * 1000


def both(work: Callable[[], object]) -> tuple[float, float]:
    """Return (wall, computing) in milliseconds."""
    spent: list[float] = []
    wall = timed(lambda: spent.append(computed(work)))
    return wall, spent[0]


def yardstick() -> float:
    """Return the milliseconds of computing that a plain loop takes here."""
    return min(computed(lambda: sum(i * i for i in range(10**6))) for _ in range(5))


def steps(adviser: Adviser, record: dict[str, Any]) -> None:
    case = case_from_data(record, adviser.knowledge)
    adviser.weigh(case)
    weigh = min(computed(lambda: adviser.weigh(case)) for _ in range(7))
    shares = min(computed(lambda: case_shares(adviser, case)) for _ in range(5))
    print(f"weigh            {weigh:7.0f} ms of computing")
    print(f"rank shares      {shares:7.0f} ms of computing")


class Bench:
    """A store with the large case, and a browser without scripts."""

    def __init__(self, adviser: Adviser, folder: str) -> None:
        self.store = Store.open(f"sqlite:///{Path(folder) / 'bench.sqlite'}")
        self.app = create_app(adviser, Settings(cache=None), self.store)
        self.client = TestClient(
            self.app, base_url="http://127.0.0.1", headers={"accept": "text/html"}
        )
        self.record = large_record()
        self.name = self.store.create("case", self.record, who="me", what="begun").id
        self.number = 0

    def change(self) -> None:
        """Save another record, so that nothing on the shelf fits any more."""
        self.number += 1
        body = copy.deepcopy(self.record)
        body["significance"]["statement"] = f"Invented, version {self.number}."
        now = self.store.read(self.name)
        self.store.save(self.name, now.version, body, who="me", what="changed")

    def get(self, path: str) -> None:
        """Ask for a page of the case."""
        answer = self.client.get(f"/cases/{self.name}{path}")
        assert answer.status_code == 200, (path, answer.status_code)  # noqa: S101 - a bench

    def views(self, name: str, path: str, *, before: str = "") -> None:
        """Time a page after a change and once more; *before* is looked at in between."""
        first, second = [], []
        for _ in range(4):
            self.change()
            if before:
                self.get(before)
            first.append(both(lambda: self.get(path)))
            second.append(both(lambda: self.get(path)))
        (one, own), (two, own_two) = min(first[1:]), min(second[1:])
        print(
            f"{name:<16} {one:7.0f} ms first ({own:.0f} of computing, {one / GOAL_MS:.2f} of the "
            f"goal), {two:5.0f} ms second view ({own_two:.0f}, {two / GOAL_MS:.2f})"
        )

    def whole_way(self) -> None:
        """Time the second view of every page that belongs to a case."""
        steps = [step.path for _, members in STEPS for step in members]
        print("\nevery page of the way, second view")
        for path in ("", *steps, "/history", "/compare", "/path", "/photographs", "/log/record"):
            asked = path + ("?wait=true" if path in WAITING else "")
            self.get(asked)
            took, own = min(both(lambda asked=asked: self.get(asked)) for _ in range(3))
            print(f"  {path or '/':<14} {took:6.0f} ms ({own:.0f} of computing)")

    def warmed(self) -> None:
        """Time a save with the answer made ready behind it, and one whose answer isn't."""
        warmer = start_warming(self.app, rest=0.0)
        self.change()
        ready = timed(lambda: (warmer.tell(self.name), warmer.idle(60)))
        print(f"made ready after a save in {ready:.0f} ms in the background")
        first = timed(lambda: self.get("/options"))
        print(
            f"options          {first:7.0f} ms first view then ({first / GOAL_MS:.2f} of the goal)"
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--plain", action="store_true")
    given = parser.parse_args()
    adviser = load_adviser()
    if not given.plain:
        calm_collector()
    print(f"yardstick        {yardstick():7.0f} ms for a million squares")
    steps(adviser, large_record())
    with tempfile.TemporaryDirectory() as folder:
        bench = Bench(adviser, folder)
        known = [
            o.id for o in adviser.weigh(case_from_data(bench.record, adviser.knowledge)).options()
        ]
        mine = [one for one in known if one.startswith("damage-2/")]
        option, pair = f"/options/{mine[-1]}", f"/compare?one={mine[0]}&other={mine[-1]}"
        bench.views("options", "/options")
        bench.views("one option", option)
        bench.views("  after options", option, before="/options")
        bench.views("compare", pair, before="/options")
        bench.views("shares", "/options/shares", before="/options")
        for path in WAITING:
            bench.views(path[1:], f"{path}?wait=true")
            bench.views("  after options", f"{path}?wait=true", before="/options")
        bench.whole_way()
        bench.warmed()


if __name__ == "__main__":
    main()
