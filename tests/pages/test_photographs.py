"""Photographs of a case: sent, checked one by one, shown, given small, and taken away."""

from __future__ import annotations

import io
from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient
from PIL import Image

from leastwise.api.http.limits import MOST_UPLOAD
from leastwise.api.store import Document, Store
from tests.browser import axe_faults, overflow
from tests.pages.conftest import form_token

Keep = Callable[..., Document]


def picture(kind: str = "JPEG", size: tuple[int, int] = (900, 600)) -> bytes:
    out = io.BytesIO()
    Image.new("RGB", size, "tan").save(out, kind)
    return out.getvalue()


def send(client: TestClient, case: str, *files: tuple[str, bytes], **fields: str) -> Any:
    data = {"form_token": form_token(client), "stage": "before", **fields}
    given = [("photographs", (name, body, "image/jpeg")) for name, body in files]
    return client.post(f"/cases/{case}/photographs", data=data, files=given, follow_redirects=False)


def test_several_photographs_are_kept_with_their_stage_and_caption(
    client: TestClient, keep: Keep, store: Store
) -> None:
    case = keep().id
    files = (("a.jpg", picture()), ("b.png", picture("PNG")))
    answer = send(client, case, *files, caption="Hem", stage="during")
    assert answer.status_code == 303
    kept = store.pictures(case)
    assert sorted((one.name, one.stage, one.media_type) for one in kept) == [
        ("Hem (1)", "during", "image/jpeg"),
        ("Hem (2)", "during", "image/png"),
    ]
    text = client.get(answer.headers["location"]).text
    assert "Hem (1)" in text
    assert "during treatment" in text


def test_a_bad_file_is_named_with_what_is_wrong_and_the_good_ones_are_kept(
    client: TestClient, keep: Keep, store: Store
) -> None:
    case = keep().id
    answer = send(
        client,
        case,
        ("good.jpg", picture()),
        ("script.jpg", b"<html><script>alert(1)</script>"),
        ("half.jpg", picture()[:700]),
        caption="Sleeve",
    )
    assert answer.status_code == 422
    assert [one.name for one in store.pictures(case)] == ["Sleeve (1)"]
    assert "2 of 3 files were not kept" in answer.text
    assert "script.jpg" in answer.text
    assert "half.jpg" in answer.text
    assert "Expected a JPEG, PNG or WebP picture" in answer.text
    assert 'value="Sleeve"' in answer.text  # what was typed stays


@pytest.mark.parametrize("fields", [{"stage": "someday"}, {}])
def test_a_form_that_says_too_little_is_told_beside_its_field(
    client: TestClient, keep: Keep, store: Store, fields: dict[str, str]
) -> None:
    case = keep().id
    files = (("a.jpg", picture()),) if fields else ()
    answer = send(client, case, *files, **fields)
    assert answer.status_code == 422
    assert store.pictures(case) == []
    assert f'id="{"stage" if fields else "photographs"}-error"' in answer.text


def test_a_photograph_and_its_small_copy_come_with_headers_that_keep_them_harmless(
    client: TestClient, keep: Keep, store: Store
) -> None:
    case = keep().id
    send(client, case, ("a.jpg", picture()), caption='"; x=é\r\nset-cookie: a=b')
    kept = store.pictures(case)[0]
    for path, wide in ((kept.id, 900), (f"{kept.id}/small", 480)):
        answer = client.get(f"/cases/{case}/photographs/{path}")
        assert answer.status_code == 200
        assert answer.headers["content-type"] == "image/jpeg"
        assert answer.headers["content-disposition"].startswith("inline")
        assert "set-cookie" not in answer.headers
        assert answer.headers["x-content-type-options"] == "nosniff"
        assert "private" in answer.headers["cache-control"]
        assert Image.open(io.BytesIO(answer.content)).width == wide
        again = client.get(
            f"/cases/{case}/photographs/{path}", headers={"if-none-match": answer.headers["etag"]}
        )
        assert (again.status_code, again.content) == (304, b"")


def test_a_photograph_is_not_found_under_another_case(
    client: TestClient, keep: Keep, store: Store
) -> None:
    case, other = keep().id, keep("guild-banner").id
    send(client, case, ("a.jpg", picture()))
    kept = store.pictures(case)[0].id
    token = form_token(client)
    assert client.get(f"/cases/{other}/photographs/{kept}").status_code == 404
    assert client.get(f"/cases/{other}/photographs/{kept}/small").status_code == 404
    gone = client.post(f"/cases/{other}/photographs/{kept}/remove", data={"form_token": token})
    assert gone.status_code == 404
    assert len(store.pictures(case)) == 1


def test_a_photograph_is_taken_away(client: TestClient, keep: Keep, store: Store) -> None:
    case = keep().id
    send(client, case, ("a.jpg", picture()))
    kept = store.pictures(case)[0].id
    assert "Take away" in client.get(f"/cases/{case}/photographs").text
    client.post(f"/cases/{case}/photographs/{kept}/remove", data={"form_token": form_token(client)})
    assert store.pictures(case) == []
    assert client.get(f"/cases/{case}/photographs/{kept}").status_code == 404


def test_a_form_from_elsewhere_is_refused(client: TestClient, keep: Keep, store: Store) -> None:
    case = keep().id
    answer = client.post(
        f"/cases/{case}/photographs",
        data={"form_token": "x" * 40, "stage": "before"},
        files=[("photographs", ("a.jpg", picture(), "image/jpeg"))],
    )
    assert answer.status_code == 403
    assert store.pictures(case) == []


def test_only_photographs_may_be_sent_in_a_large_body(client: TestClient, keep: Keep) -> None:
    case = keep().id
    three = b"\0" * (3 * 1024 * 1024)
    answer = send(client, case, ("large.jpg", three))
    assert answer.status_code == 422  # read and refused for what it is, not for its size
    assert "large.jpg" in answer.text
    elsewhere = client.post(f"/cases/{case}/contacts", content=three)
    assert elsewhere.status_code == 413
    declared = client.post(
        f"/cases/{case}/photographs",
        content=b"",
        headers={"content-length": str(MOST_UPLOAD + 1)},
    )
    assert declared.status_code == 413


def test_a_hostile_name_shows_as_text(client: TestClient, keep: Keep) -> None:
    case = keep().id
    send(client, case, ("a.jpg", picture()), caption='<img src=x onerror="alert(1)">')
    text = client.get(f"/cases/{case}/photographs").text
    assert "<img src=x" not in text
    assert "&lt;img src=x" in text


def test_the_page_of_photographs_has_no_fault_of_access(
    page: Any, keep: Keep, store: Store
) -> None:
    case = keep().id
    store.add_picture(
        case, picture(), name="w" * 150, media_type="image/jpeg", size=(900, 600), who="me"
    )
    for width in (1280, 390):
        page.set_viewport_size({"width": width, "height": 900})
        page.goto(f"/cases/{case}/photographs")
        page.locator(".confirm summary").first.click()
        assert axe_faults(page) == []
        assert overflow(page) == []
