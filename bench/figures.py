"""The figures of `python -m bench`, group by group: each with its goal and its workload."""

from __future__ import annotations

import contextlib
import io
import logging
import math
import os
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import pyoxigraph
import pyshacl
import rdflib
import shacl as rust_shacl

from bench.clock import Spent, measured, of_command
from bench.large_case import large_record
from bench.rules import case_data, of_report, ours
from bench.workloads import grown, published, varied
from leastwise.graph import Adviser, Case, load_adviser, read_demo
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.knowledge.knowledge import shipped_files
from leastwise.graph.knowledge.rules import FORM_FILES
from leastwise.graph.knowledge.turtle import load_triples
from leastwise.graph.questions.open_entries import open_entries
from leastwise.graph.questions.tests_first import find_out_first
from leastwise.graph.questions.what_if import what_would_change
from leastwise.graph.shacl import Triples
from leastwise.graph.shacl.rdf import decode
from leastwise.graph.weighing.facts import write_case, write_exposures, write_options
from leastwise.graph.weighing.findings import CaseData
from leastwise.graph.weighing.rows import Rows
from leastwise.graph.weighing.steps import Variant

DEMOS = ("festival-dancer", "furnishing-panel", "guild-banner")
TWELVE = "invented: the dancer with 12 parts"
VARIED = "invented: 12 parts, varied"
LARGE = "invented: 40 parts, 12 damages"


@dataclass(frozen=True)
class Figure:
    """One row: a time of one run in seconds, or a ratio (*is_ratio*) of (wall, processor)."""

    name: str
    workload: str
    goal: str
    p50: tuple[float, float]
    p95: tuple[float, float] | None = None
    limit: float = math.inf
    limit_p95: float = math.inf
    goal_p95: str = ""
    is_ratio: bool = False
    at_least: bool = False

    def shown(self) -> tuple[list[str], list[str]]:
        """Return (p50, p95) by the clock and by the processor, as text."""
        rows = zip(self.p50, self.p95 or (None, None), strict=True)
        wall, processor = ([self._text(value) for value in row] for row in rows)
        return wall, processor

    def _text(self, value: float | None) -> str:
        if value is None:
            return ""
        if self.is_ratio:
            return f"{value:,.1f} x"
        return f"{value:.2f} s" if value >= 1 else f"{value * 1000:.1f} ms"

    @property
    def met(self) -> str:
        """Whether the goal is met by the processor's time; "" where there is none."""
        if math.isinf(self.limit):
            return ""
        if self.at_least:
            return "yes" if self.p50[1] >= self.limit else "no"
        second = self.p95[1] if self.p95 and self.goal_p95 else 0.0
        return "yes" if self.p50[1] < self.limit and second < self.limit_p95 else "no"


class Bench:
    """What the groups share: knowledge and rules, loaded once."""

    def __init__(self, *, pyshacl: bool) -> None:
        self.pyshacl = pyshacl

    @cached_property
    def adviser(self) -> Adviser:
        """Return the adviser over the shipped knowledge."""
        return load_adviser()

    def case(self, data: dict[str, object]) -> Case:
        """Return a record that nobody has weighed yet."""
        return case_from_data(data, self.adviser.knowledge)

    def demo(self, name: str) -> Case:
        """Return an invented case, read anew."""
        return read_demo(name, self.adviser.knowledge)


def times(name: str, workload: str, limit: float, spent: Spent, limit_p95: float = 0) -> Figure:
    """Return the figure of a work whose median has to stay below a limit (seconds)."""
    second = _short(limit_p95) if limit_p95 else ""
    return Figure(
        name, workload, _short(limit), spent.p50(), spent.p95(), limit,
        limit_p95 or math.inf, second,
    )  # fmt: skip


def _short(seconds: float) -> str:
    if math.isinf(seconds):
        return ""
    return f"< {seconds:g} s" if seconds >= 0.1 else f"< {seconds * 1000:g} ms"


def ratio(name: str, workload: str, least: float, theirs: Spent, mine: Spent) -> Figure:
    """Return how many times longer another engine takes, medians of the same run."""
    wall, own = (a / b for a, b in zip(theirs.p50(), mine.p50(), strict=True))
    return Figure(
        name, workload, f">= {least:,g} x", (wall, own), None, least, is_ratio=True, at_least=True
    )


def growth(name: str, workload: str, most: float, small: Spent, large: Spent) -> Figure:
    """Return how many times longer the larger work takes."""
    wall, own = (b / a for a, b in zip(small.p50(), large.p50(), strict=True))
    return Figure(name, workload, f"<= {most:g} x", (wall, own), None, most, is_ratio=True)


# -- rules


