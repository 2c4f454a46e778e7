"""Fixtures of all tests: knowledge once a session, small cases, apps, a browser."""

from __future__ import annotations

import gc
import os
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

import pytest

from leastwise.graph import Adviser, Case, load, load_adviser, read_demo
from leastwise.graph.answer import Answer
from leastwise.graph.authoring.check_knowledge import Checker
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.names import ENGLISH
from leastwise.graph.planning.make import _Planning
from leastwise.graph.planning.values import Plan
from tests.apps import Apps, EmptyStore
from tests.browser import FLAGS, chromium_path
from tests.conftest import DEMOS
from tests.kept import Kept


def leave_alone() -> None:
    """Spare the collector what lives as long as the session: it would walk all of it each time."""
    gc.collect()
    gc.freeze()


def pytest_collection_finish() -> None:
    leave_alone()


@pytest.fixture(scope="session")
def of_this_run(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Return a folder that is new with every run and that its workers share."""
    mine = tmp_path_factory.getbasetemp()
    shared = mine.parent if "PYTEST_XDIST_WORKER" in os.environ else mine
    return shared / "of-this-run"


@pytest.fixture(scope="session", autouse=True)
def parsed_once(of_this_run: Path) -> Iterator[Path]:
    """What is shipped, parsed once in this run, also for commands that lay a folder over it."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("LEASTWISE_CACHE", str(of_this_run / "cache"))
        yield of_this_run / "cache"


@pytest.fixture(scope="session")
def cache(parsed_once: Path) -> Path:
    """The folder of what is parsed in this run, for a test that loads a folder of its own."""
    return parsed_once


@pytest.fixture(scope="session")
def kept_for_the_run(
    pytestconfig: pytest.Config, of_this_run: Path, parsed_once: Path
) -> Iterator[Kept]:
    """What was weighed and planned in this run, before the shipped knowledge loaded once."""
    loaded = load_adviser(cache=parsed_once)
    kept = Kept(loaded, of_this_run / "kept", Adviser.weigh, _Planning.plan)
    pytestconfig.pluginmanager.register(kept)

    def weigh(adviser: Adviser, case: Case) -> Answer:
        return kept.answer(adviser, case)

    def plan(planning: _Planning) -> Plan:
        return kept.plan(planning)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(Adviser, "weigh", weigh)
        patch.setattr(_Planning, "plan", plan)
        yield kept


@pytest.fixture(scope="session")
def adviser(kept_for_the_run: Kept) -> Adviser:
    """The shipped knowledge and rules, loaded once."""
    leave_alone()
    return kept_for_the_run.adviser


@pytest.fixture
def kept_within(kept_for_the_run: Kept) -> Iterator[None]:
    """Let a test that asks the same more than once have it made once, as between tests."""
    kept_for_the_run.is_within = True
    yield
    kept_for_the_run.is_within = False


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
def checker(parsed_once: Path) -> Checker:
    """The checker of knowledge over what is shipped, read once."""
    return Checker.shipped(parsed_once)


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


@pytest.fixture(scope="session")
def browser() -> Iterator[Any]:
    """A real Chromium, started once; two at a time can't be driven from one thread."""
    path = chromium_path()
    from playwright.sync_api import sync_playwright  # noqa: PLC0415 - only where a browser is

    with sync_playwright() as play:
        started = play.chromium.launch(executable_path=path, args=FLAGS)
        yield started
        started.close()


@pytest.fixture
def approve(request: pytest.FixtureRequest) -> bool:
    """Return whether the answers of this run are to be approved."""
    return bool(request.config.getoption("--approve"))
