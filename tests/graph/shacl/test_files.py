"""Graphs read from files by the evaluator itself: literals stay as they are written."""

from __future__ import annotations

from pathlib import Path

import pytest
import rdflib
from rdflib import Graph
from rdflib.compare import isomorphic

from leastwise.graph.shacl import check
from tests.graph.shacl.cases_of_values import CASES
from tests.graph.shacl.support import PREFIXES, SH, graph_of, quiet

ILL_TYPED = """
ex:S sh:targetNode ex:a ; sh:property [ sh:path ex:p ; sh:or (
    [ sh:datatype xsd:boolean ] [ sh:datatype xsd:integer ] ) ] .
ex:a ex:p "none"^^xsd:boolean , "true"^^xsd:boolean , "01"^^xsd:integer , "one"^^xsd:integer .
"""
NOT_TRUE = """
ex:S sh:targetNode ex:a ; sh:path ex:p ; sh:uniqueLang "1"^^xsd:boolean .
ex:a ex:p "one"@en , "two"@en .
"""
ODD_TEXT = r"""
ex:S sh:targetNode ex:a ; sh:property [ sh:path ex:p ; sh:maxLength 2 ] .
ex:a ex:p "a \"b\" \\ \n\t\r é \u0001 \U0001F600" , "ab"@en-GB , 'x' .
"""


def written(folder: Path, turtle: str, name: str = "graph.ttl") -> Path:
    path = folder / name
    path.write_text(PREFIXES + turtle, encoding="utf-8")
    return path


def failing(report: Graph) -> list[str]:
    return sorted(str(value) for value in report.objects(None, SH.value))


def test_a_literal_of_the_wrong_form_is_found_in_a_file(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = written(tmp_path, ILL_TYPED)
    monkeypatch.setattr(rdflib, "NORMALIZE_LITERALS", True)
    with quiet():
        rewritten = Graph().parse(path)  # what rdflib makes of it by itself

    assert failing(check(path, path)) == ["none", "one"]
    assert failing(check(rewritten, rewritten)) == ["one"]


def test_one_that_is_no_canonical_true_switches_nothing_on(tmp_path: Path) -> None:
    path = written(tmp_path, NOT_TRUE)

    assert len([*check(path, path).subjects(SH.sourceShape)]) == 0


def test_any_text_comes_out_as_it_is_written(tmp_path: Path) -> None:
    path = written(tmp_path, ODD_TEXT)

    assert failing(check(path, path)) == ['a "b" \\ \n\t\r é \x01 \U0001f600']
    assert failing(check(path, path)) == failing(check(graph_of(ODD_TEXT), graph_of(ODD_TEXT)))


@pytest.mark.parametrize("name", [*CASES][::4])
def test_a_file_says_what_its_graph_says(tmp_path: Path, name: str) -> None:
    turtle = CASES[name].turtle
    graph, path = graph_of(turtle), written(tmp_path, turtle)

    assert isomorphic(check(path, path), check(graph, graph))
    assert isomorphic(check(path, graph), check(graph_of(turtle), graph))


def test_blank_nodes_of_two_files_are_different_ones(tmp_path: Path) -> None:
    asked = "_:a a sh:NodeShape ; sh:targetObjectsOf ex:p ; sh:nodeKind sh:IRI ."
    shapes = written(tmp_path, asked)
    data = written(tmp_path, "ex:b ex:p _:a . _:a ex:q ex:c .", "data.ttl")

    report = check(data, shapes)

    (shape,), (focus,) = report.objects(None, SH.sourceShape), report.objects(None, SH.focusNode)
    assert shape != focus


def test_a_file_that_is_not_what_its_ending_says_is_told(tmp_path: Path) -> None:
    path = written(tmp_path, "ex:a ex:b")
    with pytest.raises(SyntaxError):
        check(path, path)


def test_a_file_that_cannot_be_read_is_told(tmp_path: Path) -> None:
    table, gone = tmp_path / "graph.csv", tmp_path / "gone.ttl"
    with pytest.raises(ValueError, match=r"expected a file ending in \.ttl"):
        check(table, table)
    with pytest.raises(FileNotFoundError):
        check(gone, gone)
