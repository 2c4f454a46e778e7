"""Review: a frozen version that never changes, and what people say of it, each in their name."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from typing import Any

import pyoxigraph as ox
import pytest
from fastapi.testclient import TestClient

from leastwise.api.services.reviewing import frozen_of, review_of
from leastwise.api.store import Document, Store
from leastwise.graph.reviewing.content_hash import canonical
from tests.browser import axe_faults, overflow
from tests.pages.conftest import form_token

STEAM = "crushed-tiers/steam"
PACK = "crushed-tiers/membrane-pack-suspended"
HOSTILE = "<img src=x onerror=alert(1)> \"'&amp;"


def _post(client: TestClient, path: str, **fields: str) -> Any:
    return client.post(path, data={**fields, "form_token": form_token(client)})


@pytest.fixture
def frozen(client: TestClient, keep: Callable[..., Document]) -> str:
    """Freeze the dancer's proposal; return the path of its review."""
    case = keep()
    answer = _post(client, f"/cases/{case.id}/review", note=HOSTILE)
    assert answer.status_code == 200
    assert HOSTILE not in answer.text
    return f"/cases/{case.id}/review/1"


def _case_of(path: str) -> str:
    return path.split("/")[2]


def test_the_hash_is_that_of_the_linked_data_and_stays_when_the_case_changes(
    client: TestClient, store: Store, frozen: str
) -> None:
    (version,) = frozen_of(store, _case_of(frozen))
    data = client.get(f"{frozen}/proposal.jsonld").text
    assert canonical(data).sha256 == version.sha256
    assert version.sha256 in client.get(frozen).text
    case = store.read(_case_of(frozen))
    body = {**case.body, "aim": {**case.body["aim"], "lux": 200}}
    store.save(case.id, case.version, body, who="me", what="lux")
    assert frozen_of(store, case.id)[0].sha256 == version.sha256


def test_the_same_proposal_is_not_frozen_twice_and_a_changed_one_says_what_changed(
    client: TestClient, store: Store, frozen: str
) -> None:
    case = store.read(_case_of(frozen))
    again = _post(client, f"/cases/{case.id}/review")
    assert again.status_code == 409
    assert "Nothing has changed" in again.text
    parts = [dict(p) for p in case.body["parts"]]
    parts[0]["bears_handling"] = "no"
    store.save(case.id, case.version, {**case.body, "parts": parts}, who="me", what="trial")
    text = _post(client, f"/cases/{case.id}/review").text
    assert "Since version 1" in text
    changed = text.split("Since version 1")[1].split("</ul>")[0]
    assert "top tier" in changed
    assert "no" in changed
    assert "Verdict on" in changed  # handling that isn't borne changes a verdict


@pytest.mark.parametrize(
    "anchor", ["", f"option:{PACK}", "step:1", "sentence:purpose/1", "claim:E-265"]
)
def test_a_remark_is_tied_to_its_place_and_told_as_a_web_annotation(
    client: TestClient, frozen: str, anchor: str
) -> None:
    answer = _post(client, f"{frozen}/remarks", anchor=anchor, text=HOSTILE)
    assert answer.status_code == 200
    assert HOSTILE not in answer.text
    if anchor:  # the page offers every kind of place
        assert f"?at={anchor}#remark-form" in answer.text
    page = json.loads(client.get(f"{frozen}/annotations.jsonld").text)
    (item,) = page["items"]
    assert item["type"] == "Annotation"
    assert item["motivation"] == "commenting"
    assert item["body"]["value"] == HOSTILE
    if anchor.startswith(("option:", "step:")):
        assert item["target"]["selector"] == {"type": "FragmentSelector", "value": anchor}
    elif anchor.startswith("sentence:"):
        assert item["target"]["selector"]["type"] == "TextQuoteSelector"
        assert item["target"]["selector"]["exact"]
    elif anchor:
        assert item["target"]["source"].endswith("claim/E-265")
    else:
        assert item["target"].endswith("/1")


def test_a_remark_elsewhere_or_without_words_is_refused_and_typed_words_are_kept(
    client: TestClient, frozen: str
) -> None:
    assert _post(client, f"{frozen}/remarks", anchor="option:none/x", text="x").status_code == 422
    answer = _post(client, f"{frozen}/remarks", anchor="", text="  ")
    assert answer.status_code == 422
    assert 'id="remark-error"' in answer.text
    long = "word " * 1000
    answer = _post(client, f"{frozen}/remarks", anchor="", text=long)
    assert answer.status_code == 422
    assert long.strip() in answer.text


def test_a_reviewers_arguments_change_their_verdict_and_never_ours(
    client: TestClient, frozen: str
) -> None:
    page = client.get(f"{frozen}/argue?option={STEAM}").text
    keys = re.findall(r'name="attacks" value="(rule:[^"]+)"', page)
    assert keys
    for key in keys:
        answer = _post(client, f"{frozen}/arguments", option=STEAM, attacks=key, text="Not here.")
        assert answer.status_code == 200
    assert "Defeated by the knowledge; accepted with what me says." in answer.text
    ours = client.get(frozen).text
    row = ours.split('id="verdicts"')[1].split("steam")[1].split("</tr>")[0]
    assert "defeated" in row
    assert "accepted" in row


