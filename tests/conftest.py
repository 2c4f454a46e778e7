"""How a run of the tests is put together, the demo cases, and small changes to a case.

Nothing of the program is imported with this file: the process that hands out tests to others
reads it too, and they would wait for it. The fixtures stand in ``tests/fixtures.py``.
"""

from __future__ import annotations

import gc
import os
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

from tests.costs import Recorder, is_quick, is_slow_throughout, ordered, read_costs

if TYPE_CHECKING:
    from leastwise.graph import Adviser, Case
    from leastwise.graph.answer import Answer, OptionAnswer

DEMOS = ("festival-dancer", "furnishing-panel", "guild-banner")


def changed(case: Case, adviser: Adviser, change: Callable[[dict[str, Any]], None]) -> Case:
    """Return a case with *change* applied to its plain data."""
    from leastwise.graph.case.reading import case_from_data  # noqa: PLC0415 - as above

    data = case.model_dump(mode="json")
    change(data)
    return case_from_data(data, adviser.knowledge)


def option(answer: Answer, damage: str, technique: str) -> OptionAnswer:
    """Return one option of an answer."""
    return next(o for o in answer.options() if o.id == f"{damage}/{technique}")


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--approve", action="store_true", help="write tests/answers anew")
    parser.addoption("--quick", action="store_true", help="only tests that cost next to nothing")
    parser.addoption("--requests", default=1500, type=int, help="how many test_robust.py makes up")
    parser.addoption("--record-costs", action="store_true", help="write tests/costs.json anew")


def compile_once(root: Path) -> None:
    """Let processes that are started from here find the program compiled, as it usually is.

    Where Python is told to write nothing beside the sources, each would compile all of it again.
    """
    if os.environ.pop("PYTHONDONTWRITEBYTECODE", ""):
        os.environ.setdefault("PYTHONPYCACHEPREFIX", str(root / ".pytest_cache/bytecode"))


def pytest_configure(config: pytest.Config) -> None:
    compile_once(config.rootpath)
    os.environ.pop("COLUMNS", None)  # what is printed doesn't hang on whose terminal this is
    gc.set_threshold(200_000, 20, 100)  # as the service does: nearly all goes without it
    if hasattr(config, "workerinput") or not config.getoption("numprocesses", 0):
        config.pluginmanager.import_plugin("tests.fixtures")  # who only hands out tests needs none
    if config.getoption("--record-costs"):
        config.pluginmanager.register(Recorder())


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Leave out of the quick run, before it is imported, a file all of whose tests are slow."""
    is_asked = config.getoption("--quick") and collection_path.suffix == ".py"
    return True if is_asked and is_slow_throughout(collection_path) else None


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    costs = read_costs()
    if config.getoption("--quick"):
        left = [one for one in items if not is_quick(one, costs)]
        config.hook.pytest_deselected(items=left)
        items[:] = [one for one in items if is_quick(one, costs)]
    items[:] = ordered(items, costs)
