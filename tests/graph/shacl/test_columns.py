"""The compiled door: tables, blocks, and results that do not depend on how the data arrives."""

from __future__ import annotations

import doctest
import importlib
import pkgutil
import subprocess
import sys
from random import Random

import numpy as np
import pytest

import leastwise.graph.shacl as package
from leastwise.graph.shacl import (
    ResultRow,
    Results,
    TermTable,
    Triples,
    compile_shapes,
    constraint,
    evaluate,
    evaluator,
    iri,
    literal,
    split_literal,
)
from tests.graph.shacl.random_graphs import Maker, Rows, sh

INTEGER = "http://www.w3.org/2001/XMLSchema#integer"


def rows_in(results: Results) -> list[ResultRow]:
    return sorted(results, key=str)


def random_pair(seed: int) -> tuple[Rows, Rows]:
    maker = Maker(Random(seed), ("mixed", "ordered")[seed % 2])  # noqa: S311
    return maker.data(), maker.shapes_graph()


def test_compiled_use_does_not_import_rdflib() -> None:
    code = (
        "import sys, leastwise.graph.shacl as s\n"
        "t = s.Triples.from_terms([('<a>', '<b>', '<c>')])\n"
        "assert s.evaluate(s.compile_shapes(t), t).conforms\n"
        "print(sorted(m for m in sys.modules if m.partition('.')[0] in ('rdflib', 'pyshacl')))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)  # noqa: S603
    assert done.stdout.strip() == "[]"


@pytest.mark.parametrize("name", sorted(m.name for m in pkgutil.iter_modules(package.__path__)))
def test_docstrings_say_what_the_modules_do(name: str) -> None:
    module = importlib.import_module(f"{package.__name__}.{name}")
    assert doctest.testmod(module).failed == 0


def test_the_package_docstring_is_right() -> None:
    outcome = doctest.testmod(package)
    assert outcome.failed == 0
    assert outcome.attempted > 5


@pytest.mark.parametrize("text", ["", "a", 'say "so"', "back\\slash", "two\nlines\r", '\\"', "\\n"])
def test_literals_survive_being_written(text: str) -> None:
    assert split_literal(literal(text))[0] == text
    assert split_literal(literal(text, language="en")) == (
        text,
        "http://www.w3.org/1999/02/22-rdf-syntax-ns#langString",
        "en",
    )
    assert split_literal(literal(text, INTEGER))[:2] == (text, INTEGER)


def test_split_literal_refuses_other_terms() -> None:
    with pytest.raises(ValueError, match="not a literal"):
        split_literal("<http://example.org/a>")


def test_a_child_table_keeps_ids_and_leaves_its_base_alone() -> None:
    base = TermTable(["<a>", "<b>"])
    child = base.child()
    assert child.intern("<b>") == 1
    assert child.intern("<c>") == 2
    assert base.intern("<d>") == 2  # after the child was made: unseen by it, and no clash
    assert child.find("<d>") == -1
    assert child.intern("<d>") == 3
    assert list(child) == ["<a>", "<b>", "<c>", "<d>"]
    assert list(base) == ["<a>", "<b>", "<d>"]
    grandchild = child.child()
    assert grandchild.intern_many(["<a>", "<c>", "<e>"]).tolist() == [0, 2, 4]
    assert grandchild.find_many(["<e>", "<x>"]).tolist() == [4, -1]
    assert grandchild.take(np.array([4, 0], dtype=np.int32)) == ["<e>", "<a>"]
    assert "<a>" in grandchild
    assert 3 not in grandchild


def test_a_table_knows_what_it_extends() -> None:
    base = TermTable(["<a>", "<b>"])
    child = base.child()
    assert child.extends(base, 2)
    assert child.extends(child, 2)
    base.intern("<late>")
    assert not child.extends(base, 3)
    assert not base.extends(child, 1)


@pytest.mark.parametrize("index", [-1, 2])
def test_ids_out_of_range_are_refused(index: int) -> None:
    table = TermTable(["<a>", "<b>"])
    with pytest.raises(IndexError):
        table[index]


def test_triples_are_a_set() -> None:
    terms = TermTable(["<a>", "<p>", "<b>"])
    triples = Triples.from_columns(terms, [0, 0, 2], [1, 1, 1], [2, 2, 0])
    more = triples.extended_with(terms, [0], [1], [2])
    assert len(triples) == len(more) == 2
    assert (more.s.tolist(), more.p.tolist(), more.o.tolist()) == ([0, 2], [1, 1], [2, 0])
    assert len(Triples(terms)) == 0


def test_columns_must_fit_together() -> None:
    terms = TermTable(["<a>"])
    with pytest.raises(ValueError, match="differ in length"):
        Triples.from_columns(terms, [0], [0], [0, 0])
    with pytest.raises(ValueError, match="one dimension"):
        Triples.from_columns(terms, [[0]], [0], [0])
    with pytest.raises(ValueError, match="does not extend"):
        Triples.from_columns(terms, [0], [0], [0]).extended_with(TermTable(), [0], [0], [0])
    one, two = (Triples.from_terms([("<a>", "<b>", "<c>")]) for _ in range(2))
    with pytest.raises(ValueError, match="unrelated"):
        one.union(two)


def test_an_extension_shares_the_index_of_the_base() -> None:
    terms = TermTable()
    base = Triples.from_terms([("<a>", "<p>", "<b>")], terms)
    relation = base.blocks[0].forward(1)
    child = terms.child()
    both = base.union(Triples.from_terms([("<a>", "<p>", "<new>")], child))
    assert both.blocks[0] is base.blocks[0]
    assert both.blocks[0].forward(1) is relation


@pytest.mark.parametrize("seed", range(60))
def test_results_do_not_depend_on_blocks_or_tables(seed: int) -> None:
    data, shapes = random_pair(seed)
    terms = TermTable()
    compiled = compile_shapes(Triples.from_terms(shapes, terms))
    expected = rows_in(evaluate(compiled, Triples.from_terms(data, terms)))
    unrelated = Triples.from_terms(data)
    assert rows_in(evaluate(compiled, unrelated)) == expected
    half = len(data) // 2
    base = Triples.from_terms(data[: half + 2], terms)  # two triples are in both blocks
    request = Triples.from_terms(data[half:], terms.child())
    assert rows_in(evaluate(compiled, base.union(request))) == expected


@pytest.mark.parametrize("seed", range(60))
def test_results_do_not_depend_on_what_is_worth_asking(
    seed: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    data, shapes = (Triples.from_terms(rows) for rows in random_pair(seed))
    compiled = compile_shapes(shapes)
    expected = rows_in(evaluate(compiled, data))
    monkeypatch.setattr(evaluator, "_OVERHEAD", -1000)  # never ask about the whole set
    monkeypatch.setattr(constraint, "WHOLE_SET_SHARE", 0)
    assert rows_in(evaluate(compiled, data)) == expected


def test_equal_shapes_share_one_criterion() -> None:
    rows: Rows = []
    for name in ("a", "b"):
        shape, inner = iri(name), f"_:{name}"
        rows += [
            (shape, sh("targetNode"), iri("n")),
            (shape, sh("property"), inner),
            (inner, sh("path"), iri("p")),
            (inner, sh("hasValue"), iri("v")),
            (inner, sh("message"), literal(name)),
        ]
    compiled = compile_shapes(Triples.from_terms(rows))
    assert len({shape.criterion for shape in compiled.shapes}) == 1
    results = evaluate(compiled, Triples.from_terms([(iri("n"), iri("p"), iri("w"))]))
    assert sorted(row.messages for row in results) == [('"a"',), ('"b"',)]


def test_a_target_node_the_data_does_not_mention_is_a_focus_node() -> None:
    shapes = [
        (iri("S"), sh("targetNode"), iri("absent")),
        (iri("S"), sh("hasValue"), iri("absent")),
        (iri("S"), sh("class"), iri("C")),
    ]
    data = Triples.from_terms([("<x>", "<y>", "<z>")])
    results = evaluate(compile_shapes(Triples.from_terms(shapes)), data)
    assert [(row.focus, row.component[-25:]) for row in results] == [
        ("<absent>", "ClassConstraintComponent>")
    ]
    assert len(data.terms) == 3  # the data's own table is left as it was


def test_results_are_parallel_columns() -> None:
    data, shapes = (Triples.from_terms(rows) for rows in random_pair(4))
    compiled = compile_shapes(shapes)
    results = evaluate(compiled, data)
    names = ("focus", "value", "shape", "constraint", "component", "path", "predicate", "severity")
    assert {getattr(results, name).dtype for name in names} == {np.dtype(np.int32)}
    assert {getattr(results, name).shape for name in names} == {(len(results),)}
    assert len(results) > 0
    for row, constraint_index in zip(results, results.constraint, strict=True):
        assert row.component == compiled.constraints[constraint_index].component


def test_empty_data_and_empty_shapes() -> None:
    nothing = Triples(TermTable())
    assert evaluate(compile_shapes(nothing), nothing).conforms
    shapes = Triples.from_terms(
        [
            (iri("S"), sh("targetClass"), iri("C")),
            (iri("S"), sh("targetNode"), iri("n")),
            (iri("S"), sh("closed"), literal("true", "http://www.w3.org/2001/XMLSchema#boolean")),
            (iri("S"), sh("property"), "_:p"),
            ("_:p", sh("path"), iri("p")),
            ("_:p", sh("minCount"), literal("1", INTEGER)),
        ]
    )
    assert len(evaluate(compile_shapes(shapes), nothing)) == 1


def test_long_chains_and_cycles_are_closed_over() -> None:
    edges = [(iri(str(i)), iri("up"), iri(str(i + 1))) for i in range(400)]
    edges.append((iri("400"), iri("up"), iri("395")))
    shapes = [
        (iri("S"), sh("targetNode"), iri("0")),
        (iri("S"), sh("path"), "_:star"),
        ("_:star", sh("oneOrMorePath"), iri("up")),
        (iri("S"), sh("maxCount"), literal("399", INTEGER)),
        (iri("S"), sh("hasValue"), iri("0")),
    ]
    results = evaluate(compile_shapes(Triples.from_terms(shapes)), Triples.from_terms(edges))
    assert sorted(row.component.rpartition("#")[2] for row in results) == [
        "HasValueConstraintComponent>",
        "MaxCountConstraintComponent>",
    ]