def test_an_argument_has_to_name_what_it_attacks_and_real_claims(
    client: TestClient, frozen: str
) -> None:
    wrong = {"option": STEAM, "attacks": "rule:none|||", "text": "x", "claims": "Z-999"}
    answer = _post(client, f"{frozen}/arguments", **wrong)
    assert answer.status_code == 422
    assert 'id="attacks-error"' in answer.text
    assert 'id="claims-error"' in answer.text
    assert 'value="Z-999"' in answer.text
    good = {"option": STEAM, "attacks": "option", "text": "x", "claims": "M-128"}
    assert "M-128" in _post(client, f"{frozen}/arguments", **good).text


def test_a_test_that_is_asked_for_shows_when_the_record_holds_it(
    client: TestClient, store: Store, frozen: str
) -> None:
    asked = {"test": "test:colourfastness-water", "part": "lining", "text": "brown dye"}
    text = _post(client, f"{frozen}/tests", **asked).text
    assert "not in the record yet" in text
    case = store.read(_case_of(frozen))
    done = {"test": asked["test"], "part": "lining", "result": "bad"}
    store.save(case.id, case.version, {**case.body, "tests": [done]}, who="me", what="test")
    assert "in the record now" in client.get(frozen).text


def test_a_signature_needs_agreement_names_the_hash_and_ends_the_review(
    client: TestClient, store: Store, frozen: str
) -> None:
    (version,) = frozen_of(store, _case_of(frozen))
    signed = {"text": "A. Reviewer, conservator", "sha256": version.sha256}
    assert _post(client, f"{frozen}/signature", **signed).status_code == 409
    assert _post(client, f"{frozen}/decision", decision="agreed", text="").status_code == 422
    assert _post(client, f"{frozen}/decision", decision="agreed", text="sound").status_code == 200
    other = signed | {"sha256": "0" * 64}
    assert _post(client, f"{frozen}/signature", **other).status_code == 409
    assert "signed off" in _post(client, f"{frozen}/signature", **signed).text
    assert _post(client, f"{frozen}/remarks", anchor="", text="late").status_code == 409
    assert review_of(store, version).state == "signed"


def test_reviewers_rate_each_for_themselves_and_alpha_is_told(
    client: TestClient, store: Store, frozen: str
) -> None:
    _post(client, f"{frozen}/ratings", **{f"verdict:{PACK}": "accepted"})
    _post(
        client,
        f"{frozen}/ratings",
        **{f"verdict:{PACK}": "accepted", f"verdict:{STEAM}": "undecided"},
    )
    (version,) = frozen_of(store, _case_of(frozen))
    assert len(review_of(store, version).of("rating")) == 1  # changed, not added
    body = {"what": "rating", "frozen": version.document.id}
    theirs = {PACK: "accepted", STEAM: "defeated"}
    store.create(
        "review", {**body, "verdicts": theirs}, who="b", what="r", case=version.document.case
    )
    text = client.get(frozen).text
    assert "50 % of the pairs" in text
    assert "me says undecided, b says defeated" in text


def test_what_one_said_can_be_taken_back_and_the_history_keeps_it(
    client: TestClient, store: Store, frozen: str
) -> None:
    _post(client, f"{frozen}/remarks", anchor="", text="a hasty word")
    (version,) = frozen_of(store, _case_of(frozen))
    (entry,) = review_of(store, version).entries
    text = _post(client, f"{frozen}/entries/{entry.id}/take-back").text
    assert "a hasty word" not in text
    assert store.history(entry.id)[0].body["text"] == "a hasty word"


def test_a_withdrawn_version_can_be_read_but_not_written_in(
    client: TestClient, frozen: str
) -> None:
    assert "withdrawn" in _post(client, f"{frozen}/withdraw").text
    assert client.get(frozen).status_code == 200
    assert _post(client, f"{frozen}/remarks", anchor="", text="x").status_code == 409


def test_provenance_is_linked_data_with_who_when_and_what_was_used(
    client: TestClient, frozen: str
) -> None:
    _post(client, f"{frozen}/remarks", anchor="", text="x")
    graph = ox.Store()
    told = client.get(f"{frozen}/provenance.jsonld").content
    graph.load(told, format=ox.RdfFormat.JSON_LD)
    found = graph.query(
        "PREFIX prov: <http://www.w3.org/ns/prov#> SELECT ?act ?time WHERE "
        "{ ?act a prov:Activity ; prov:endedAtTime ?time ; prov:wasAssociatedWith ?who }"
    )
    assert len(list(found)) == 2


def test_a_version_that_is_not_there_is_told(client: TestClient, frozen: str) -> None:
    assert client.get(frozen.replace("/1", "/7")).status_code == 404
    assert client.get(f"{frozen}/argue?option=none").status_code == 404


def test_the_pages_of_a_review_are_accessible_and_nothing_sticks_out(
    page: Any, client: TestClient, frozen: str
) -> None:
    _post(client, f"{frozen}/remarks", anchor="sentence:purpose/1", text="why " * 40)
    _post(client, f"{frozen}/arguments", option=STEAM, attacks="option", text="x" * 300)
    _post(client, f"{frozen}/decision", decision="agreed", text="sound")
    for width in (1280, 390):
        page.set_viewport_size({"width": width, "height": 900})
        for path in (frozen, frozen.removesuffix("/1"), f"{frozen}/argue?option={STEAM}"):
            page.goto(path)
            assert axe_faults(page) == []
            assert overflow(page) == []
