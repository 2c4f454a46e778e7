"""Knowledge once a session, the demo cases, and small changes to a case."""

from __future__ import annotations

import gc
import os
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest

from leastwise.graph import Adviser, Case, load, load_adviser, read_demo
from leastwise.graph.answer import Answer, OptionAnswer
from leastwise.graph.authoring.check_knowledge import Checker
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.names import ENGLISH
from tests.apps import Apps, EmptyStore
from tests.browser import FLAGS, chromium_path
from tests.costs import Recorder, is_quick, is_slow_throughout, ordered, read_costs

DEMOS = ("festival-dancer", "furnishing-panel", "guild-banner")


@pytest.fixture(scope="session")
def adviser() -> Adviser:
    loaded = load_adviser()
    leave_alone()
    return loaded


@pytest.fixture
def loaded_once(adviser: Adviser, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let commands in this process load what is shipped once, not each for itself.

    A folder or a language of one's own is loaded anew.
    """
    anew = load.load_adviser

    def loaded(
        folders: Iterable[Path] = (), *, cache: Path | None = None, language: str = ENGLISH
    ) -> Adviser:
        folders = tuple(folders)
        if not folders and language == ENGLISH:
            return adviser
        return anew(folders, cache=cache, language=language)

    monkeypatch.setattr(load, "load_adviser", loaded)


@pytest.fixture(scope="session")
def apps(adviser: Adviser) -> Apps:
    """Apps over a store of one's own, for tests that don't look at how an app is made."""
    return Apps(adviser)


@pytest.fixture(scope="session")
def empty_store(tmp_path_factory: pytest.TempPathFactory) -> EmptyStore:
    """A store in the newest form, to be copied by tests that don't look at how it is made."""
    return EmptyStore(tmp_path_factory.mktemp("empty-store"))


@pytest.fixture(scope="session")
def checker() -> Checker:
    """The checker of knowledge over what is shipped, read once."""
    return Checker.shipped()


@pytest.fixture(scope="session")
def demo(adviser: Adviser) -> Callable[[str], Case]:
    cases = {name: read_demo(name, adviser.knowledge) for name in DEMOS}
    return cases.__getitem__


@pytest.fixture
def make_case(adviser: Adviser) -> Callable[..., Case]:
    """Return a maker of small cases: one silk part with a crease unless told otherwise."""

    def make(**changes: Any) -> Case:
        record: dict[str, Any] = {
            "leastwise_case": 1,
            "id": "small",
            "title": "A small case",
            "demo": True,
            "object": {"name": "collar"},
            "parts": [
                {
                    "id": "collar",
                    "name": "collar",
                    "lies_flat": "yes",
                    "materials": [{"material": "silk", "identified": "certain"}],
                }
            ],
            "damages": [
                {"id": "crushed", "damage": "crease", "parts": ["collar"], "evidence": "no"}
            ],
            "aim": {"purpose": "display", "mounting": "flat"},
            "significance": {"statement": "x", "curator_agrees": "yes"},
        }
        return case_from_data(record | changes, adviser.knowledge)

    return make


def changed(case: Case, adviser: Adviser, change: Callable[[dict[str, Any]], None]) -> Case:
    """Return a case with *change* applied to its plain data."""
    data = case.model_dump(mode="json")
    change(data)
    return case_from_data(data, adviser.knowledge)


def option(answer: Answer, damage: str, technique: str) -> OptionAnswer:
    """Return one option of an answer."""
    return next(o for o in answer.options() if o.id == f"{damage}/{technique}")


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """A real Chromium, started once; two at a time can't be driven from one thread."""
    path = chromium_path()
    from playwright.sync_api import sync_playwright  # noqa: PLC0415 - only where a browser is

    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=path, args=FLAGS)
        yield started
        started.close()


def pytest_addoption(parser: pytest.Parser) -> None:
    parser.addoption("--approve", action="store_true", help="write tests/answers anew")
    parser.addoption("--quick", action="store_true", help="only tests that cost next to nothing")
    parser.addoption("--requests", default=3000, type=int, help="how many test_robust.py makes up")
    parser.addoption("--record-costs", action="store_true", help="write tests/costs.json anew")


def leave_alone() -> None:
    """Spare the collector what lives as long as the session: it would walk all of it each time."""
    gc.collect()
    gc.freeze()


def pytest_configure(config: pytest.Config) -> None:
    os.environ.pop("COLUMNS", None)  # what is printed doesn't hang on whose terminal this is
    gc.set_threshold(200_000, 20, 100)  # as the service does: nearly all goes without it
    if config.getoption("--record-costs"):
        config.pluginmanager.register(Recorder())


def pytest_ignore_collect(collection_path: Path, config: pytest.Config) -> bool | None:
    """Leave out of the quick run, before it is imported, a file all of whose tests are slow."""
    is_asked = config.getoption("--quick") and collection_path.suffix == ".py"
    return True if is_asked and is_slow_throughout(collection_path) else None


def pytest_collection_finish() -> None:
    leave_alone()


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    costs = read_costs()
    if config.getoption("--quick"):
        left = [one for one in items if not is_quick(one, costs)]
        config.hook.pytest_deselected(items=left)
        items[:] = [one for one in items if is_quick(one, costs)]
    items[:] = ordered(items, costs)


@pytest.fixture
def approve(request: pytest.FixtureRequest) -> bool:
    """Return whether the answers of this run are to be approved."""
    return bool(request.config.getoption("--approve"))
