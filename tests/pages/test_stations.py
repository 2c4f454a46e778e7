"""Stations of a humidification as a page."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient

from leastwise.api.store import Document, Store
from tests.browser import axe_faults, overflow

Keep = Callable[..., Document]
PACK = "crushed-tiers/membrane-pack-suspended"


def test_sections_stand_in_order_with_their_films_and_times(client: TestClient, keep: Keep) -> None:
    case = keep("festival-dancer")

    text = client.get(f"/cases/{case.id}/stations?option={PACK}").text

    order = [text.index(f"{n}. {name} tier of the overskirt")
             for n, name in ((1, "middle"), (2, "lower"), (3, "top"))]  # fmt: skip
    assert order == sorted(order)
    for said in ("If a station goes wrong", "Stop at the latest", "slit to each thread", "<svg"):
        assert said in text
    assert f"stations?option={PACK}" in client.get(f"/cases/{case.id}/bench?wait=true").text


REGIONS = {
    "top-tier": [[0.25, 0.45], [0.75, 0.45], [0.8, 0.6], [0.2, 0.6]],
    "middle-tier": [[0.2, 0.6], [0.8, 0.6], [0.85, 0.75], [0.15, 0.75]],
}


def test_the_sections_are_lit_on_the_recorded_sketch_and_the_sheet_is_a_pdf(
    client: TestClient, keep: Keep, store: Store
) -> None:
    case = keep("festival-dancer")
    bare = client.get(f"/cases/{case.id}/stations?option={PACK}").text
    assert "stations-sketch" not in bare
    sketch = {"ground": "silhouette:dress-front", "regions": REGIONS}
    store.create("sketch", sketch, who="me", what="drawn", case=case.id)

    text = client.get(f"/cases/{case.id}/stations?option={PACK}").text
    pdf = client.get(f"/cases/{case.id}/bench/sheet.pdf?option={PACK}")

    # The middle tier comes first and the upper one last; the lower one has no region.
    assert ">1. middle tier" in text
    assert ">3. top tier" in text
    assert text.count('id="section-1-sketch-title"') == 1
    assert "section-2-sketch" not in text
    assert pdf.headers["content-type"] == "application/pdf"
    assert pdf.content.startswith(b"%PDF-1.7")
    assert client.get(f"/cases/{case.id}/bench/sheet.pdf?option=no/such").status_code == 404


def test_a_case_without_vapour_and_an_option_that_is_not_there(
    client: TestClient, keep: Keep, make_case: Callable[..., Any]
) -> None:
    split = make_case(damages=[{"id": "slit", "damage": "split", "parts": ["collar"]}])
    case = keep(split.model_dump(mode="json"))

    assert "no stations" in client.get(f"/cases/{case.id}/stations").text
    wrong = client.get(f"/cases/{case.id}/stations?option=slit/nothing")
    assert wrong.status_code == 404


@pytest.mark.parametrize("width", [320, 1280])
def test_the_page_fits_and_is_accessible(page: Any, keep: Keep, width: int) -> None:
    case = keep("festival-dancer")
    page.set_viewport_size({"width": width, "height": 900})
    page.goto(f"/cases/{case.id}/stations?option={PACK}")

    assert overflow(page) == []
    assert axe_faults(page) == []
