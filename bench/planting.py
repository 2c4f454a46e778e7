"""Run the tests beside a module over faults of it, in one process that forks for each fault.

A general runner starts an interpreter, reads the knowledge and collects the tests anew for every
fault, some four seconds each here. This one does all three once, and each fault is planted in a
forked copy of the process: the code of the functions in memory is exchanged, no file is touched.
The tests that run through the changed function come first, the quickest of them before the others,
and the first that fails ends the run.
"""

from __future__ import annotations

import ast
import contextlib
import functools
import importlib
import os
import pickle
import signal
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from types import CodeType, FunctionType, ModuleType
from typing import Any

import pytest
from _pytest.runner import runtestprotocol

LIMIT = 60  # seconds for all tests of one fault; what takes longer is taken for hanging: noticed
PROFILE = "faults"


@dataclass(frozen=True)
class Fault:
    """One fault of one module: the whole source with it, where it stands and what it is."""

    module: str  # as a path below graph/, without its ending
    line: int
    what: str
    was: str
    becomes: str
    source: str


@dataclass
class Outcome:
    """What came of the faults of one module."""

    seconds: float = 0.0  # of the sound tests
    missed: list[Fault] = field(default_factory=list)
    failing: list[str] = field(default_factory=list)  # tests that fail without a fault


def run(name: str, tests: list[str], faults: list[Fault], sound: str) -> Outcome:
    """Return what the *tests* say of the *faults* of the module *name* (dotted).

    :func:`read_once` has to have been called.
    """
    planter = _Planter(name, faults, sound)
    arguments = ["-s", "-p", "no:cacheprovider", "-p", "no:xdist", "-p", "no:terminal"]
    arguments += ["-W", "ignore::pytest.PytestAssertRewriteWarning"]  # a plugin was read with all
    pytest.main([*arguments, *tests], plugins=[planter])
    if not planter.outcome.seconds:
        raise RuntimeError(f"no test ran of {', '.join(tests)}")
    return planter.outcome


def read_once() -> None:
    """Import the program and read what is shipped, for all the copies of this process."""
    importlib.import_module("leastwise.api.app")  # the fixtures of the tests ask for it
    _keep_what_is_read()


def with_few_words() -> None:
    """Let Hypothesis draw the same cases each time and stop at the first that fails."""
    from hypothesis import HealthCheck, Phase, settings  # noqa: PLC0415 - before the tests

    settings.register_profile(
        PROFILE, phases=[Phase.explicit, Phase.generate], database=None, derandomize=True,
        deadline=None, suppress_health_check=list(HealthCheck),
    )  # fmt: skip
    settings.load_profile(PROFILE)


@dataclass
class _Planter:
    """The plugin: it takes the place of the loop over the tests."""

    name: str
    faults: list[Fault]
    sound: str
    outcome: Outcome = field(default_factory=Outcome)

    def pytest_configure(self) -> None:
        """Set Hypothesis up before the tests are read."""
        with_few_words()

    @pytest.hookimpl(tryfirst=True)
    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        module = importlib.import_module(self.name)
        functions = _functions(self.sound)
        measured: list[_Measured] = _forked(lambda: _measure(session, module, functions, ""))
        is_outside = any(not functions.get(fault.line, 0) for fault in self.faults)
        anew = (
            _forked(lambda: _measure(session, module, functions, self.sound))
            if is_outside  # only then is the module run anew as a whole
            else measured
        )
        self.outcome.seconds = sum(one.seconds for one in measured)
        self.outcome.failing = [one.test for one in measured if one.failed]
        stands = [not (a.failed or b.failed) for a, b in zip(measured, anew, strict=True)]
        for fault in self.faults:
            inside = functions.get(fault.line, 0)
            # what a fixture holds was made by the test before, so that the others run last
            rows = sorted(
                (inside not in one.through, one.seconds, number)
                for number, one in enumerate(measured)
                if not one.failed and (inside or stands[number])
            )
            items = [session.items[number] for _, _, number in rows]
            if not _noticed(session, items, module, fault, whole=not inside):
                self.outcome.missed.append(fault)
        return True


@dataclass(frozen=True)
class _Measured:
    test: str
    seconds: float
    failed: bool
    through: frozenset[int]  # first lines of the functions of the module that it runs through


def _keep_what_is_read() -> None:
    """Read the shipped knowledge and rules once; what is made of them is made anew each time."""
    load = importlib.import_module("leastwise.graph.load")
    plain_knowledge, plain_rules = load.load_knowledge, load.load_rule_book
    knowledge, rules = plain_knowledge(), plain_rules()

    def load_knowledge(folders: Any = (), **more: Any) -> Any:
        other = tuple(folders) or more.get("files") or more.get("language", "en") != "en"
        return plain_knowledge(folders, **more) if other else knowledge

    def load_rule_book(own: Any = (), **more: Any) -> Any:
        return plain_rules(own, **more) if list(own) or more.get("files") else rules

    load.load_knowledge, load.load_rule_book = load_knowledge, load_rule_book


