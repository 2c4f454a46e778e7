"""A file that lacks prefixes is told the very lines to add, all at once."""

from pathlib import Path

import pytest

from leastwise.graph.authoring.turtle_files import Fault, is_unreadable
from leastwise.graph.errors import KnowledgeError
from leastwise.graph.knowledge.prefixes import lines_to_add
from leastwise.graph.knowledge.turtle import load_triples
from leastwise.graph.names import EXAMPLES, PREFIXES


def test_all_missing_prefixes_are_told_as_lines(tmp_path: Path) -> None:
    path = tmp_path / "mine.ttl"
    path.write_text('material:sea-silk skos:prefLabel "sea silk"@en .\nflagged:x a lw:Exposure .\n')

    with pytest.raises(KnowledgeError) as failed:
        load_triples([path], None)

    for prefix, iri in {**PREFIXES, **EXAMPLES}.items():
        line = f"@prefix {prefix}: <{iri}> ."
        assert (line in str(failed.value)) == (prefix in ("material", "skos", "flagged", "lw"))


def test_the_check_of_a_folder_tells_them_all_too(tmp_path: Path) -> None:
    path = tmp_path / "mine.ttl"
    path.write_text('material:sea-silk skos:prefLabel "sea silk"@en .\n')
    faults: list[Fault] = []

    assert is_unreadable(path, faults)
    (fault,) = faults
    for prefix in ("material", "skos"):
        assert f"@prefix {prefix}: <{PREFIXES[prefix]}> ." in fault.what
    assert fault.line == 1


def test_a_prefix_that_is_not_ours_is_told_by_its_name(tmp_path: Path) -> None:
    path = tmp_path / "mine.ttl"
    path.write_text("house:a house:b house:c .\n")
    faults: list[Fault] = []

    assert is_unreadable(path, faults)
    assert "Add this line at the top: @prefix house: <…> ." in faults[0].what


@pytest.mark.parametrize(
    "text",
    [
        '@prefix lw: <https://w3id.org/leastwise/ns#> .\nlw:a lw:b "claim:x, and test:y" .',
        "# claim:x\n<claim:x> <claim:y> <claim:z> .",
        'PREFIX lw: <https://w3id.org/leastwise/ns#>\nlw:a lw:b """a "quoted" claim:x""" .',
        "",
    ],
)
def test_texts_iris_and_comments_name_nothing(text: str) -> None:
    assert lines_to_add(text.encode()) == ""


def test_another_fault_is_told_as_before(tmp_path: Path) -> None:
    path = tmp_path / "mine.ttl"
    path.write_text("<a> <b> .\n")

    with pytest.raises(KnowledgeError, match=r"Correct that line and run again\."):
        load_triples([path], None)
