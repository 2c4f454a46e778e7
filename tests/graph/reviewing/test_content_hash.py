"""The hash of a frozen proposal: the same for the same statements, another for another word."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph.reviewing.content_hash import NotRdf, canonical

# rdf-canon (W3C 2024), section 4.4, the example with unique hashes: e0 and e1 are told apart by
# what they are attached to; from memory, and checked here through its invariance only
UNIQUE = (
    "<http://example.com/#p> <http://example.com/#q> _:e0 .\n"
    "<http://example.com/#p> <http://example.com/#r> _:e1 .\n"
    "_:e0 <http://example.com/#s> <http://example.com/#u> .\n"
    "_:e1 <http://example.com/#t> <http://example.com/#u> .\n"
)


@given(st.permutations(UNIQUE.splitlines()), st.permutations(["e0", "e1"]))
def test_neither_the_order_nor_the_names_of_blank_nodes_matter(
    lines: list[str], names: list[str]
) -> None:
    text = "\n".join(lines).replace("_:e0", "_:X").replace("_:e1", f"_:{names[1]}b")
    assert canonical(text.replace("_:X", f"_:{names[0]}a"), "nquads") == canonical(UNIQUE, "nquads")


def test_turtle_and_json_ld_of_the_same_statements_have_one_hash() -> None:
    turtle = canonical('<http://ex/a> <http://ex/b> [ <http://ex/c> "d" ] .', "turtle")
    json_ld = canonical('{"@id": "http://ex/a", "http://ex/b": {"http://ex/c": "d"}}', "jsonld")
    assert turtle == json_ld


def test_one_changed_word_changes_the_hash() -> None:
    one, other = (canonical(f'<http://ex/a> <http://ex/b> "{w}" .', "turtle") for w in ("x", "y"))
    assert one.sha256 != other.sha256


def test_what_is_no_rdf_is_refused_with_its_place() -> None:
    with pytest.raises(NotRdf, match="turtle"):
        canonical("<http://ex/a> <http://ex/b", "turtle")
