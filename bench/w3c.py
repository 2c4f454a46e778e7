"""The W3C test suite of SHACL Core through the public door, `leastwise.graph.shacl.check`.

The suite comes with the source package of pySHACL on PyPI (test/resources/sht_tests) and is not
kept here: it is fetched with pip for this run, or read from a package or folder that is named.
A test passes if the report conforms as wanted and its results are those wanted: focus node, path,
value, component, source shape and severity (blank nodes and paths of several steps count as such,
not by what is in them).
Run: python -m bench.w3c [PACKAGE.tar.gz | FOLDER]
"""

from __future__ import annotations

import logging
import subprocess
import sys
import tarfile
import tempfile
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from importlib.metadata import version
from pathlib import Path
from typing import Final
from urllib.parse import unquote, urlsplit

import rdflib
from rdflib.term import BNode, Node

from leastwise.graph.shacl import ShaclError, check

MF: Final = rdflib.Namespace("http://www.w3.org/2001/sw/DataAccess/tests/test-manifest#")
SHT: Final = rdflib.Namespace("http://www.w3.org/ns/shacl-test#")
SH: Final = rdflib.SH
FIELDS: Final = (
    SH.focusNode, SH.resultPath, SH.value, SH.sourceConstraintComponent, SH.sourceShape,
    SH.resultSeverity,
)  # fmt: skip

Wanted = tuple[str, Counter[tuple[str, ...]]]


@contextmanager
def suite(given: str | None) -> Iterator[Path]:
    """Give the folder of the suite; what is fetched or unpacked for it goes again."""
    with tempfile.TemporaryDirectory() as folder:
        place = Path(given) if given else _fetched(Path(folder))
        if place.is_file():
            with tarfile.open(place) as package:
                package.extractall(Path(folder) / "suite", filter="data")
            place = Path(folder) / "suite"
        found = [place] if (place / "core").is_dir() else [*place.rglob("sht_tests")]
        if not found:
            raise SystemExit(f"{place}: expected a folder with core/, or a package that holds it")
        yield found[0] / "core"


def _fetched(folder: Path) -> Path:
    command = [sys.executable, "-m", "pip", "download", "-q", "--no-deps", "--no-binary", ":all:"]
    named = f"pyshacl=={version('pyshacl')}"
    subprocess.run([*command, "-d", str(folder), named], check=True)  # noqa: S603
    return next(folder.glob("*.tar.gz"))


def tests(file: Path) -> Iterator[tuple[rdflib.Graph, Node]]:
    """Yield the tests that a file describes, each with the graph that it stands in."""
    graph = rdflib.Graph().parse(file, format="turtle", publicID=file.resolve().as_uri())
    for test in graph.subjects(rdflib.RDF.type, SHT.Validate):
        yield graph, test


def passes(graph: rdflib.Graph, test: Node) -> bool:
    """Return whether the report of a test is the one that is wanted."""
    action, wanted = graph.value(test, MF.action), graph.value(test, MF.result)
    data, shapes = (_path(graph.value(action, one)) for one in (SHT.dataGraph, SHT.shapesGraph))
    try:
        found = check(data, shapes)
    except ShaclError:
        return wanted == SHT.Failure
    report = found.value(predicate=rdflib.RDF.type, object=SH.ValidationReport)
    return wanted != SHT.Failure and told(found, report) == told(graph, wanted)


def _path(name: Node | None) -> Path:
    return Path(unquote(urlsplit(str(name)).path))


def told(graph: rdflib.Graph, report: Node | None) -> Wanted:
    """Return whether a report conforms, and how often it says each result."""
    rows = (
        tuple(_text(graph.value(result, field)) for field in FIELDS)
        for result in graph.objects(report, SH.result)
    )
    return str(graph.value(report, SH.conforms)), Counter(rows)


def _text(node: Node | None) -> str:
    if node is None or isinstance(node, BNode):
        return "" if node is None else "_:"
    return node.n3()


def main() -> int:
    """Run the suite; the exit code is 1 if a test fails."""
    rdflib.NORMALIZE_LITERALS = False  # or what is wanted isn't read as it is written
    logging.disable(logging.CRITICAL)  # rdflib tells of each ill-typed literal, which are meant
    failed, count = [], 0
    with suite(sys.argv[1] if len(sys.argv) > 1 else None) as folder:
        for file in sorted(folder.rglob("*.ttl")):
            for graph, test in tests(file):
                count += 1
                if not passes(graph, test):
                    failed.append(f"{file.parent.name}/{file.stem}")
    print(f"W3C SHACL Core: {count - len(failed)} of {count} pass")
    print("\n".join(f"fails: {name}" for name in failed), end="\n" if failed else "")
    return bool(failed)


if __name__ == "__main__":
    sys.exit(main())
