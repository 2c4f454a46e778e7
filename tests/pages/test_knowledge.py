"""Pages of knowledge: every name has one, every link on it leads somewhere, and all are quick."""

from __future__ import annotations

import random
import re
from collections.abc import Iterator
from typing import Any
from urllib.parse import unquote

import pytest
from fastapi.testclient import TestClient

from leastwise.api.documents.sections import grade_matrix
from leastwise.api.settings import Settings
from leastwise.graph import Adviser
from leastwise.graph.names import SCHEMES
from leastwise.graph.reference.book import build_reference
from tests.apps import Apps
from tests.browser import axe_faults, overflow

LISTS = (
    "/knowledge",
    "/knowledge/search?q=silk",
    "/knowledge/search?q=silk&kind=claim&page=2",
    "/knowledge/disagreements",
    "/knowledge/disagreements?page=7",
    "/knowledge/sources",
    "/knowledge/sources?letter=S",
    "/knowledge/claims?basis=memory",
    "/knowledge/claims?basis=practice&page=3",
    "/knowledge/claims?basis=read",
    "/knowledge/coverage",
    "/knowledge/grades",
    "/knowledge/rules",
    "/knowledge/rules/heat",
    "/knowledge/vocabulary",
    "/knowledge/materials",
    "/knowledge/damages",
    "/knowledge/techniques",
    "/knowledge/agents",
    "/knowledge/tests",
    "/knowledge/conditions",
    "/knowledge/cautions",
    "/knowledge/aims",
    "/knowledge/axes",
    "/knowledge/contacts",
    "/knowledge/policies",
)


@pytest.fixture(scope="module")
def reader(apps: Apps) -> Iterator[TestClient]:
    app = apps.anew(Settings(cache=None))
    headers = {"accept": "text/html"}
    with TestClient(app, base_url="http://127.0.0.1", headers=headers) as one:
        yield one


def links(text: str) -> set[str]:
    found = {one.replace("&amp;", "&") for one in re.findall(r'href="(/[^"#]*)', text)}
    return {one for one in found if not one.startswith("/static/")}


def every_name(adviser: Adviser) -> list[str]:
    known = {*SCHEMES, "lw"}
    names = {s for s in adviser.knowledge.subjects() if s.partition(":")[0] in known}
    return sorted(names | set(adviser.rules.rules))


@pytest.mark.slow
def test_every_name_has_a_page_and_every_link_on_it_leads_somewhere(
    reader: TestClient, adviser: Adviser
) -> None:
    names = every_name(adviser)
    by_kind: dict[str, list[str]] = {}
    for name in names:
        by_kind.setdefault(name.partition(":")[0], []).append(name)
    chosen = random.Random(7).sample(names, 300)  # noqa: S311 - a sample, not a secret
    sample = {*chosen, *(kind[0] for kind in by_kind.values())}
    assert {"material", "claim", "source", "rule", "caution", "test", "lw"} <= set(by_kind)
    seen: set[str] = set()
    for name in sorted(sample):
        answer = reader.get(f"/concepts/{name}")
        assert answer.status_code == 200, name
        assert f"<code>{name}</code>" in answer.text
        seen |= links(answer.text)
    for address in LISTS:
        answer = reader.get(address)
        assert answer.status_code == 200, address
        seen |= links(answer.text)

    known = set(names)
    concepts = {unquote(one.removeprefix("/concepts/")) for one in seen if "/concepts/" in one}
    bare = {re.sub(r"\.(ttl|jsonld|json)$", "", one) for one in concepts}
    assert len(bare) > 700
    assert bare <= known  # so that each has its page, by the walk below or by its like above
    others = sorted(seen - {f"/concepts/{one}" for one in concepts})
    for address in others:
        if not re.match(r"/(precedents|sparql)", address):
            assert reader.get(address).status_code == 200, address
    for name in random.Random(8).sample(sorted(bare), 60):  # noqa: S311
        assert reader.get(f"/concepts/{name}").status_code == 200, name