def rules(bench: Bench) -> Iterator[Figure]:
    """Rules over one case of 12 parts, beside the public engines on the very same triples."""
    adviser, case = bench.adviser, bench.case(grown(bench.adviser, 12))
    expected = ours(adviser, case_data(case, adviser).triples)
    mine = _columns(adviser, case)
    yield times("rules, ready columns", TWELVE, math.inf, mine)
    graph, shapes = decode(case_data(case, adviser).triples), decode(_shapes())
    text, shape_text = graph.serialize(format="nt"), shapes.serialize(format="nt")
    whole, alone, found = _rust(text, shape_text)
    _agree("shacl", found, expected)
    yield ratio("`shacl`, reading left out, to ours", TWELVE, 10, alone, mine)
    from_text = measured([lambda: _from_text(adviser, text)] * 7)
    yield times("rules, from N-Triples in memory", TWELVE, math.inf, from_text)
    yield ratio("`shacl` from N-Triples, to ours", TWELVE, 1.5, whole, from_text)
    if bench.pyshacl:
        spent, found = _pyshacl(graph, shapes)
        _agree("pySHACL", found, expected)
        yield ratio("pySHACL, reading left out, to ours", TWELVE, 10_000, spent, mine)


def _columns(adviser: Adviser, case: Case) -> Spent:
    """Time the rules over fresh columns each time; the knowledge keeps its index."""
    ready = [case_data(case, adviser).triples for _ in range(21)]
    adviser.rules.evaluate(case_data(case, adviser).triples)
    return measured([lambda one=one: adviser.rules.evaluate(one) for one in ready])  # type: ignore[misc]


def _shapes() -> Triples:
    files = [p for p in shipped_files("shapes") if p.name not in FORM_FILES]
    return load_triples(files, None)[0]


def _from_text(adviser: Adviser, text: str) -> object:
    """Read N-Triples and evaluate the rules, as if nothing had been read before."""
    quads = pyoxigraph.parse(text, format=pyoxigraph.RdfFormat.N_TRIPLES)
    rows = ((str(q.subject), str(q.predicate), str(q.object)) for q in quads)
    return adviser.rules.evaluate(Triples.from_terms(rows))


def _rust(text: str, shapes: str) -> tuple[Spent, Spent, list[tuple[str, str]]]:
    """Return its one call on text, the same less the reading alone, and what it found."""
    compiled = rust_shacl.Shapes.from_text(shapes, "ntriples")
    empty = rust_shacl.Shapes.from_text("", "ntriples")
    reading = measured([lambda: empty.validate_text(text, "ntriples")] * 7).p50()
    whole = measured([lambda: compiled.validate_text(text, "ntriples")] * 7)
    alone = Spent(
        tuple(one - reading[0] for one in whole.wall),
        tuple(one - reading[1] for one in whole.processor),
    )
    report = compiled.validate_text(text, "ntriples").serialize("ntriples")
    return whole, alone, of_report(rdflib.Graph().parse(data=report, format="nt"))


def _pyshacl(graph: rdflib.Graph, shapes: rdflib.Graph) -> tuple[Spent, list[tuple[str, str]]]:
    logging.disable(logging.CRITICAL)
    found: list[rdflib.Graph] = []

    def work() -> None:
        with contextlib.redirect_stdout(io.StringIO()):
            found.append(pyshacl.validate(graph, shacl_graph=shapes)[1])

    return measured([work]), of_report(found[0])


def _agree(engine: str, found: Sequence[object], expected: Sequence[object]) -> None:
    if found != expected:
        raise SystemExit(f"{engine} found {len(found)} results, not the {len(expected)} expected")


# -- answers


def batch(bench: Bench) -> Iterator[Figure]:
    """Rules over a hundred different cases written into one set of columns."""
    adviser = bench.adviser
    data = [case_data(case, adviser) for case in varied(adviser, 100)]
    writing = measured([lambda: _together(data)] * 3).each(100)
    yield times("columns written, a case of 100", VARIED, math.inf, writing)
    ready = [_together(data) for _ in range(3)]
    spent = measured([lambda one=one: adviser.rules.evaluate(one) for one in ready])  # type: ignore[misc]
    yield times("rules, a case of 100 at once", VARIED, 0.0015, spent.each(100))
    variants = [Variant(case) for case in varied(adviser, 100)]
    spent = measured([lambda: [s.courses for s in adviser.variants(variants)]] * 3)
    yield times("verdicts, a case of 100 at once", VARIED, math.inf, spent.each(100))


def _together(batch: Sequence[CaseData]) -> Triples:
    """Return cases written into one set of columns over their knowledge."""
    knowledge = batch[0].catalogue.knowledge.triples
    rows = Rows(knowledge.terms.child())
    for data in batch:
        write_case(data.case, rows)
        write_options(data.case, data.candidates, data.reader, rows)
        write_exposures(data.case, data.all_exposures(), rows)
    return rows.on(knowledge)


def answers(bench: Bench) -> Iterator[Figure]:
    """From a record as JSON data to the answer as JSON text."""
    adviser = bench.adviser
    data = grown(adviser, 12)

    def work() -> object:
        return adviser.weigh(bench.case(data)).as_json()

    work()
    spent = measured([work] * 40)
    yield times("answer, JSON to JSON", TWELVE, 0.035, spent, 0.060)
    for name in DEMOS:
        works = [lambda name=name: adviser.weigh(bench.demo(name)).as_json()] * 20
        yield times("answer to JSON", f"demo:{name}", math.inf, measured(works))  # type: ignore[arg-type]
    real = [lambda one=one: adviser.weigh(one).as_json() for one in published(adviser)]
    yield times("answer to JSON", f"real: {len(real)} published treatments", math.inf,
                measured(real))  # type: ignore[arg-type]  # fmt: skip


