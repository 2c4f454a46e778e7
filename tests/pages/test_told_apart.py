"""Small drawings of words that are easily taken for one another: well formed, told, in place."""

from __future__ import annotations

import re
from collections.abc import Callable
from xml.etree import ElementTree as ET

import pytest
from fastapi.testclient import TestClient
from markupsafe import escape

from leastwise.api.documents.book import book_files
from leastwise.api.drawings.told_apart.draw import DRAWN, drawing_of
from leastwise.api.store import Document
from leastwise.graph import Adviser
from leastwise.graph.reference.apart import neighbours_of
from leastwise.graph.reference.book import build_reference

SVG = "{http://www.w3.org/2000/svg}"


@pytest.mark.parametrize("concept", sorted(DRAWN))
def test_a_drawing_is_well_formed_and_told_to_those_who_do_not_see_it(
    concept: str, adviser: Adviser
) -> None:
    shows = adviser.knowledge.text(concept, "lw:drawingShows")
    assert shows, f"{concept} has a drawing; accepted is one with lw:drawingShows"
    drawn = ET.fromstring(drawing_of(concept, "a & b", shows, "one"))  # noqa: S314 - our own
    title, desc = drawn.find(f"{SVG}title"), drawn.find(f"{SVG}desc")
    assert title is not None
    assert desc is not None
    assert (title.text, desc.text) == ("a & b", shows)
    assert drawn.get("role") == "img"
    assert drawn.get("aria-labelledby") == f"{title.get('id')} {desc.get('id')}"


@pytest.mark.parametrize("concept", sorted(DRAWN))
def test_a_drawing_takes_the_colour_of_the_text_around_it(concept: str) -> None:
    text = drawing_of(concept, "", "")
    assert set(re.findall(r'(?:fill|stroke)="([^"]+)"', text)) <= {"currentColor", "none"}


@pytest.mark.parametrize("concept", sorted(DRAWN))
def test_a_drawing_stays_within_its_field(concept: str) -> None:
    drawn = ET.fromstring(drawing_of(concept, "", ""))  # noqa: S314 - our own
    for path in drawn.iter(f"{SVG}path"):
        start = re.match(r"M(-?[\d.]+) (-?[\d.]+)", path.get("d", ""))
        assert start is not None
        assert 0 <= float(start[1]) <= 180
        assert 0 <= float(start[2]) <= 120


def test_no_two_drawings_are_alike() -> None:
    drawn = [drawing_of(one, "", "", "x").replace(one.replace(":", "-"), "") for one in DRAWN]
    assert len(set(drawn)) == len(drawn) >= 40


def test_each_distinction_is_between_two_things_and_at_least_one_is_drawn(
    adviser: Adviser,
) -> None:
    k = adviser.knowledge
    pairs = [k.objects(one, "lw:between") for one in k.instances("lw:Distinction")]
    assert len(pairs) >= 25
    for pair in pairs:
        assert len(pair) == 2
        assert all(one in k for one in pair)
        assert set(pair) & DRAWN


def test_neighbours_are_told_both_ways(adviser: Adviser) -> None:
    k = adviser.knowledge
    slit = {one.other: one.says for one in neighbours_of("damage:slit", k)}
    split = {one.other: one.says for one in neighbours_of("damage:split", k)}
    assert slit["damage:split"] == split["damage:slit"]


def test_the_book_shows_drawing_and_neighbours(adviser: Adviser) -> None:
    book = build_reference(adviser.knowledge, adviser.rules)
    pages = dict(book_files(book))
    page = next(text for path, text in pages.items() if path.endswith("damage/slit.html"))
    assert page.count('class="told-apart"') == 2
    for one in neighbours_of("damage:slit", adviser.knowledge):
        assert one.says in page


def test_the_page_of_a_damage_shows_what_to_look_for_and_its_neighbours(
    client: TestClient, adviser: Adviser
) -> None:
    page = client.get("/concepts/damage:crease", headers={"accept": "text/html"}).text
    assert str(escape(adviser.knowledge.text("damage:crease", "lw:lookFor"))) in page
    assert page.count('class="told-apart"') == 2
    ids = re.findall(r' id="([^"]+)"', page)
    assert len(ids) == len(set(ids))


def test_the_entry_page_shows_the_chosen_damage_and_all_pairs(
    client: TestClient, keep: Callable[..., Document], adviser: Adviser
) -> None:
    page = client.get(f"/cases/{keep().id}/damages").text
    assert "easily taken for" in page
    assert page.count("looks-pair") >= 18
    ids = re.findall(r' id="([^"]+)"', page)
    assert len(ids) == len(set(ids))
