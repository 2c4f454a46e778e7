"""What each test costs in processor time: the quick run leaves out what costs much.

``tests/costs.json`` holds seconds by file and function, the median over its cases, and by file and
fixture (``@name``) where several tests share it, for what costs NOTED or more; it is written by
``python -m pytest --record-costs``, for the tests of that run. The whole run does the costliest
files first, so that none is left for the end.
"""

from __future__ import annotations

import json
import os
import statistics
from collections import defaultdict
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

FILE = Path(__file__).with_name("costs.json")
NOTED = 0.05
#: From so many seconds on a test isn't part of the quick run; nor is what is marked slow.
QUICK = 0.05
#: Seconds above which a fixture that several tests share isn't part of it either.
SHARED = 0.3

Costs = dict[str, dict[str, float]]


def read_costs() -> Costs:
    found: Costs = json.loads(FILE.read_text("utf-8"))
    return found


def place_of(test: str) -> tuple[str, str]:
    """Return file and function of a test's id.

    >>> place_of("tests/a/test_b.py::test_c[x::y]")
    ('tests/a/test_b.py', 'test_c')
    """
    file, _, name = test.partition("::")
    return file, name.partition("[")[0]


def ordered(tests: list[Any], costs: Costs) -> list[Any]:
    """Return the tests with the costliest files first, all cases counted; in a file as it was."""
    whole: dict[str, float] = {}
    for one in tests:
        file, name = place_of(one.nodeid)
        known = costs.get(file, {})
        shared = sum(seconds for other, seconds in known.items() if other[0] == "@")
        whole[file] = whole.get(file, shared) + known.get(name, 0.0)
    return sorted(tests, key=lambda one: -whole[place_of(one.nodeid)[0]])


def is_slow_throughout(file: Path) -> bool:
    """Return whether a file of tests says that all of them are slow."""
    return "\npytestmark = pytest.mark.slow" in file.read_text("utf-8")


def is_quick(test: Any, costs: Costs) -> bool:
    file, name = place_of(test.nodeid)
    known = costs.get(file, {})
    shared = (known.get(f"@{one}", 0.0) for one in test.fixturenames)
    is_cheap = known.get(name, 0.0) < QUICK and max(shared, default=0.0) <= SHARED
    return is_cheap and not test.get_closest_marker("slow")


def merged(known: Costs, measured: dict[str, list[float]]) -> Costs:
    """Return the costs with what was measured in place of what was known of it."""
    found = {file: dict(names) for file, names in known.items() if Path(file).is_file()}
    by_place: dict[tuple[str, str], list[float]] = defaultdict(list)
    for test, seconds in measured.items():
        by_place[place_of(test)] += seconds
    for (file, name), all_seconds in by_place.items():
        found.setdefault(file, {}).pop(name, None)
        seconds = statistics.median(all_seconds)
        if seconds >= NOTED:
            found[file][name] = round(seconds, 2)
    return {file: dict(sorted(found[file].items())) for file in sorted(found) if found[file]}


class Recorder:
    """Measures each test in the process that runs it, and writes the costs when all are done."""

    def __init__(self) -> None:
        self._begun = 0.0
        self._shared: dict[str, float] = {}  # by the running test, for the first time
        self._measured: dict[str, list[float]] = defaultdict(list)

    @staticmethod
    def _used() -> float:
        spent = os.times()  # with the processes that have ended
        return spent.user + spent.system + spent.children_user + spent.children_system

    def pytest_runtest_logstart(self) -> None:
        self._begun, self._shared = self._used(), {}

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any, request: Any) -> Iterator[Any]:
        begun = self._used()
        try:
            return (yield)
        finally:
            if fixturedef.scope != "function":
                self._shared[fixturedef.argname] = self._used() - begun
                self._begun += self._used() - begun  # the test that comes first doesn't pay for it

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_makereport(self, call: Any) -> Iterator[Any]:
        report = yield
        if call.when == "teardown":
            report.user_properties.append(("processor", self._used() - self._begun))
            report.user_properties += [(f"@{name}", s) for name, s in self._shared.items()]
        return report

    def pytest_runtest_logreport(self, report: Any) -> None:
        if report.when != "teardown":
            return
        file = place_of(report.nodeid)[0]
        for name, seconds in report.user_properties:
            self._measured[f"{file}::{name}" if name[0] == "@" else report.nodeid].append(seconds)

    def pytest_sessionfinish(self, session: Any) -> None:
        if not hasattr(session.config, "workerinput"):  # where all reports come together
            costs = merged(read_costs(), self._measured)
            FILE.write_text(json.dumps(costs, indent=1) + "\n", "utf-8")