def questions(bench: Bench) -> Iterator[Figure]:
    """Questions that weigh a case many times over."""
    adviser = bench.adviser
    yield times("find out first", "demo:festival-dancer", 0.4,
                measured([lambda: find_out_first(adviser, bench.demo(DEMOS[0]))] * 3))  # fmt: skip
    large = large_record()
    yield times("find out first", LARGE, 3.0,
                measured([lambda: find_out_first(adviser, bench.case(large))]))  # fmt: skip
    yield _dearest(bench)
    yield times("open entries", "demo:festival-dancer", math.inf,
                measured([lambda: open_entries(bench.demo(DEMOS[0]), adviser)]))  # fmt: skip


def _dearest(bench: Bench) -> Figure:
    """Return what would change the option of the demos of which that takes longest."""
    asked = [(name, option.id) for name in DEMOS
             for option in bench.adviser.weigh(bench.demo(name)).options()]  # fmt: skip
    works: list[Callable[[], object]] = [
        lambda name=name, one=one: what_would_change(bench.adviser, bench.demo(name), one)  # type: ignore[misc]
        for name, one in asked
    ]
    spent = measured(works)
    worst = max(range(len(works)), key=spent.processor.__getitem__)
    name, option = asked[worst]
    dearest = Spent((spent.wall[worst],), (spent.processor[worst],))
    return times(f"what would change, dearest of {len(asked)}", f"demo:{name} {option}", 0.3,
                 dearest)  # fmt: skip


def growing(bench: Bench) -> Iterator[Figure]:
    """Ten times the parts, with their damages."""
    adviser = bench.adviser
    small, large = (grown(adviser, n, damages=True) for n in (12, 120))
    few = measured([lambda: adviser.weigh(bench.case(small)).as_json()] * 5)
    many = measured([lambda: adviser.weigh(bench.case(large)).as_json()] * 2)
    yield growth("growth, parts and damages x 10", "invented: 12 and 120 parts", 11, few, many)


# -- the rest


def cold(_: Bench) -> Iterator[Figure]:
    """Time a command in a process of its own, with what it keeps from run to run.

    Its modules are compiled once, as an installation leaves them, whatever the shell says.
    """
    with tempfile.TemporaryDirectory() as kept:
        env = os.environ | {"LEASTWISE_CACHE": kept, "PYTHONPYCACHEPREFIX": f"{kept}/compiled"}
        env.pop("PYTHONDONTWRITEBYTECODE", None)
        for name, limit, given in (
            ("cold `weigh`", 0.8, ("weigh", "demo:festival-dancer", "--json")),
            ("cold `--help`", 0.15, ("--help",)),
        ):
            command = [sys.executable, "-m", "leastwise.api", *given]
            of_command(command, env)
            spent = [of_command(command, env) for _ in range(3)]
            wall, own = zip(*spent, strict=True)
            yield times(name, " ".join(given), limit, Spent(wall, own))


def moisture(_: Bench) -> Iterator[Figure]:
    """Time the physics of a humidification stack."""
    from leastwise.graph.physics import (  # noqa: PLC0415 - the solver is slow to load
        Question,
        bench_stack,
        humidify,
        humidity_band,
        textile,
    )

    stack, ask = bench_stack(textile("silk", "silk", 60, 0.1)), Question("silk")
    humidify(stack, ask)
    yield times("moisture, one stack", "invented: silk on a bench stack", 0.020,
                measured([lambda: humidify(stack, ask)] * 20))  # fmt: skip
    yield times("moisture, band of 256", "the same", 0.4,
                measured([lambda: humidity_band(stack, ask)] * 3))  # fmt: skip


def documents(bench: Bench) -> Iterator[Figure]:
    """Time the proposal as a Word document over HTTP, after a change and once more."""
    from bench.pages import Bench as Served  # noqa: PLC0415 - the service

    with tempfile.TemporaryDirectory() as folder:
        served = Served(bench.adviser, folder)
        first, again = [], []
        for _ in range(3):
            served.change()
            served.get("/proposal?wait=true")
            first.append(lambda: served.get("/proposal.docx"))
            again.append(measured([first[-1]]))
            again.append(measured([first[-1]]))
    yield times("Word document, first", LARGE, 0.5, _joined(again[::2]))
    yield times("Word document, again", LARGE, 0.1, _joined(again[1::2]))


def _joined(runs: Sequence[Spent]) -> Spent:
    return Spent(
        tuple(one for run in runs for one in run.wall),
        tuple(one for run in runs for one in run.processor),
    )


ALL = (rules, batch, answers, questions, cold, moisture, documents, growing)
