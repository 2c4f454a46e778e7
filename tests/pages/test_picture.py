"""The object's picture stands where one decides, and lights up what is pointed at."""

from __future__ import annotations

import itertools
import re
from collections.abc import Callable
from typing import Any
from xml.etree import ElementTree

import pytest
from fastapi.testclient import TestClient

from leastwise.api.drawings.object_picture import Mark, object_picture
from leastwise.api.store import Document, Store
from leastwise.graph import Adviser
from leastwise.graph.case.demo import demo_sketch, read_demo
from tests.conftest import DEMOS
from tests.pages.test_home import post

Keep = Callable[..., Document]
SVG = "{http://www.w3.org/2000/svg}"
PAGES = ("", "/parts", "/damages", "/options?wait=true", "/plan?wait=true", "/bench?wait=true",
         "/proposal?wait=true")  # fmt: skip


def begun(client: TestClient, demo: str = "guild-banner") -> str:
    return str(post(client, "/cases/from-demo", {"demo": demo}).headers["location"])


def test_the_same_picture_stands_on_every_page_where_one_decides(client: TestClient) -> None:
    case = begun(client)
    drawn = set()
    for page in PAGES:
        found = re.findall(r'<svg[^>]*object-sketch".*?</svg>', client.get(case + page).text, re.S)
        assert len(found) == 1, page
        drawn.add(found[0])
    assert len(drawn) == 1


def test_without_a_sketch_the_overview_offers_to_draw_one(client: TestClient, keep: Keep) -> None:
    text = client.get(f"/cases/{keep().id}").text
    assert "object-sketch" not in text
    assert "No picture yet" in text


@pytest.mark.parametrize("demo", DEMOS)
def test_a_demo_case_has_a_sketch_of_parts_that_it_has(demo: str, adviser: Adviser) -> None:
    parts = {part.id for part in read_demo(demo, adviser.knowledge).parts}
    regions = demo_sketch(demo)["regions"]
    assert isinstance(regions, dict)
    assert set(regions) <= parts
    assert len(regions) > len(parts) // 2
    assert all(0 <= x <= 1 and 0 <= y <= 1 for points in regions.values() for x, y in points)


def test_numbers_are_those_of_the_record_and_none_lies_on_another() -> None:
    parts = [(f"p{i}", f"part {i}") for i in range(12)]
    region = [[0.4, 0.5], [0.6, 0.5], [0.6, 0.52], [0.4, 0.52]]
    sketch = {"ground": "silhouette:flat", "regions": {f"p{i}": region for i in range(1, 12)}}
    marks = [Mark(1, "split", ("p3",)), Mark(2, "stain", ("p0",)), Mark(3, "hole", (), (0.1, 0.9))]
    drawn = object_picture(parts, sketch, marks=marks)
    tree = ElementTree.fromstring(drawn)  # noqa: S314 - our own
    squares = {
        one.get("data-part"): one.find(f"{SVG}text") for one in tree.iter() if one.get("data-part")
    }
    told = {part: text.text for part, text in squares.items() if text is not None}
    assert told == {f"p{i}": str(i + 1) for i in range(1, 12)}
    heights = sorted(float(one.get("y", "0")) for one in squares.values() if one is not None)
    assert min(b - a for a, b in itertools.pairwise(heights)) > 20
    rings = [one.get("data-mark") for one in tree.iter() if one.get("data-mark")]
    assert rings == ["1", "3"]  # nothing is known of where the stain is
    dashed = [
        one.get("stroke-dasharray") for one in tree.iter(f"{SVG}circle") if one.get("r") == "19"
    ]
    assert dashed == ["6 4", None]


def test_what_is_pointed_at_lights_up(page: Any, keep: Keep, store: Store) -> None:
    made = keep("guild-banner")
    sketch = dict(demo_sketch("guild-banner"))
    store.create("sketch", sketch, who="me", what="begun", case=made.id, title="Sketch")
    page.goto(f"/cases/{made.id}/plan?wait=true")
    card = page.locator(".step-card").first
    card.locator("summary").first.focus()
    lit = page.locator(".object-picture .region.lit")
    expected = (card.get_attribute("data-lights") or "").split()
    assert {one.get_attribute("data-part") for one in lit.all()} <= set(expected)
    assert lit.count() > 0
    page.locator("h1").hover()
    page.locator(".brand").focus()
    page.locator(".object-picture svg.lights").wait_for(state="detached")
    assert page.locator(".object-picture .lit").count() == 0
