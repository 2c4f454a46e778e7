"""Questions on claims: from the claim's page to the editor's decision, and from the commands."""

from __future__ import annotations

from pathlib import Path

import pytest
from fastapi.testclient import TestClient

from leastwise.api.services import claim_questions as service
from leastwise.api.store import Store
from leastwise.graph import Adviser
from leastwise.graph.load import load_adviser
from tests.pages.conftest import form_token

CLAIM = "claim:M-128"
CHANGE = """@prefix claim: <https://w3id.org/leastwise/claim/> .
@prefix lw: <https://w3id.org/leastwise/ns#> .
@prefix material: <https://w3id.org/leastwise/material/> .
@prefix agent: <https://w3id.org/leastwise/agent/> .
claim:house-gelatin a lw:Claim, lw:SensitivityClaim ;
    lw:about material:gelatin-sequins ; lw:agent agent:heat ; lw:severity 4 ;
    lw:statement "Gelatin sequins melt in the heat of a lamp."@en ;
    lw:basis lw:practice ; lw:confidence lw:low .
"""


def sent(client: TestClient, **fields: str) -> dict[str, str]:
    return {"form_token": form_token(client), "claim": CLAIM, "what": "remark", **fields}


def asked(store: Store, adviser: Adviser, **fields: str) -> service.ClaimQuestion:
    given = {"claim": CLAIM, "what": "remark", "text": "Really?", **fields}
    return service.ask(store, adviser.knowledge, given, "me")


def test_a_remark_is_kept_and_stands_on_the_claims_page(client: TestClient) -> None:
    data = sent(client, text="Only for <b>thin</b> silk.")
    kept = client.post("/knowledge/questions", data=data, follow_redirects=False)
    page = client.get(f"/concepts/{CLAIM}")

    assert kept.status_code == 303
    assert "Only for &lt;b&gt;thin&lt;/b&gt; silk." in page.text
    assert kept.headers["location"] in page.text
    assert "Only for" in client.get(kept.headers["location"]).text
    assert kept.headers["location"] in client.get("/knowledge/questions").text


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"text": ""}, "Still missing: what is to be said."),
        ({"what": "rebuttal", "text": "No."}, "Still missing: the source"),
        ({"what": "change", "text": "So."}, "Still missing: the change"),
        ({"what": "change", "text": "So.", "turtle": "claim:x a"}, "change.ttl"),
        ({"what": "shout", "text": "No."}, "expected one of remark"),
        ({"text": "x" * 5000}, "expected at most 4000"),
    ],
)
def test_a_mistake_comes_back_with_what_was_typed(
    client: TestClient, fields: dict[str, str], words: str
) -> None:
    page = client.post("/knowledge/questions", data=sent(client, **fields))

    assert page.status_code == 422
    assert words in page.text
    assert fields["text"][:40] in page.text


def test_a_form_from_elsewhere_is_refused(client: TestClient) -> None:
    form_token(client)
    data = {"claim": CLAIM, "what": "remark", "text": "x", "form_token": "y" * 40}

    assert client.post("/knowledge/questions", data=data).status_code == 403


def test_a_decision_needs_its_reason_and_is_shown(
    client: TestClient, store: Store, adviser: Adviser
) -> None:
    one = asked(store, adviser, what="rebuttal", source="Example 2020, pp. 3-4")
    place = f"/knowledge/questions/{one.id}"
    token = form_token(client)
    silent = client.post(f"{place}/decision", data={"form_token": token, "state": "declined"})
    said = {"form_token": token, "state": "declined", "answer": "Another fibre."}
    client.post(f"{place}/decision", data=said)

    assert silent.status_code == 422
    assert "Still missing: why" in silent.text
    page = client.get(place).text
    assert "declined" in page
    assert "Another fibre." in page
    assert "Settle it" not in page
    assert place in client.get("/knowledge/questions?state=declined").text


@pytest.mark.slow
def test_a_change_is_taken_only_after_it_was_compared(
    client: TestClient, store: Store, adviser: Adviser, tmp_path: Path
) -> None:
    one = asked(store, adviser, what="change", turtle=CHANGE)
    place = f"/knowledge/questions/{one.id}"
    said = {"form_token": form_token(client), "state": "accepted", "answer": "Read again."}
    early = client.post(f"{place}/decision", data=said)
    client.post(f"{place}/compare", data=said)
    compared = client.get(place).text
    client.post(f"{place}/decision", data=said)
    now = service.question_by_id(store, one.id)

    assert early.status_code == 422
    assert "compare it first" in early.text
    assert "claim:house-gelatin" in compared
    assert "festival-dancer" in compared
    assert now.said("state") == "accepted"
    assert client.get(f"{place}/change.ttl").text == CHANGE.strip()
    written = service.write_change(now, tmp_path)
    assert written.read_text("utf-8").startswith("# Accepted by me: Read again.\n@prefix")
    with pytest.raises(ValueError, match="folder"):
        service.write_change(now, tmp_path)


def test_what_was_not_accepted_is_not_written(
    store: Store, adviser: Adviser, tmp_path: Path
) -> None:
    with pytest.raises(ValueError, match="no change that was accepted"):
        service.write_change(asked(store, adviser), tmp_path)


def test_a_question_on_something_that_is_no_claim_is_told(store: Store, adviser: Adviser) -> None:
    with pytest.raises(service.WrongQuestion, match="expected a claim such as"):
        asked(store, adviser, claim="material:silk")


HOUSE = """@prefix lw: <https://w3id.org/leastwise/ns#> .
@prefix material: <https://w3id.org/leastwise/material/> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .
material:house-cloth a lw:Material, lw:Fibre ;
    skos:inScheme lw:materials ; skos:broader material:silk ;
    skos:prefLabel "cloth of the house"@en ; skos:definition "A cloth of this house."@en .
"""
OF_THE_HOUSE = CHANGE.replace("gelatin-sequins", "house-cloth")


@pytest.mark.parametrize("turtle", [CHANGE, OF_THE_HOUSE])
def test_a_change_is_compared_with_the_knowledge_that_the_collection_uses(
    store: Store,
    tmp_path: Path,
    cache: Path,
    monkeypatch: pytest.MonkeyPatch,
    turtle: str,
) -> None:
    """Its own folders lie beneath the change, and the stamp is of what it was held against."""
    monkeypatch.setattr("leastwise.graph.authoring.compare.demo_cases", list)
    house = tmp_path / "house"
    house.mkdir()
    (house / "house.ttl").write_text(HOUSE, "utf-8")
    used, shipped = load_adviser([house], cache=cache), load_adviser(cache=cache)
    given = {"claim": CLAIM, "what": "change", "text": "So.", "turtle": turtle}

    one = service.ask(store, used.knowledge, given, "me", [house])
    one = service.compare_change(store, one, "me", [house], cache)

    assert one.compared_with(used)
    assert not one.compared_with(shipped)
    assert not any("house-cloth" in line for line in one.comparison), one.comparison
    assert any("house-gelatin" in line for line in one.comparison)
