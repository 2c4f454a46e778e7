"""Matches to other vocabularies: of the right form, with a basis, never exact unless checked."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator

import pytest

from leastwise.graph.knowledge.knowledge import Knowledge, load_knowledge

AAT = "http://vocab.getty.edu/aat/"
KINDS = ("exactMatch", "closeMatch", "broadMatch", "narrowMatch", "relatedMatch")
#: Labels that AAT gives to several ids, by the notes of the tables the ids were read in.
HOMOGRAPHS = {
    "300014072", "300243428", "300014074", "300243430", "300183670", "300014067", "300013055",
    "300013062", "300013609", "300387147", "300053654", "300162124",
}  # fmt: skip


@pytest.fixture(scope="module")
def knowledge() -> Knowledge:
    return load_knowledge()


def matches(knowledge: Knowledge) -> Iterator[tuple[str, str, str]]:
    for concept in knowledge.instances("skos:Concept"):
        for kind in KINDS:
            for iri in knowledge.objects(concept, f"skos:{kind}"):
                yield concept, kind, iri


def test_there_are_matches_for_materials_damages_techniques_and_tests(knowledge: Knowledge) -> None:
    schemes = Counter(concept.partition(":")[0] for concept, _, _ in matches(knowledge))

    assert all(schemes[one] >= 5 for one in ("material", "damage", "technique", "test", "agent"))


def test_an_id_is_nine_digits(knowledge: Knowledge) -> None:
    wrong = [iri for _, _, iri in matches(knowledge) if not re.fullmatch(AAT + r"300\d{6}", iri)]

    assert not wrong


def test_every_match_says_in_a_note_where_the_id_was_read_and_what_was_not_checked(
    knowledge: Knowledge,
) -> None:
    for concept, _, iri in matches(knowledge):
        aat = iri.removeprefix(AAT)
        notes = [n for n in knowledge.texts(concept, "skos:editorialNote") if aat in n]

        assert len(notes) == 1, concept
        assert re.match(rf"AAT {aat} \([A-Z].+\): .+\. Looked up for '.+'; ", notes[0])


def test_nothing_is_exact_whose_scope_note_was_not_checked(knowledge: Knowledge) -> None:
    for concept, kind, iri in matches(knowledge):
        aat = iri.removeprefix(AAT)
        (note,) = [n for n in knowledge.texts(concept, "skos:editorialNote") if aat in n]

        assert kind != "exactMatch" or "scope note not checked" not in note
        assert kind != "exactMatch" or aat not in HOMOGRAPHS


def test_no_concept_has_two_exact_matches_in_one_scheme(knowledge: Knowledge) -> None:
    schemes = Counter(
        (concept, iri.rpartition("/")[0])
        for concept, kind, iri in matches(knowledge)
        if kind == "exactMatch"
    )

    assert not [one for one, times in schemes.items() if times > 1]


@pytest.mark.parametrize(
    ("concept", "kind", "aat", "row"),
    [
        # as read in the extract that source:aat-extract names: concept | id | labels
        ("damage:tide-line", "closeMatch", "300379484", "tidelines, tideline, tidemarks, tidemark"),
        ("material:silk", "closeMatch", "300014072", "silk, silkworm silk"),
        ("material:support-silk-crepeline", "closeMatch", "300380077", "crepeline, crêpeline"),
        ("policy:conservative", "closeMatch", "300387367", "minimal intervention"),
        ("test:microfade", "closeMatch", "300389889", "microfadeometry"),
        ("technique:screened-vacuum", "broadMatch", "300380467", "vacuum cleaning"),
    ],
)
def test_a_known_example_maps_as_it_was_read(
    knowledge: Knowledge, concept: str, kind: str, aat: str, row: str
) -> None:
    assert AAT + aat in knowledge.objects(concept, f"skos:{kind}")
    (note,) = [n for n in knowledge.texts(concept, "skos:editorialNote") if aat in n]
    assert row in note


def test_terms_that_must_not_be_mapped_are_not(knowledge: Knowledge) -> None:
    # 300054602 is bidding ("tendering"), 300191700 spider web, 300011124 mica ("isinglass")
    barred = {AAT + aat for aat in ("300054602", "300191700", "300011124", "300054061")}

    assert not barred & {iri for _, _, iri in matches(knowledge)}