@pytest.mark.parametrize("prefix", ["material", "technique", "agent", "damage", "test", "caution"])
def test_all_concepts_of_a_kind_have_a_page_with_their_label(
    reader: TestClient, adviser: Adviser, prefix: str
) -> None:
    mine = [one for one in every_name(adviser) if one.startswith(f"{prefix}:")]
    for name in mine[::4]:
        assert reader.get(f"/concepts/{name}").status_code == 200, name


# Content negotiation


@pytest.mark.parametrize(
    ("accept", "kind"),
    [
        ("text/html,application/xhtml+xml,application/xml;q=0.9,*/*;q=0.8", "text/html"),
        ("*/*", "application/json"),
        ("application/json", "application/json"),
        ("text/turtle", "text/turtle"),
        ("application/ld+json", "application/ld+json"),
        ("application/n-triples", "application/n-triples"),
        ("text/html;q=0.4, text/turtle;q=0.6", "text/turtle"),
        ("image/png", "application/json"),
    ],
)
@pytest.mark.parametrize(
    "name", ["material:silk", "claim:M-128", "rule:heat-on-acetate", "lw:agent"]
)
def test_a_concept_comes_in_the_form_that_is_asked_for(
    reader: TestClient, name: str, accept: str, kind: str
) -> None:
    answer = reader.get(f"/concepts/{name}", headers={"accept": accept})

    assert answer.status_code == 200
    assert answer.headers["content-type"].startswith(kind)
    assert answer.headers["vary"] == "Accept"
    assert f'</concepts/{name}.ttl>; rel="alternate"; type="text/turtle"' in answer.headers["link"]


@pytest.mark.parametrize(
    ("ending", "kind"),
    [
        (".ttl", "text/turtle"),
        (".jsonld", "application/ld+json"),
        (".nt", "application/n-triples"),
        (".json", "application/json"),
        (".html", "text/html"),
    ],
)
def test_an_ending_does_what_a_header_does(reader: TestClient, ending: str, kind: str) -> None:
    for accept in ("*/*", "text/html", "text/turtle"):
        answer = reader.get(f"/concepts/material:silk{ending}", headers={"accept": accept})
        assert answer.headers["content-type"].startswith(kind)


def test_a_published_name_leads_to_its_page(reader: TestClient) -> None:
    for path, there in (
        ("/material/silk", "/concepts/material:silk"),
        ("/claim/M-128", "/concepts/claim:M-128"),
        ("/ns", "/knowledge/vocabulary"),
    ):
        answer = reader.get(path, follow_redirects=False)
        assert (answer.status_code, answer.headers["location"]) == (303, there)


def test_what_is_not_there_is_told_with_names_near_it(reader: TestClient) -> None:
    answer = reader.get("/concepts/material:silkk")

    assert answer.status_code == 404
    assert 'href="/concepts/material:silk"' in answer.text
    for name in ("x:y", "rdf:type", "claim:M-99999", "<b>", "material:silkk.html"):
        assert reader.get(f"/concepts/{name}").status_code == 404
    for ending in (".ttl", ".json"):
        answer = reader.get(f"/concepts/material:silkk{ending}", headers={"accept": "*/*"})
        assert answer.status_code == 404
    assert reader.get("/knowledge/nothing").status_code == 404
    assert reader.get("/knowledge/rules/nothing").status_code == 404


# What stands on the pages


def test_a_material_shows_grades_claims_disagreements_and_matches(reader: TestClient) -> None:
    text = reader.get("/concepts/material:silk").text

    assert "Also called" in text
    assert 'href="/concepts/material:protein-fibre"' in text
    assert 'id="grades"' in text
    assert "destroys or alters for good" in text
    assert 'id="disagree"' in text
    assert "vocab.getty.edu/aat/300014072" in text
    assert "read in the source" in text
    assert "recalled, not opened" in text


