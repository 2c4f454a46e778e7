"""Compare SHACL engines on a generated workload and print the ratios.

Engines: `evaluate` on columns, `check` from rdflib graphs to a report graph, the Rust engine of
the PyPI package `shacl` from N-Triples text, and pySHACL on a sample of the exposures. Every
engine must report the same results for the same data, otherwise the run fails.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import logging
import random
import statistics
import sys
import time
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import partial
from typing import TypeVar

import pyshacl
import rdflib
import shacl as rust_shacl

from leastwise.graph.shacl import (
    CompiledShapes,
    TermTable,
    Triples,
    check,
    compile_shapes,
    evaluate,
    iri,
    literal,
)
from leastwise.graph.shacl.rdf import decode

LW = "https://example.org/lw/"
SKOS = "http://www.w3.org/2004/02/skos/core#"
SH = "http://www.w3.org/ns/shacl#"
XSD = "http://www.w3.org/2001/XMLSchema#"
RDF = "http://www.w3.org/1999/02/22-rdf-syntax-ns#"
TYPE = iri(RDF + "type")

Row = tuple[str, str, str]
Finding = tuple[str, str, str, str]  # focus, value, component, message
T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Workload:
    """Rows of term strings: constant knowledge, the exposures of one request, and the shapes."""

    knowledge: list[Row]
    exposures: list[Row]
    shapes: list[Row]


def lw(name: str) -> str:
    return iri(LW + name)


def knowledge_rows(rng: random.Random, materials: int, triples: int) -> list[Row]:
    """Return a tree of materials with labels and notes, filled up to the number of triples."""
    rows: list[Row] = []
    for number in range(1, materials):
        parent = rng.randrange(max(0, number // 4 - 2), number // 4 + 1)
        rows.append((lw(f"material/{number}"), iri(SKOS + "broader"), lw(f"material/{parent}")))
    for number in range(materials):
        rows.append((lw(f"material/{number}"), TYPE, iri(SKOS + "Concept")))
        rows.append(
            (
                lw(f"material/{number}"),
                iri(SKOS + "prefLabel"),
                literal(f"m{number}", language="en"),
            )
        )
    number = 0
    while len(rows) < triples:
        subject = lw(f"statement/{number}")
        rows.append((subject, TYPE, lw("Statement")))
        rows.append((subject, lw("about"), lw(f"material/{rng.randrange(materials)}")))
        rows.append((subject, lw("note"), literal(f"note {number}")))
        number += 1
    return rows


def exposure_rows(rng: random.Random, exposures: int, materials: int, agents: int) -> list[Row]:
    """Return about twelve triples for each exposure."""
    rows: list[Row] = []
    for number in range(exposures):
        node = lw(f"exposure/{number}")
        grade = literal(str(rng.randrange(5)), XSD + "integer")
        rows += [
            (node, TYPE, lw("Exposure")),
            (node, lw("agent"), lw(f"agent/{rng.randrange(agents)}")),
            (node, lw("material"), lw(f"material/{rng.randrange(materials)}")),
            (node, lw("material"), lw(f"material/{rng.randrange(materials)}")),
            (node, lw("grade"), grade),
            (node, lw("object"), lw(f"object/{number // 20}")),
            (node, lw("place"), lw(f"place/{rng.randrange(50)}")),
            (node, lw("label"), literal(f"exposure {number}")),
            (node, lw("hours"), literal(str(rng.randrange(9000)), XSD + "integer")),
            (node, lw("from"), literal(f"20{rng.randrange(10, 25)}-01-01", XSD + "date")),
            (node, lw("lux"), literal(f"{rng.random() * 200:.2f}", XSD + "decimal")),
            (node, lw("source"), lw(f"source/{rng.randrange(200)}")),
        ]
    return rows


def sh(name: str) -> str:
    return iri(SH + name)


def list_rows(name: str, members: list[str]) -> list[Row]:
    """Return an RDF list with the given members; its head is `name` with "x0" appended."""
    last = len(members) - 1
    rows: list[Row] = []
    for place, member in enumerate(members):
        rest = f"{name}x{place + 1}" if place < last else iri(RDF + "nil")
        rows.append((f"{name}x{place}", iri(RDF + "first"), member))
        rows.append((f"{name}x{place}", iri(RDF + "rest"), rest))
    return rows


def rule_rows(number: int, agent: int, material: int, grade: int) -> list[Row]:
    """Return a node shape that forbids an agent on a kind of material from some grade on."""
    shape, b = lw(f"rule/{number}"), f"_:r{number}"
    tests = [
        (lw("agent"), "hasValue", lw(f"agent/{agent}")),
        (f"{b}pathx0", "hasValue", lw(f"material/{material}")),
        (lw("grade"), "minInclusive", literal(str(grade), XSD + "integer")),
    ]
    rows: list[Row] = [
        (shape, TYPE, sh("NodeShape")),
        (shape, sh("targetClass"), lw("Exposure")),
        (shape, sh("not"), f"{b}not"),
        (f"{b}not", sh("and"), f"{b}andx0"),
        (shape, sh("severity"), sh("Violation")),
        (shape, sh("message"), literal(f"rule {number}")),
        (f"{b}star", sh("zeroOrMorePath"), iri(SKOS + "broader")),
        *list_rows(f"{b}path", [lw("material"), f"{b}star"]),
        *list_rows(f"{b}and", [f"{b}m{place}" for place in range(len(tests))]),
    ]
    for place, (way, parameter, value) in enumerate(tests):
        rows.append((f"{b}m{place}", sh("property"), f"{b}p{place}"))
        rows.append((f"{b}p{place}", sh("path"), way))
        rows.append((f"{b}p{place}", sh(parameter), value))
    return rows


def shape_rows(rng: random.Random, shapes: int, materials: int, agents: int) -> list[Row]:
    """Return rules for random agents, materials near the top of the tree, and grades."""
    rows: list[Row] = []
    for number in range(shapes):
        agent, material = rng.randrange(agents), rng.randrange(materials // 8)
        rows += rule_rows(number, agent, material, rng.randrange(1, 4))
    return rows


def generate(seed: int, exposures: int, shapes: int) -> Workload:
    """Return the workload of a seed."""
    rng = random.Random(seed)  # noqa: S311 - a benchmark, not a secret
    materials, agents = 1200, 20
    return Workload(
        knowledge_rows(rng, materials, 30_000),
        exposure_rows(rng, exposures, materials, agents),
        shape_rows(rng, shapes, materials, agents),
    )


def timed(action: Callable[[], T]) -> tuple[float, T]:
    """Return the milliseconds an action took, and what it returned."""
    start = time.perf_counter()
    result = action()
    return (time.perf_counter() - start) * 1e3, result


class Columns:
    """The columns door: knowledge and shapes encoded once, every request built afresh."""

    def __init__(self, work: Workload) -> None:
        self.terms = TermTable()
        self.knowledge = Triples.from_terms(work.knowledge, self.terms)
        shapes = Triples.from_terms(work.shapes, self.terms)
        self.compile_ms, self.compiled = timed(lambda: compile_shapes(shapes))

    def request(self, rows: Iterable[Row]) -> Triples:
        """Return the knowledge and the rows of one request, over a child of the term table."""
        request = Triples.from_terms(rows, self.terms.child())
        return self.knowledge.union(request)


def findings_of(compiled: CompiledShapes, data: Triples) -> list[Finding]:
    rows = evaluate(compiled, data)
    return sorted((row.focus, row.value or "", row.component, row.messages[0]) for row in rows)


def findings_in(report: rdflib.Graph) -> list[Finding]:
    sh = rdflib.Namespace(SH)
    names = (sh.focusNode, sh.value, sh.sourceConstraintComponent, sh.resultMessage)
    found = []
    for result in report.objects(None, sh.result):
        focus, value, component, message = (report.value(result, name) for name in names)
        assert message is not None  # noqa: S101 - every shape here has one
        found.append((f"<{focus}>", f"<{value}>", f"<{component}>", literal(str(message))))
    return sorted(found)


def findings_of_rust(report: rust_shacl.Report) -> list[Finding]:
    return sorted(
        (
            row.focus_node,
            row.value or "",
            f"<{row.component_iri}>",
            literal(row.message or ""),
        )
        for row in report.results
    )


def n_triples(rows: Iterable[Row]) -> str:
    return "".join(f"{s} {p} {o} .\n" for s, p, o in rows)


def as_graph(rows: Iterable[Row]) -> rdflib.Graph:
    return decode(Triples.from_terms(rows))


def agree(name: str, expected: list[Finding], found: list[Finding]) -> None:
    if expected != found:
        sys.exit(f"{name} disagrees: {len(found)} results instead of {len(expected)}")
    print(f"  {name}: the same {len(found)} results")


@dataclass(frozen=True, slots=True)
class Spent:
    """Milliseconds of an engine: of validation alone, and from its input to its results."""

    validate: float
    whole: float


def run_columns(work: Workload, repeat: int) -> tuple[Spent, list[Finding]]:
    door = Columns(work)
    encode: list[float] = []
    times: list[float] = []
    for _ in range(repeat):
        spent, data = timed(lambda: door.request(work.exposures))
        encode.append(spent)
        spent, _results = timed(partial(evaluate, door.compiled, data))
        times.append(spent)
    print(f"columns: compile shapes {door.compile_ms:.1f} ms (once)")
    print(f"columns: encode a request from strings, median {statistics.median(encode):.1f} ms")
    print(
        f"columns: evaluate, first call {times[0]:.1f} ms, median of {repeat} fresh requests "
        f"{statistics.median(times):.1f} ms, best {min(times):.1f} ms"
    )
    found = findings_of(door.compiled, door.request(work.exposures))
    return Spent(min(times), min(times) + min(encode)), found


def run_check(work: Workload) -> tuple[float, list[Finding]]:
    data, shapes = as_graph(work.knowledge + work.exposures), as_graph(work.shapes)
    spent, report = min(
        (timed(lambda: check(data, shapes)) for _ in range(3)), key=lambda pair: pair[0]
    )
    print(f"check(): best of 3, rdflib graphs to report graph {spent:.0f} ms")
    return spent, findings_in(report)


def run_rust(work: Workload) -> tuple[Spent, list[Finding]]:
    text = n_triples(work.knowledge + work.exposures)
    rules = n_triples(work.shapes)
    compile_ms, shapes = timed(lambda: rust_shacl.Shapes.from_text(rules, "ntriples"))
    empty = rust_shacl.Shapes.from_text("", "ntriples")
    parse = min(timed(lambda: empty.validate_text(text, "ntriples"))[0] for _ in range(5))
    whole, report = min(
        (timed(lambda: shapes.validate_text(text, "ntriples")) for _ in range(5)),
        key=lambda pair: pair[0],
    )
    print(f"Rust engine: compile shapes {compile_ms:.1f} ms (once)")
    print(
        f"Rust engine: parse and validate, best of 5 {whole:.0f} ms; the same without shapes "
        f"{parse:.0f} ms, so about {whole - parse:.0f} ms of validation"
    )
    return Spent(whole - parse, whole), findings_of_rust(report)


def time_pyshacl(work: Workload, sample: int, per_exposure: int) -> tuple[float, rdflib.Graph]:
    rows = work.knowledge + work.exposures[: sample * per_exposure]
    data, shapes = as_graph(rows), as_graph(work.shapes)
    with contextlib.redirect_stdout(io.StringIO()):
        spent, (_, report, _) = timed(lambda: pyshacl.validate(data, shacl_graph=shapes))
    assert isinstance(report, rdflib.Graph)  # noqa: S101 - a failure would be another type
    return spent, report


def run_pyshacl(work: Workload, sample: int, exposures: int) -> tuple[float, list[Finding]]:
    """Run pySHACL on two samples of the exposures and draw the line through both."""
    logging.disable(logging.CRITICAL)
    per_exposure = len(work.exposures) // exposures
    small = max(1, sample // 4)
    little, _ = time_pyshacl(work, small, per_exposure)
    spent, report = time_pyshacl(work, sample, per_exposure)
    slope = (spent - little) / max(1, sample - small)
    whole = spent + slope * (exposures - sample)
    print(
        f"pySHACL: {little:.0f} ms for {small} and {spent:.0f} ms for {sample} of {exposures} "
        f"exposures; EXTRAPOLATED along the line through both to {whole:.0f} ms for all"
    )
    return whole, findings_in(report)


def compare(work: Workload, exposures: int, sample: int, repeat: int) -> None:
    """Run the engines, insist that they agree, and print the ratios."""
    columns, expected = run_columns(work, repeat)
    check_ms, from_check = run_check(work)
    rust, from_rust = run_rust(work)
    pyshacl_ms, from_pyshacl = run_pyshacl(work, sample, exposures)

    print("results:")
    agree("check()", expected, from_check)
    agree("Rust engine", expected, from_rust)
    door = Columns(work)
    part = door.request(work.exposures[: sample * (len(work.exposures) // exposures)])
    agree(f"pySHACL, {sample} exposures", findings_of(door.compiled, part), from_pyshacl)

    print("ratios of the best times, to evaluate on columns:")
    print(f"  Rust engine, validation alone: {rust.validate / columns.validate:.1f}")
    print(f"  check(), rdflib to rdflib: {check_ms / columns.validate:.1f}")
    print(f"  pySHACL, extrapolated: {pyshacl_ms / columns.validate:.0f}")
    print("ratios to encoding and evaluating a request:")
    print(f"  Rust engine, from text to results: {rust.whole / columns.whole:.1f}")
    print(f"  pySHACL, extrapolated, parsing not counted: {pyshacl_ms / columns.whole:.0f}")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--exposures", type=int, default=5000)
    parser.add_argument("--shapes", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--repeat", type=int, default=15, help="fresh requests on columns")
    parser.add_argument("--sample", type=int, default=100, help="exposures given to pySHACL")
    options = parser.parse_args()
    work = generate(options.seed, options.exposures, options.shapes)
    print(
        f"{options.exposures} exposures ({len(work.exposures)} triples), "
        f"{len(work.knowledge)} triples of knowledge, {options.shapes} shapes, "
        f"seed {options.seed}"
    )
    compare(work, options.exposures, min(options.sample, options.exposures), options.repeat)


if __name__ == "__main__":
    main()
