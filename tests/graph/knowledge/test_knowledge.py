"""The knowledge cache never changes an answer: stale or damaged, it is made anew."""

from __future__ import annotations

from pathlib import Path

import pytest

from leastwise.graph.errors import KnowledgeError
from leastwise.graph.knowledge.knowledge import load_knowledge

TURTLE = """
@prefix material: <https://w3id.org/leastwise/material/> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
material:a a skos:Concept ; skos:prefLabel "{label}"@en ; skos:broader [ skos:note "inner" ] .
"""


@pytest.fixture
def turtle(tmp_path: Path) -> Path:
    path = tmp_path / "a.ttl"
    path.write_text(TURTLE.format(label="first"))
    return path


def label(path: Path, cache: Path | None) -> str:
    return load_knowledge(files=[path], cache=cache).label("material:a")


def test_the_cache_holds_what_the_files_say(turtle: Path, tmp_path: Path) -> None:
    cache = tmp_path / "cache"
    without = load_knowledge(files=[turtle])
    load_knowledge(files=[turtle], cache=cache)

    kept = load_knowledge(files=[turtle], cache=cache)

    assert list(kept.triples.terms) == list(without.triples.terms)
    assert [c.tolist() for c in kept.triples.columns()] == [
        c.tolist() for c in without.triples.columns()
    ]


def test_a_changed_file_is_read_again(turtle: Path, tmp_path: Path) -> None:
    cache = tmp_path / "cache"
    label(turtle, cache)
    turtle.write_text(TURTLE.format(label="second"))

    assert label(turtle, cache) == "second"


@pytest.mark.parametrize(
    "damage",
    [
        lambda content: b"",
        lambda content: b"not an archive",
        lambda content: content[: len(content) // 2],
        lambda content: content.replace(b"first", b"worse"),
        lambda content: content[:-200] + bytes(200),
    ],
)
def test_a_damaged_cache_is_made_anew(turtle: Path, tmp_path: Path, damage) -> None:  # type: ignore[no-untyped-def]
    cache = tmp_path / "cache"
    label(turtle, cache)
    (kept,) = cache.glob("*.npz")
    kept.write_bytes(damage(kept.read_bytes()))

    assert label(turtle, cache) == "first"
    assert label(turtle, cache) == "first"


def test_a_cache_under_another_name_is_not_believed(turtle: Path, tmp_path: Path) -> None:
    cache = tmp_path / "cache"
    label(turtle, cache)
    (kept,) = cache.glob("*.npz")
    turtle.write_text(TURTLE.format(label="second"))
    kept.rename(cache / f"{load_knowledge(files=[turtle]).digest}.npz")

    assert label(turtle, cache) == "second"


def test_a_cache_folder_that_cannot_be_made_costs_only_speed(turtle: Path, tmp_path: Path) -> None:
    in_the_way = tmp_path / "file"
    in_the_way.write_text("x")

    assert label(turtle, in_the_way / "cache") == "first"


def test_the_digest_follows_the_content(turtle: Path) -> None:
    before = load_knowledge(files=[turtle]).digest
    turtle.write_text(TURTLE.format(label="second"))

    assert load_knowledge(files=[turtle]).digest != before


def test_broken_turtle_is_named_with_its_line(tmp_path: Path) -> None:
    path = tmp_path / "broken.ttl"
    path.write_text("@prefix a: <http://a/> .\na:b a:c unknown:d .\n")

    with pytest.raises(KnowledgeError, match=r"broken\.ttl, line 2.*prefix") as caught:
        load_knowledge(files=[path])
    assert "Correct" in str(caught.value)


def test_an_overlay_that_is_not_a_folder_is_a_clear_error(tmp_path: Path) -> None:
    with pytest.raises(KnowledgeError, match="is not a folder"):
        load_knowledge([tmp_path / "none"])


MORE = """
@prefix material: <https://w3id.org/leastwise/material/> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
material:a skos:prefLabel "deux"@fr ; skos:broader [ skos:note "inner" ] .
material:b a skos:Concept ; skos:broader material:a .
"""


def test_folders_laid_over_give_what_reading_all_files_at_once_gives(
    turtle: Path, tmp_path: Path
) -> None:
    folders = [tmp_path / name for name in ("ours", "theirs", "rules-only")]
    for folder, text in zip(folders, (MORE, MORE.replace(":b", ":c"), ""), strict=True):
        (folder / "rules").mkdir(parents=True)
        (folder / "rules" / "r.ttl").write_text("")
        (folder / "m.ttl").write_text(text)

    over = load_knowledge(folders, files=[turtle], cache=tmp_path / "cache")
    at_once = load_knowledge(files=[turtle, *(folder / "m.ttl" for folder in folders)])

    assert (over.digest, over.files) == (at_once.digest, at_once.files)
    assert list(over.triples.terms) == list(at_once.triples.terms)
    assert [c.tolist() for c in over.triples.columns()] == [
        c.tolist() for c in at_once.triples.columns()
    ]
    assert over.subjects() == at_once.subjects()
    assert [over.predicates(s) for s in over.subjects()] == [
        at_once.predicates(s) for s in at_once.subjects()
    ]


def test_what_is_laid_over_leaves_what_lies_beneath_as_it_is(turtle: Path, tmp_path: Path) -> None:
    (tmp_path / "ours").mkdir()
    (tmp_path / "ours" / "m.ttl").write_text(MORE)
    alone = load_knowledge(files=[turtle])

    over = load_knowledge([tmp_path / "ours"], files=[turtle])

    assert over.beneath is not None
    assert "material:b" in over
    assert "material:b" not in over.beneath
    assert list(over.beneath.triples.terms) == list(alone.triples.terms)
    assert [over.beneath.predicates(s) for s in alone.subjects()] == [
        alone.predicates(s) for s in alone.subjects()
    ]