def test_a_claim_shows_source_basis_and_what_rests_on_it(
    reader: TestClient, adviser: Adviser
) -> None:
    k = adviser.knowledge
    rule = next(r for r in adviser.rules.rules.values() if r.rests_on)
    claim = rule.rests_on[0]
    text = reader.get(f"/concepts/{claim}").text

    assert f'href="/concepts/{rule.id}"' in text
    for source in k.objects(claim, "dcterms:source"):
        assert f'href="/concepts/{source}"' in text


def test_a_claim_from_memory_is_marked_as_such(reader: TestClient, adviser: Adviser) -> None:
    k = adviser.knowledge
    claim = next(c for c in k.instances("lw:Claim") if "lw:memory" in k.objects(c, "lw:basis"))

    assert "Check it before you rely on it" in reader.get(f"/concepts/{claim}").text


def test_a_source_lists_exactly_the_claims_that_name_it(
    reader: TestClient, adviser: Adviser
) -> None:
    k, source = adviser.knowledge, "source:EH-173"
    mine = [c for c in k.instances("lw:Claim") if source in k.objects(c, "dcterms:source")]
    text = reader.get(f"/concepts/{source}").text

    assert len(mine) > 5
    assert f"{len(mine)} claims." in text
    assert all(f'aria-label="Claim {claim.partition(":")[2]}"' in text for claim in mine)


def test_a_technique_shows_its_cautions_first_and_its_stop_signs(reader: TestClient) -> None:
    text = reader.get("/concepts/technique:steam").text

    assert text.index("Cautions</h2>") < text.index('<h2 id="doing">')
    assert "Stop signs" in text


def test_what_is_not_known_is_never_shown_as_harmless(reader: TestClient, adviser: Adviser) -> None:
    text = reader.get("/knowledge/grades").text
    book = build_reference(adviser.knowledge, adviser.rules)
    unknown = sum(g.harm < 0 for _, row in grade_matrix(book) for g in row)

    assert unknown > 100
    assert text.count('<td class="hx"><span class="sr">not known</span>') == unknown
    assert "never counts as harmless" in text


def test_search_marks_what_was_looked_for_and_shows_hostile_text_as_text(
    reader: TestClient,
) -> None:
    text = reader.get("/knowledge/search", params={"q": "gelatin sequins"}).text
    assert "<mark>gelatin</mark> <mark>sequins</mark>" in text

    hostile = '"><script>alert(1)</script>'
    text = reader.get("/knowledge/search", params={"q": hostile}).text
    assert "<script>alert" not in text
    assert "&lt;script&gt;alert(1)" in text
    assert reader.get("/knowledge/search", params={"q": "silk", "page": "0"}).status_code == 422
    assert reader.get("/knowledge/search", params={"q": "silk", "kind": "zz"}).status_code == 200


def test_the_pages_of_claims_hold_each_of_them_once(reader: TestClient, adviser: Adviser) -> None:
    k = adviser.knowledge
    mine = {c for c in k.instances("lw:Claim") if "lw:memory" in k.objects(c, "lw:basis")}
    found: list[str] = []
    for page in range(1, -(-len(mine) // 40) + 1):
        text = reader.get(f"/knowledge/claims?basis=memory&page={page}").text
        found += re.findall(r'<a class="claim-id" href="/concepts/([^"]+)"', text)

    assert sorted(found) == sorted(mine)


def test_pages_have_no_fault_of_access_and_nothing_sticks_out(page: Any) -> None:
    addresses = ("/knowledge", "/knowledge/grades", "/concepts/material:silk", "/concepts/lw:Claim")
    for address in (*addresses, "/knowledge/search?q=silk", "/knowledge/disagreements"):
        page.goto(address)
        assert axe_faults(page) == [], address
        for width in (1280, 390):
            page.set_viewport_size({"width": width, "height": 900})
            assert overflow(page) == [], (address, width)
