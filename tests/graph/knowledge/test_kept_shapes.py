"""Compiled rules kept in a file: the same rules, and nothing else whatever stands in it."""

from __future__ import annotations

import json
from dataclasses import fields
from pathlib import Path

import pytest

from leastwise.graph.knowledge import kept_shapes
from leastwise.graph.knowledge.rules import shipped_rules
from leastwise.graph.knowledge.sparql_rules import set_apart
from leastwise.graph.knowledge.turtle import load_triples
from leastwise.graph.shacl import CompiledShapes, compile_shapes
from leastwise.graph.shacl.triples import Triples


@pytest.fixture(scope="module")
def core() -> Triples:
    triples, _ = load_triples(shipped_rules()[:3], None)
    return set_apart(triples)[0]


def same(one: CompiledShapes, other: CompiledShapes) -> bool:
    names = (f.name for f in fields(CompiledShapes) if f.name != "terms")
    return all(getattr(one, name) == getattr(other, name) for name in names)


def kept_in(folder: Path) -> Path:
    (path,) = folder.iterdir()
    return path


def test_what_is_kept_is_what_is_compiled(core: Triples, tmp_path: Path) -> None:
    compiled = compile_shapes(core)
    written = kept_shapes.compiled_shapes(core, "digest", tmp_path)
    stamp = kept_in(tmp_path).stat().st_mtime_ns
    read = kept_shapes.compiled_shapes(core, "digest", tmp_path)

    assert same(written, compiled)
    assert same(read, compiled)
    assert read.terms is core.terms
    assert kept_in(tmp_path).stat().st_mtime_ns == stamp


def test_it_is_read_and_not_compiled(
    core: Triples, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    kept_shapes.compiled_shapes(core, "digest", tmp_path)
    monkeypatch.setattr(kept_shapes, "compile_shapes", None)

    assert same(kept_shapes.compiled_shapes(core, "digest", tmp_path), compile_shapes(core))
    with pytest.raises(TypeError):
        kept_shapes.compiled_shapes(core, "another digest", tmp_path)


@pytest.mark.parametrize("harm", [b"", b"\xff\xfe", b"{}", b"0" * 64 + b"\n{}"])
def test_a_damaged_file_is_written_anew(core: Triples, tmp_path: Path, harm: bytes) -> None:
    kept_shapes.compiled_shapes(core, "digest", tmp_path)
    path = kept_in(tmp_path)
    whole = path.read_bytes()
    path.write_bytes(harm)

    assert same(kept_shapes.compiled_shapes(core, "digest", tmp_path), compile_shapes(core))
    assert path.read_bytes() == whole


@pytest.mark.parametrize("form", [["@Popen", "true"], ["@Not"], ["@Not", 1, 2], ["@regex", "("]])
def test_a_file_with_a_seal_makes_no_other_kind_of_value(
    core: Triples, tmp_path: Path, form: list[object]
) -> None:
    kept_shapes.compiled_shapes(core, "digest", tmp_path)
    path = kept_in(tmp_path)
    content = json.loads(path.read_text().partition("\n")[2])
    content["constraints"][0] = form
    text = json.dumps(content)
    path.write_text(f"{kept_shapes._seal(path, text)}\n{text}")

    assert same(kept_shapes.compiled_shapes(core, "digest", tmp_path), compile_shapes(core))


def test_a_folder_that_cannot_be_written_costs_no_answer(core: Triples, tmp_path: Path) -> None:
    blocked = tmp_path / "a file"
    blocked.touch()

    assert same(kept_shapes.compiled_shapes(core, "digest", blocked), compile_shapes(core))
