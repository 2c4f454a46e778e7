"""Search over the knowledge: what is named so comes first, and nothing is too slow."""

from __future__ import annotations

import pytest

from leastwise.graph import Adviser
from leastwise.graph.reference.book import build_reference
from leastwise.graph.reference.search import SearchIndex, build_index, words_of


@pytest.fixture(scope="module")
def index(adviser: Adviser) -> SearchIndex:
    book = build_reference(adviser.knowledge, adviser.rules)
    return build_index(book, adviser.knowledge)


@pytest.mark.parametrize(
    ("query", "first"),
    [
        ("silk", "material:silk"),
        ("SILK", "material:silk"),
        ("gelatin sequins", "material:gelatin-sequins"),
        ("sequin of gelatin", "material:gelatin-sequins"),
        ("steam", "technique:steam"),
        ("Crêpeline", "material:support-silk-crepeline"),
        ("crepeline", "material:support-silk-crepeline"),
        ("M-128", "claim:M-128"),
        ("m-128", "claim:M-128"),
        ("claim:M-093", "claim:M-093"),
        ("EH-173", "source:EH-173"),
        ("tussah", "material:wild-silk"),
    ],
)
def test_what_is_called_so_comes_first(index: SearchIndex, query: str, first: str) -> None:
    assert index.search(query).hits[0].id == first


def test_the_last_word_may_be_begun_only(index: SearchIndex) -> None:
    assert "material:gelatin-sequins" in {hit.id for hit in index.search("gelatin seq").hits}
    assert not index.search("gela sequins").every_word  # only the last one may
    assert index.search("the sequins of gelatin").every_word  # small words need not be there


def test_an_id_that_is_begun_finds_those_that_go_on(index: SearchIndex) -> None:
    found = [hit.id for hit in index.search("M-12").hits]

    assert len(found) > 5
    assert all(one.startswith("claim:M-12") for one in found[:5])


@pytest.mark.parametrize(
    ("query", "kind"),
    [("mercury", "claim"), ("acetate weakens sticky", "rule"), ("Hearle", "source")],
)
def test_statements_messages_and_citations_are_searched(
    index: SearchIndex, query: str, kind: str
) -> None:
    assert index.search(query, kind).total > 0


def test_a_kind_narrows_the_hits_and_the_counts_stay(index: SearchIndex) -> None:
    everything, claims = index.search("silk"), index.search("silk", "claim")

    assert {hit.kind for hit in claims.hits} == {"claim"}
    assert claims.total == everything.kinds["claim"] < everything.total
    assert claims.kinds == everything.kinds
    assert sum(everything.kinds.values()) == everything.total


def test_pages_follow_one_another(index: SearchIndex) -> None:
    whole = [hit.id for hit in index.search("silk", most=40).hits]
    pages = [hit.id for n in range(4) for hit in index.search("silk", most=10, skip=10 * n).hits]

    assert pages == whole
    assert len(set(pages)) == 40


def test_what_holds_no_word_finds_nothing(index: SearchIndex) -> None:
    for query in ("", "   ", "?!", "zzzqqq", "<script>"):
        assert index.search(query).total == 0


def test_a_snippet_is_the_text_around_the_match(index: SearchIndex) -> None:
    for hit in index.search("mercury").hits:
        said = "".join(piece.text for piece in hit.snippet)
        text = next(t for t in index.texts if t.id == hit.id)
        whole = (text.definition, text.statement, ", ".join(text.also))
        assert any(said.strip("… ") in one for one in whole)
        marked = [p.text.casefold() for p in (*hit.label, *hit.snippet) if p.is_match]
        assert all(word.startswith("mercur") for word in marked)
        assert len(said) < 200


def test_words_are_compared_without_case_accents_and_plural() -> None:
    assert words_of("Crêpes, CREPE") == ["crepe", "crepe"]
    assert words_of("glass moss") == ["glass", "moss"]


@pytest.mark.parametrize(
    ("said", "found"),
    [
        ("hoover", "refused:household-vacuum"),
        ("sellotape", "refused:self-adhesive-tape"),
        ("steam the hat", "refused:steaming-felt-hats"),
        ("preen feathers", "technique:feather-realigning"),
        ("musty smell", "damage:odour"),
        ("bobbles", "damage:pilling"),
    ],
)
def test_words_that_people_use_find_what_they_mean(
    index: SearchIndex, said: str, found: str
) -> None:
    assert found in [hit.id for hit in index.search(said, most=3).hits]
