"""Web Annotations and PROV-O: as JSON-LD that a parser of linked data reads."""

from __future__ import annotations

import json

import pyoxigraph as ox
import pytest

from leastwise.graph.reviewing.annotations import MOTIVATIONS, Said, as_annotations, provenance

FROZEN = "https://example.org/proposal/c/1"
#: The motivations of the Web Annotation Vocabulary (W3C 2017, from memory), as far as we use them.
LISTED = {"assessing", "commenting", "questioning", "replying"}


def _one(anchor: str, quote: str = "") -> dict[str, object]:
    said = Said("r1", "remark", "A", "2026-11-25T10:00:00+00:00", "why?", anchor, quote)
    (item,) = json.loads(as_annotations(FROZEN, [said]))["items"]
    return dict(item)


def test_each_kind_has_one_motivation_of_the_list() -> None:
    assert set(MOTIVATIONS.values()) <= LISTED


@pytest.mark.parametrize(
    ("anchor", "quote", "selector"),
    [
        ("option:d/t", "", {"type": "FragmentSelector", "value": "option:d/t"}),
        ("step:3", "", {"type": "FragmentSelector", "value": "step:3"}),
        ("sentence:aims/1", "It is shown.", {"type": "TextQuoteSelector", "exact": "It is shown."}),
    ],
)
def test_a_place_is_a_selector_on_the_frozen_version(
    anchor: str, quote: str, selector: dict[str, str]
) -> None:
    assert _one(anchor, quote)["target"] == {"source": FROZEN, "selector": selector}


def test_a_claim_and_an_entry_are_targets_of_their_own() -> None:
    claim = _one("claim:M-128")["target"]
    assert isinstance(claim, dict)
    assert str(claim["source"]).endswith("claim/M-128")
    assert str(_one("entry:abc")["target"]).endswith("review/abc")


def test_provenance_names_revision_agent_time_and_what_was_used() -> None:
    said = [Said("r1", "decision", "B", "2026-11-26T10:00:00+00:00", "sound")]
    text = provenance(
        FROZEN,
        sha256="ab",
        by="A",
        at="2026-11-25T10:00:00+00:00",
        knowledge="k1",
        rules="r1",
        before="https://example.org/proposal/c/0",
        said=said,
    )
    store = ox.Store()
    store.load(text.encode(), format=ox.RdfFormat.JSON_LD)
    asked = (
        "PREFIX prov: <http://www.w3.org/ns/prov#> ASK { "
        f"<{FROZEN}> prov:wasRevisionOf <https://example.org/proposal/c/0> ; "
        "prov:wasGeneratedBy [ prov:endedAtTime ?t ; prov:wasAssociatedWith [ a prov:Person ] ; "
        "prov:used ?k ] . ?act prov:used ?it . FILTER(isIRI(?k)) }"
    )
    assert bool(store.query(asked))
