"""The pages of the written proposal: own words are kept, and nothing that matters can be hidden."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient
from PIL import Image
from pypdf import PdfReader

from bench.large_case import large_record
from leastwise.api.documents.proposal_make import Proposal
from leastwise.api.shelf import Shelf
from leastwise.api.store import Document, Store
from leastwise.graph.proposal.report.make import TITLES
from leastwise.graph.proposal.report.words import MOST
from tests.browser import axe_faults, overflow
from tests.pages.conftest import form_token
from tests.pdf_text import texts_of

Keep = Callable[..., Document]
BATH = "crushed-tiers/immersion-washing"
JSON = {"accept": "application/json"}


def page_of(client: TestClient, case: Document) -> str:
    answer = client.get(f"/cases/{case.id}/proposal?wait=true")
    assert answer.status_code == 200
    return answer.text


def send(
    client: TestClient, case: Document, version: int = 0, script: bool = False, **texts: str
) -> Any:
    token = client.cookies.get("leastwise_form") or form_token(client)
    data = {k.replace("__", ":"): v for k, v in texts.items()}
    return client.post(
        f"/cases/{case.id}/proposal",
        data={"form_token": token, "version": str(version), **data},
        headers=JSON if script else {},
        follow_redirects=False,
    )


def words(store: Store, case: Document) -> dict[str, Any]:
    return store.of_case(case.id, "words")[0].body


def test_every_section_has_a_place_for_own_words_and_shows_what_was_derived(
    client: TestClient, keep: Keep
) -> None:
    page = page_of(client, keep())

    for key in TITLES:
        if key != "reasons":
            assert f'id="section-{key}"' in page
            assert f'<textarea id="{key}" name="{key}"' in page
    assert "data-keep" in page
    assert 'name="version" value="0"' in page
    assert page.count('class="p-mark">derived') > 10
    assert "still missing" in page
    for form in ("pdf", "docx", "html", "jsonld"):
        assert f"/proposal.{form}" in page


def test_own_words_are_kept_as_a_record_of_the_case_and_come_back(
    client: TestClient, keep: Keep, store: Store
) -> None:
    case = keep()
    first = send(client, case, methods="By eye.", maker="Not known.")

    assert first.status_code == 303
    assert words(store, case) == {"maker": "Not known.", "methods": "By eye."}
    page = page_of(client, case)
    assert ">By eye.</textarea>" in page
    assert 'value="Not known."' in page
    assert send(client, case, 1, methods="").status_code == 303
    assert words(store, case) == {"maker": "Not known."}
    history = store.history(store.of_case(case.id, "words")[0].id)
    assert [e.what for e in history] == [
        "own words of the proposal: maker, methods", "own words of the proposal: methods"
    ]  # fmt: skip


def test_a_script_is_told_the_version_and_that_all_is_well(client: TestClient, keep: Keep) -> None:
    said = send(client, keep(), script=True, methods="By eye.").json()

    assert said["version"] == 1
    assert said["errors"] == {}
    assert re.match(r"\d{4}-\d\d-\d\dT", said["saved_at"])
    assert said["anew"] is False


def test_two_who_write_in_different_sections_lose_nothing(
    client: TestClient, keep: Keep, store: Store
) -> None:
    case = keep()
    send(client, case, methods="By eye.")
    send(client, case, 1, methods="By eye.", risks="Theirs.")
    said = send(client, case, 1, script=True, methods="By eye and lens.").json()

    assert words(store, case) == {"methods": "By eye and lens.", "risks": "Theirs."}
    assert said["together"] == "me"
    assert said["version"] == 3


def test_two_who_write_in_the_same_section_see_both_texts_and_nothing_is_overwritten(
    client: TestClient, keep: Keep, store: Store
) -> None:
    case = keep()
    send(client, case, methods="Before.")
    send(client, case, 1, methods="Theirs <b>.")
    clash = send(client, case, 1, methods="Mine.")

    assert clash.status_code == 409
    assert ">Mine.</textarea>" in clash.text
    assert "“Theirs &lt;b&gt;.”" in clash.text
    assert 'name="version" value="2"' in clash.text
    assert words(store, case) == {"methods": "Theirs <b>."}
    script = send(client, case, 1, script=True, methods="Mine.")
    assert script.status_code == 409
    assert script.json()["places"] == ["methods"]
    assert send(client, case, 2, methods="Mine.").status_code == 303
    assert words(store, case) == {"methods": "Mine."}


def test_errors_stand_beside_their_fields_and_what_was_typed_is_kept(
    client: TestClient, keep: Keep, store: Store
) -> None:
    case = keep()
    answer = send(
        client, case, methods="x" * (MOST + 1), risks="Typed.",
        **{"choice:crushed-tiers": "no/such", "contractual": "perhaps"},
    )  # fmt: skip

    assert answer.status_code == 422
    for field in ("methods", "choice:crushed-tiers", "contractual"):
        assert f'id="{field}-error"' in answer.text
    assert ">Typed.</textarea>" in answer.text
    assert store.of_case(case.id, "words") == []
    script = send(client, case, script=True, maker="x" * 401)
    assert script.status_code == 422
    assert list(script.json()["errors"]) == ["maker"]


def test_a_form_from_elsewhere_is_refused(client: TestClient, keep: Keep) -> None:
    case = keep()
    form_token(client)
    answer = client.post(f"/cases/{case.id}/proposal", data={"form_token": "x", "version": "0"})

    assert answer.status_code == 403


@pytest.mark.parametrize("version", ["", "x", "-1", "99"])
def test_a_form_without_a_version_that_there_was_is_told_so(
    version: str, client: TestClient, keep: Keep
) -> None:
    case = keep()
    send(client, case, methods="By eye.")
    token = client.cookies["leastwise_form"]
    answer = client.post(
        f"/cases/{case.id}/proposal",
        data={"form_token": token, "version": version, "methods": "y"},
    )

    assert answer.status_code in (404, 422)


def test_a_defeated_choice_is_shown_with_its_rule_on_the_page_and_in_every_document(
    client: TestClient, keep: Keep
) -> None:
    case = keep()
    send(client, case, **{"choice:crushed-tiers": BATH, "instead:options": "yes"})
    said = "is defeated by a rule (rule:known-harm)"

    assert said in page_of(client, case)
    assert said in client.get(f"/cases/{case.id}/proposal.html").text
    linked = client.get(f"/cases/{case.id}/proposal.jsonld").text
    assert said in linked
    assert '"lw:verdict": "lw:defeated"' in linked
    reader = PdfReader(io.BytesIO(client.get(f"/cases/{case.id}/proposal.pdf").content))
    assert said in re.sub(r"\s+", " ", texts_of(reader)[0])


def test_the_documents_carry_version_and_digests_and_the_right_types(
    client: TestClient, keep: Keep
) -> None:
    case = keep()
    send(client, case, methods="By eye.")
    html = client.get(f"/cases/{case.id}/proposal.html")
    pdf = client.get(f"/cases/{case.id}/proposal.pdf")

    assert pdf.headers["content-type"] == "application/pdf"
    assert pdf.content[:5] == b"%PDF-"
    assert "Version 1.1" in html.text
    assert html.headers["content-security-policy"].startswith("default-src 'none'; style-src")
    assert "script-src" not in html.headers["content-security-policy"]
    docx = client.get(f"/cases/{case.id}/proposal.docx")
    assert docx.headers["content-disposition"] == 'attachment; filename="festival-dancer-1-1.docx"'
    client.app.state.printed = Shelf()  # type: ignore[attr-defined]  # so that it is set anew
    again = client.get(f"/cases/{case.id}/proposal.pdf")
    assert again.content == pdf.content


def test_a_document_is_printed_once_until_something_in_it_changes(
    client: TestClient, keep: Keep, monkeypatch: pytest.MonkeyPatch
) -> None:
    case, path = keep(), "/cases/{}/proposal.docx"
    printed: list[str] = []
    was = Proposal.written

    def counted(self: Proposal, form: str, base: str) -> bytes:
        printed.append(form)
        return was(self, form, base)

    monkeypatch.setattr(Proposal, "written", counted)
    first = client.get(path.format(case.id)).content
    assert client.get(path.format(case.id)).content == first
    assert printed == ["docx"]
    send(client, case, methods="By eye.")
    assert client.get(path.format(case.id)).content != first
    assert printed == ["docx", "docx"]


def test_photographs_and_sketch_stand_in_the_documents(
    client: TestClient, keep: Keep, store: Store
) -> None:
    case = keep()
    lacks = '<a href="#section-images">images before treatment</a>'
    assert lacks in page_of(client, case)
    held = io.BytesIO()
    Image.new("RGB", (2400, 1600), "#9a7").save(held, "JPEG")
    picture = store.add_picture(
        case.id, held.getvalue(), name="front <i>view</i>", media_type="image/jpeg",
        size=(2400, 1600), who="me",
    )  # fmt: skip
    sketch = {
        "ground": f"photograph:{picture.id}", "size": [2400, 1600],
        "regions": {"top-tier": [[100, 100], [900, 100], [900, 700]]},
    }  # fmt: skip
    store.create("sketch", sketch, who="me", what="drawn", case=case.id)
    html = client.get(f"/cases/{case.id}/proposal.html").text

    assert "Photograph 1, before treatment: front &lt;i&gt;view&lt;/i&gt;" in html
    assert html.count("data:image/jpeg;base64,") == 1
    assert html.count("data:image/svg+xml;base64,") >= 2
    reader = PdfReader(io.BytesIO(client.get(f"/cases/{case.id}/proposal.pdf").content))
    text = "".join(texts_of(reader))
    assert "front <i>view</i>" in text
    assert "Sketch with the regions" in text
    assert lacks not in page_of(client, case)


def test_hostile_words_are_text_on_the_page(client: TestClient, keep: Keep) -> None:
    case = keep()
    send(client, case, methods="</textarea><script>alert(1)</script>{{7*7}}", maker='"><b>x')
    page = page_of(client, case)

    assert "<script>alert" not in page
    assert "&lt;/textarea&gt;&lt;script&gt;alert(1)&lt;/script&gt;{{7*7}}" in page
    assert 'value="&#34;&gt;&lt;b&gt;x"' in page


def test_reasons_for_damage_that_is_gone_are_kept_and_shown(
    client: TestClient, keep: Keep, store: Store
) -> None:
    case = keep()
    store.create("words", {"reason:gone": "Once said.", "nonsense": "kept"}, who="me",
                 what="x", case=case.id)  # fmt: skip
    page = page_of(client, case)

    assert "Reasons for damage that is no longer in the record" in page
    assert "Once said." in page
    send(client, case, 1, methods="By eye.")
    assert words(store, case)["reason:gone"] == "Once said."
    assert words(store, case)["nonsense"] == "kept"


def test_a_record_that_cannot_be_weighed_yet_says_what_it_lacks(
    client: TestClient, keep: Keep
) -> None:
    case = keep({"title": "A draft"})

    for path in ("proposal", "proposal.pdf", "proposal.jsonld"):
        answer = client.get(f"/cases/{case.id}/{path}")
        assert "not complete enough" in answer.text
    assert client.get("/cases/no-such/proposal").status_code == 404


def test_a_case_of_forty_parts_makes_every_document(client: TestClient, keep: Keep) -> None:
    case = keep(large_record())
    page_of(client, case)
    reader = PdfReader(io.BytesIO(client.get(f"/cases/{case.id}/proposal.pdf").content))

    assert len(reader.pages) > 10
    for form in ("docx", "html", "jsonld"):
        assert client.get(f"/cases/{case.id}/proposal.{form}").status_code == 200


def test_words_are_kept_as_you_type_and_a_choice_derives_anew(page: Any, keep: Keep) -> None:
    case = keep()
    page.goto(f"/cases/{case.id}/proposal?wait=true")
    page.fill('[name="methods"]', "By eye.")
    page.get_by_text(re.compile(r"Kept at \d")).wait_for()
    page.select_option('[name="choice:crushed-tiers"]', BATH)
    assert page.locator("#stale").is_visible()
    page.get_by_role("button", name="Keep and derive anew").click()
    page.locator(".p-defeated").first.wait_for()

    assert page.input_value('[name="methods"]') == "By eye."
    assert page.input_value('[name="choice:crushed-tiers"]') == BATH
    for width in (1280, 820, 390):
        page.set_viewport_size({"width": width, "height": 900})
        assert overflow(page) == []
    assert axe_faults(page) == []


def test_the_web_page_fits_every_width_and_has_no_fault(page: Any, keep: Keep) -> None:
    case = keep()
    page.goto(f"/cases/{case.id}/proposal.html")

    for width in (1280, 820, 390):
        page.set_viewport_size({"width": width, "height": 900})
        assert overflow(page) == []
    assert axe_faults(page) == []