def _forked(work: Callable[[], Any]) -> Any:
    """Return what *work* returns in a copy of this process, or None if that dies."""
    reading, writing = os.pipe()
    child = os.fork()
    if not child:
        with contextlib.suppress(BaseException):
            os.close(reading)
            nowhere = os.open(os.devnull, os.O_WRONLY)
            os.dup2(nowhere, 1), os.dup2(nowhere, 2)
            with os.fdopen(writing, "wb") as out:
                pickle.dump(work(), out)
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading, "rb") as answer:
        said = answer.read()
    os.waitpid(child, 0)
    return pickle.loads(said) if said else None  # noqa: S301 - our own child wrote it


def _noticed(
    session: pytest.Session,
    items: list[pytest.Item],
    module: ModuleType,
    fault: Fault,
    *,
    whole: bool,
) -> bool:
    def work() -> bool:
        signal.alarm(LIMIT)
        try:
            plant(module, fault.source, whole=whole)
        except Exception:  # a module that can't be loaded is noticed by anybody
            return True
        return any(_fails(session, items, number) for number in range(len(items)))

    return _forked(work) is not False


def _fails(session: pytest.Session, items: list[pytest.Item], number: int) -> bool:
    # the one that comes next keeps what is made once a session; the last one only has itself
    following = items[(number + 1) % len(items)] if len(items) > 1 else session.items[0]
    reports = runtestprotocol(items[number], log=False, nextitem=following)
    return any(report.failed for report in reports)


def _measure(
    session: pytest.Session, module: ModuleType, functions: dict[int, int], anew: str
) -> list[_Measured]:
    """Run all tests soundly; return which are slow, which fail, and what each runs through."""
    if anew:
        plant(module, anew, whole=True)
    file = module.__file__ or ""
    found = []
    for number, item in enumerate(session.items):
        seen: set[int] = set()

        def note(frame: Any, _: str, __: Any, seen: set[int] = seen) -> None:
            if frame.f_code.co_filename == file:
                seen.add(_function_of(frame.f_code, functions))

        begun = time.perf_counter()
        sys.settrace(note)
        failed = _fails(session, session.items, number)
        sys.settrace(None)
        seconds = time.perf_counter() - begun
        found.append(_Measured(item.nodeid, seconds, failed, frozenset(seen)))
    return found


def _function_of(code: CodeType, functions: dict[int, int]) -> int:
    lines = (line for _, _, line in code.co_lines() if line in functions)
    return next((functions[line] for line in lines if line is not None), 0)


def _functions(source: str) -> dict[int, int]:
    """Return for each line the first line of the outermost function that it stands in, if any.

    Decorators stand outside.
    """
    found: dict[int, int] = {}
    for node in ast.walk(ast.parse(source)):  # outer ones come first
        if isinstance(node, ast.FunctionDef):
            for line in range(node.lineno, (node.end_lineno or node.lineno) + 1):
                found.setdefault(line, node.lineno)
    return found


def plant(module: ModuleType, source: str, *, whole: bool) -> None:
    """Put the functions of *source* in the place of those of the module.

    *whole* runs the source anew in the module, for what stands outside of functions, and hands
    what it defines to all who imported it.
    """
    code = compile(source, module.__file__ or "", "exec", dont_inherit=True)
    if whole:
        before = dict(vars(module))
        exec(code, vars(module))  # noqa: S102 - our own source, with one fault
        _hand_on(module, before)
        return
    namespace = {"__name__": module.__name__, "__file__": module.__file__}
    exec(code, namespace)  # noqa: S102 - as above
    for old, new in _pairs(vars(module), namespace, module.__name__):
        _exchange(old, new)


def _hand_on(module: ModuleType, before: dict[str, Any]) -> None:
    for other in [*sys.modules.values()]:
        if not getattr(other, "__name__", "").startswith(("leastwise.", "tests.")):
            continue
        for name, value in [*vars(other).items()]:
            if name in before and value is before[name] and other is not module:
                vars(other)[name] = vars(module)[name]


def _pairs(old: dict[str, Any], new: dict[str, Any], home: str) -> Iterator[tuple[Any, Any]]:
    for name, one in old.items():
        if getattr(one, "__module__", None) != home or name not in new:
            continue
        if isinstance(one, type):
            yield from (
                (value, vars(new[name])[key])
                for key, value in vars(one).items()
                if key in vars(new[name])
            )
        else:
            yield one, new[name]


def _exchange(old: Any, new: Any) -> None:
    """Give a function (or what wraps one) the code and the defaults of another."""
    plain, changed = _bare(old), _bare(new)
    if not isinstance(plain, FunctionType) or not isinstance(changed, FunctionType):
        return
    if plain.__code__.co_freevars == changed.__code__.co_freevars:
        plain.__code__ = changed.__code__
        if _of_source(plain.__code__):
            plain.__defaults__ = changed.__defaults__
            plain.__kwdefaults__ = changed.__kwdefaults__


def _of_source(code: CodeType) -> bool:
    return not code.co_filename.startswith("<")  # what dataclasses write keeps its defaults


def _bare(one: Any) -> Any:
    if isinstance(one, staticmethod | classmethod):
        return one.__func__
    if isinstance(one, functools.cached_property):
        return one.func
    if isinstance(one, property):
        return one.fget
    return getattr(one, "__wrapped__", one)
