"""Rules on demo (a): columns against pySHACL and the Rust engine, and how long an answer takes.

One run prints ratios; nothing is asserted but that all engines agree. pySHACL gets the whole
case unless --sample says how many of the exposures it gets; then its time is extrapolated in
proportion to their number, and the output says so.
"""

from __future__ import annotations

import argparse
import contextlib
import io
import logging
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import pyshacl
import rdflib
import shacl as rust_shacl

from leastwise.graph import load_adviser, read_demo
from leastwise.graph.case.record import Case
from leastwise.graph.knowledge.knowledge import shipped_files
from leastwise.graph.knowledge.rules import FORM_FILES
from leastwise.graph.knowledge.turtle import load_triples
from leastwise.graph.shacl import Triples
from leastwise.graph.shacl.rdf import decode, encode
from leastwise.graph.weighing.advise import Adviser
from leastwise.graph.weighing.candidates import find_candidates
from leastwise.graph.weighing.conditions import ConditionReader
from leastwise.graph.weighing.contacts import ContactNetwork
from leastwise.graph.weighing.exposure import ExposureTracer
from leastwise.graph.weighing.findings import CaseData

SH = rdflib.SH
T = TypeVar("T")
Result = tuple[str, str]


def case_data(case: Case, adviser: Adviser) -> CaseData:
    candidates = tuple(find_candidates(case, adviser.catalogue))
    network = ContactNetwork.of(case, adviser.catalogue)
    tracer = ExposureTracer(case, adviser.catalogue, network)
    reader = ConditionReader(case, adviser.catalogue)
    exposures = {c.id: tuple(tracer.trace(c)) for c in candidates}
    return CaseData(case, adviser.catalogue, candidates, exposures, reader)


def timed(work: Callable[[], T]) -> tuple[float, T]:
    start = time.perf_counter()
    result = work()
    return time.perf_counter() - start, result


def ours(adviser: Adviser, data: Triples) -> list[Result]:
    results = adviser.rules.evaluate(data)
    return sorted((row.shape[1:-1], row.focus[1:-1]) for row in results)


def of_report(report: rdflib.Graph) -> list[Result]:
    return sorted(
        (str(report.value(r, SH.sourceShape)), str(report.value(r, SH.focusNode)))
        for r in report.subjects(rdflib.RDF.type, SH.ValidationResult)
    )


def run_columns(adviser: Adviser, case: Case, repeat: int) -> tuple[float, float, list[Result]]:
    """Time the evaluation of fresh columns each time; the knowledge keeps its index.

    Returns the median of the evaluation, the median with writing the columns, and the results.
    """
    times, writing = [], []
    for _ in range(repeat):
        traced = case_data(case, adviser)
        spent, data = timed(lambda: traced.triples)  # noqa: B023 - used at once
        writing.append(spent)
        spent, _results = timed(lambda: adviser.rules.evaluate(data))  # noqa: B023 - used at once
        times.append(spent)
    median, wrote = statistics.median(times), statistics.median(writing)
    print(f"columns: evaluated in {median * 1e3:.1f} ms, written in {wrote * 1e3:.1f} ms (medians)")
    return median, median + wrote, ours(adviser, case_data(case, adviser).triples)


def run_rust(data: rdflib.Graph, shapes: rdflib.Graph) -> tuple[float, float, list[Result]]:
    """Time the engine's one public call, which reads text, and the same with no shapes."""
    compiled = rust_shacl.Shapes.from_text(shapes.serialize(format="nt"), "ntriples")
    empty = rust_shacl.Shapes.from_text("", "ntriples")
    text = data.serialize(format="nt")
    reading = min(timed(lambda: empty.validate_text(text, "ntriples"))[0] for _ in range(3))
    runs = [timed(lambda: compiled.validate_text(text, "ntriples")) for _ in range(3)]
    whole, report = min(runs, key=lambda run: run[0])
    print(f"Rust engine: {whole * 1e3:.0f} ms with reading, {reading * 1e3:.0f} ms reading alone")
    graph = rdflib.Graph().parse(data=report.serialize("ntriples"), format="nt")
    return whole, whole - reading, of_report(graph)


def run_pyshacl(data: rdflib.Graph, shapes: rdflib.Graph) -> tuple[float, list[Result]]:
    logging.disable(logging.CRITICAL)
    with contextlib.redirect_stdout(io.StringIO()):
        spent, (_, report, _) = timed(lambda: pyshacl.validate(data, shacl_graph=shapes))
    return spent, of_report(report)


def sampled(data: rdflib.Graph, share: int) -> rdflib.Graph:
    """Return the data with every *share*-th exposure only."""
    exposure = rdflib.URIRef("https://w3id.org/leastwise/ns#Exposure")
    chosen = rdflib.Graph()
    chosen += data
    for number, one in enumerate(sorted(data.subjects(rdflib.RDF.type, exposure))):
        if number % share:
            chosen.remove((one, None, None))
    return chosen


def run_answers(adviser: Adviser, case: Case, repeat: int) -> None:
    times = [timed(lambda: adviser.weigh(case).as_json())[0] for _ in range(repeat)]
    print(f"whole answer in process: p50 {statistics.median(times) * 1e3:.0f} ms")


def run_command(repeat: int) -> None:
    command = [sys.executable, "-m", "leastwise.api", "weigh", "demo:festival-dancer", "--json"]
    with tempfile.TemporaryDirectory() as cache:
        env = {"LEASTWISE_CACHE": cache, "PATH": ""}
        for name in ("without cache", *["with cache"] * repeat):
            spent, _ = timed(
                lambda: subprocess.run(command, env=env, check=True, capture_output=True)  # noqa: S603
            )
            print(f"cold command, {name}: {spent:.2f} s")


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--case", default="festival-dancer")
    parser.add_argument("--repeat", type=int, default=15)
    parser.add_argument("--sample", type=int, default=1, help="pySHACL gets each n-th exposure")
    options = parser.parse_args()

    adviser = load_adviser()
    case = read_demo(options.case, adviser.knowledge)
    data = case_data(case, adviser).triples
    files: list[Path] = [p for p in shipped_files("shapes") if p.name not in FORM_FILES]
    graph, shapes = decode(data), decode(load_triples(files, None)[0])
    rules = len(adviser.rules.rules)
    print(f"{options.case}: {len(graph)} triples, {rules} rules")

    columns, with_writing, expected = run_columns(adviser, case, options.repeat)
    rust, rust_alone, from_rust = run_rust(graph, shapes)
    part = sampled(graph, options.sample)
    spent, from_pyshacl = run_pyshacl(part, shapes)
    whole = spent * options.sample
    note = "" if options.sample == 1 else f" (each {options.sample}th exposure; EXTRAPOLATED)"
    print(f"pySHACL: {spent:.1f} s{note}")

    print(f"Rust engine agrees: {from_rust == expected}")
    same = ours(adviser, encode(part))
    print(f"pySHACL agrees: {from_pyshacl == same} on {len(same)} results")
    print(f"ratio to pySHACL: {whole / columns:.0f}")
    print("ratio to the Rust engine:")
    print(f"  its call on ready text to our evaluation of ready columns: {rust / columns:.1f}")
    print(f"  its call on ready text to ours from the traced case: {rust / with_writing:.1f}")
    print(f"  reading and writing left out on both sides: {rust_alone / columns:.1f}")
    run_answers(adviser, case, options.repeat)
    run_command(3)
    if from_rust != expected or from_pyshacl != same:
        raise SystemExit("the engines do not agree")


if __name__ == "__main__":
    main()
