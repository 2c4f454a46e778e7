"""What was signed in Review stands under approvals, and never approves another text."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from html import unescape
from typing import Any

import docx
import pytest
from fastapi.testclient import TestClient
from rdflib import Graph, Literal, URIRef
from rdflib.namespace import DCTERMS, PROV

from leastwise.api.services.reviewing import frozen_of
from leastwise.api.store import Document, Store
from tests.pages.conftest import form_token
from tests.pdf_text import texts_of

Keep = Callable[..., Document]
HOSTILE = '<script>alert(1)</script> #panic("x") {{7*7}}'
REASONS = f"Sound, gentle enough. {HOSTILE}"
SIGNED = "B. Reviewer, head of textiles"


def post(client: TestClient, path: str, **fields: str) -> Any:
    answer = client.post(path, data={**fields, "form_token": form_token(client)})
    assert answer.status_code == 200, answer.text[-2000:]
    return answer


def freeze(client: TestClient, case: Document, number: int = 1) -> str:
    post(client, f"/cases/{case.id}/review")
    return f"/cases/{case.id}/review/{number}"


def sign(client: TestClient, store: Store, case: Document, decision: str = "agreed") -> str:
    """Freeze the proposal, decide on it and sign it; return its hash."""
    path = freeze(client, case, len(frozen_of(store, case.id)) + 1)
    sha256 = frozen_of(store, case.id)[-1].sha256
    post(client, f"{path}/decision", decision=decision, text=REASONS)
    post(client, f"{path}/signature", text=SIGNED, sha256=sha256)
    return sha256


def change(store: Store, case: Document) -> None:
    now = store.read(case.id)
    body = {**now.body, "aim": {**now.body["aim"], "lux": 200}}
    store.save(case.id, now.version, body, who="me", what="lux")


def document(client: TestClient, case: Document, form: str) -> bytes:
    answer = client.get(f"/cases/{case.id}/proposal.{form}")
    assert answer.status_code == 200
    return answer.content


def element_of(page: str) -> str:
    """Return the row on approval of the table of required elements."""
    row = re.search(r"<tr[^>]*><th scope=\"row\">Written approval of the owner.*?</tr>", page)
    assert row is not None
    return row[0]


def squeezed(text: str) -> str:
    return re.sub(r"[\s\u200b\u00ad\u2060-]+", "", text)


def words_in(client: TestClient, case: Document, form: str) -> str:
    """Return all that a form says, without spaces and breaks in long words."""
    data = document(client, case, form)
    if form == "pdf":
        return squeezed("\n".join(texts_of(data)))
    if form == "docx":
        doc = docx.Document(io.BytesIO(data))
        cells = [c.text for t in doc.tables for row in t.rows for c in row.cells]
        return squeezed("\n".join([*(p.text for p in doc.paragraphs), *cells]))
    if form == "html":
        return squeezed(unescape(data.decode()))
    return squeezed("\n".join(str(o) for o in Graph().parse(data=data, format="json-ld").objects()))


def page_of(client: TestClient, case: Document) -> str:
    answer = client.get(f"/cases/{case.id}/proposal?wait=true")
    assert answer.status_code == 200
    return answer.text


def test_nothing_is_said_of_review_while_nothing_is_frozen(client: TestClient, keep: Keep) -> None:
    case = keep()

    assert "said in Review" not in page_of(client, case)
    assert "to be signed before the work begins" in element_of(page_of(client, case))


@pytest.mark.filterwarnings("ignore:ConjunctiveGraph is deprecated:DeprecationWarning")
@pytest.mark.parametrize("form", ["html", "pdf", "docx", "jsonld"])
def test_a_signature_of_the_present_text_stands_in_every_form_with_its_hash_and_reasons(
    client: TestClient, store: Store, keep: Keep, form: str
) -> None:
    case = keep()
    sha256 = sign(client, store, case)
    told = words_in(client, case, form)

    for said in (sha256, SIGNED, REASONS, "agreed: may go to the owner as it stands", "signed off"):
        assert squeezed(said) in told, said
    for said in ("then, ", "given for", "an earlier text"):
        assert squeezed(said) not in told


@pytest.mark.filterwarnings("ignore:ConjunctiveGraph is deprecated:DeprecationWarning")
@pytest.mark.parametrize("form", ["html", "pdf", "docx", "jsonld"])
def test_signed_then_changed_says_for_which_version_in_every_form(
    client: TestClient, store: Store, keep: Keep, form: str
) -> None:
    case = keep()
    sign(client, store, case)
    change(store, case)
    told = words_in(client, case, form)

    assert squeezed("given for version 1, the record (version 1 then, 2 now) has changed") in told
    assert squeezed("nothing has changed since") not in told


def test_the_element_is_met_while_the_signed_version_is_the_present_text_and_not_after(
    client: TestClient, store: Store, keep: Keep
) -> None:
    case = keep()
    sign(client, store, case)
    met = element_of(page_of(client, case))
    change(store, case)
    page = page_of(client, case)

    assert "signed off" in met
    assert "version 1, by me on 20" in met
    assert "<strong>still missing</strong>" in element_of(page)
    assert "given for version 1" in element_of(page)
    assert (
        "Still missing.</strong> <bdi>Approval of this text: the signature is given for version 1"
        in page
    )


def test_what_is_frozen_does_not_hold_what_was_said_of_it(
    client: TestClient, store: Store, keep: Keep
) -> None:
    case = keep()
    sign(client, store, case)
    document(client, case, "jsonld")
    answer = client.post(f"/cases/{case.id}/review", data={"form_token": form_token(client)})

    assert answer.status_code == 409
    assert "Nothing has changed since version 1" in answer.text


def test_a_newer_version_without_a_signature_does_not_inherit_one(
    client: TestClient, store: Store, keep: Keep
) -> None:
    case = keep()
    sign(client, store, case)
    change(store, case)
    freeze(client, case, 2)
    row = element_of(page_of(client, case))

    assert "still missing" in row
    assert "version 2, the newest, is not signed (with the reviewers)" in row
    assert "the signature for version 1 is for an earlier text" in row
    sign_again = frozen_of(store, case.id)[-1].sha256
    post(client, f"/cases/{case.id}/review/2/decision", decision="agreed", text="sound")
    post(client, f"/cases/{case.id}/review/2/signature", text=SIGNED, sha256=sign_again)
    assert "version 2, by me" in element_of(page_of(client, case))


def test_own_words_and_photographs_count_as_changes_too(
    client: TestClient, store: Store, keep: Keep
) -> None:
    from tests.api.test_proposal_documents import photograph  # noqa: PLC0415 - a picture only

    case = keep()
    sign(client, store, case)
    one = photograph()
    client.post(
        f"/cases/{case.id}/photographs",
        data={"form_token": form_token(client), "caption": "front", "stage": "before"},
        files=[("photographs", ("a.jpg", one.data, "image/jpeg"))],
    )
    assert store.pictures(case.id)
    row = element_of(page_of(client, case))
    assert "a photograph, the sketch or a derived passage has changed since" in row
    client.post(
        f"/cases/{case.id}/proposal",
        data={"form_token": form_token(client), "version": "0", "methods": "By eye."},
    )
    assert "the text in own words (version 0 then, 1 now) has changed" in element_of(
        page_of(client, case)
    )


def test_a_signature_with_changes_to_come_and_a_withdrawn_version_approve_nothing(
    client: TestClient, store: Store, keep: Keep
) -> None:
    case = keep()
    sign(client, store, case, "agreed-with-changes")
    assert "signed with changes that are still to be made" in element_of(page_of(client, case))
    other = keep()
    post(client, f"{freeze(client, other)}/withdraw")
    assert "was withdrawn from review" in element_of(page_of(client, other))


def test_a_signature_under_a_text_that_was_tampered_with_approves_nothing(
    client: TestClient, store: Store, keep: Keep
) -> None:
    case = keep()
    sign(client, store, case)
    frozen = frozen_of(store, case.id)[0].document
    body = {**frozen.body, "jsonld": frozen.body["jsonld"].replace("tier", "hem")}
    store.save(frozen.id, frozen.version, body, who="x", what="tampered")

    assert "no longer has the hash it was frozen with" in element_of(page_of(client, case))


def test_a_named_approver_stays_and_is_marked_as_own_words(
    client: TestClient, store: Store, keep: Keep
) -> None:
    case = keep()
    client.post(
        f"/cases/{case.id}/proposal",
        data={"form_token": form_token(client), "version": "0", "approver": "The Guild"},
    )
    sign(client, store, case)
    page = document(client, case, "html").decode()
    section = page.split('id="section-approvals"')[1].split("</section>")[0]
    own = section.split("p-by-own")[1].split("p-by-derived")[0]

    assert "The Guild" in own
    assert "own words" in own
    assert "p-by-review" in section
    assert HOSTILE not in page


@pytest.mark.filterwarnings("ignore:ConjunctiveGraph is deprecated:DeprecationWarning")
def test_linked_data_tells_the_signature_as_an_act_on_the_version_that_was_signed(
    client: TestClient, store: Store, keep: Keep
) -> None:
    case = keep()
    sha256 = sign(client, store, case)
    graph = Graph().parse(data=document(client, case, "jsonld"), format="json-ld")
    acts = list(graph.subjects(DCTERMS.type, Literal("signature", lang="en")))
    (act,) = acts
    version = graph.value(act, PROV.used)

    assert graph.value(act, DCTERMS.identifier) == Literal(f"sha256:{sha256}")
    assert graph.value(version, DCTERMS.identifier) == Literal(f"sha256:{sha256}")
    assert graph.value(act, PROV.endedAtTime) is not None
    assert isinstance(version, URIRef)
    assert list(graph.subjects(PROV.alternateOf, version))
    change(store, case)
    later = Graph().parse(data=document(client, case, "jsonld"), format="json-ld")
    assert list(later.subjects(PROV.wasRevisionOf, version))
    assert not list(later.subjects(PROV.alternateOf, version))
