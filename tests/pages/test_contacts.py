"""How the parts touch: the form without and with scripts, and the drawn network."""

from __future__ import annotations

import random
import re
import xml.etree.ElementTree as ET
from collections.abc import Callable
from itertools import combinations
from typing import Any

import pytest
from fastapi.testclient import TestClient

from leastwise.api.drawings.network import KINDS, Mark, Touch, network_drawing, sentence
from leastwise.api.drawings.network_layout import BOX, Box, Layout, Link, laid_out
from leastwise.api.pages.fields import write_fields
from leastwise.api.store import Document, Store
from leastwise.graph import Adviser
from leastwise.graph.case.demo import read_demo
from tests.browser import axe_faults, overflow
from tests.pages.conftest import form_token

Keep = Callable[..., Document]
NS = "{http://www.w3.org/2000/svg}"
WORDS = [
    *("satin", "net", "lining", "tier", "braid", "hem", "sleeve"),
    *("cuff", "collar", "panel", "velvet", "fringe", "interlining"),
]


def large(seed: int) -> tuple[list[tuple[str, str]], list[Touch]]:
    """40 parts with long names and 60 contacts, as a whole ensemble may have."""
    chance = random.Random(seed)  # noqa: S311 - no secret
    parts = [(f"p{i}", " ".join(chance.sample(WORDS, chance.randint(2, 6)))) for i in range(40)]
    touches: list[Touch] = []
    while len(touches) < 60:
        a, b = chance.randrange(40), chance.randrange(40)
        if a != b:
            touches.append(
                Touch(
                    f"p{a}",
                    f"p{b}",
                    chance.choice(list(KINDS)),
                    chance.choice(["in-place", "possible", "impossible", "unknown"]),
                    chance.choice(["done", "possible", "impossible", "unknown"]),
                )
            )
    return parts, touches


def boxes_in(svg: str) -> dict[str, Box]:
    root = ET.fromstring(svg)  # noqa: S314 - our own drawing
    found = {}
    for group in root.iter(f"{NS}g"):
        if "net-part" in group.get("class", "").split():
            rect = group.find(f"{NS}rect")
            assert rect is not None
            found[group.attrib["data-part"]] = Box(
                *(float(rect.attrib[key]) for key in ("x", "y", "width", "height"))
            )
    return found


def meet(a: Box, b: Box, room: float = 0.0) -> bool:
    return (
        a.x < b.x + b.w + room
        and b.x < a.x + a.w + room
        and a.y < b.y + b.h + room
        and b.y < a.y + a.h + room
    )


# -- the drawing


@pytest.mark.parametrize("seed", range(8))
def test_no_part_covers_another_and_every_name_stays_in_its_box(seed: int) -> None:
    parts, touches = large(seed)
    svg = network_drawing(parts, touches)
    boxes = boxes_in(svg)
    assert boxes.keys() == {part for part, _ in parts}
    assert not [pair for pair in combinations(boxes, 2) if meet(boxes[pair[0]], boxes[pair[1]], 8)]
    for group in ET.fromstring(svg).iter(f"{NS}g"):  # noqa: S314 - our own drawing
        if "net-part" not in group.get("class", "").split():
            continue
        box = boxes[group.attrib["data-part"]]
        for text in group.iter(f"{NS}text"):
            wide = len(text.text or "") * float(text.attrib["font-size"]) * 0.57
            x, y = float(text.attrib["x"]), float(text.attrib["y"])
            assert box.x <= x - wide / 2
            assert x + wide / 2 <= box.x + box.w
            assert box.y < y < box.y + box.h


def way_of(layout: Layout, number: int) -> list[tuple[float, float]]:
    return [piece.at(k / 12) for piece in layout.lines[number] for k in range(13)]


@pytest.mark.parametrize("seed", range(4))
def test_no_line_runs_through_a_part_that_it_does_not_join(seed: int) -> None:
    parts, touches = large(seed)
    links = [Link(one.first, one.second) for one in touches]
    layout = laid_out([part for part, _ in parts], links, {part: 60.0 for part, _ in parts})
    for number, link in enumerate(links):
        for x, y in way_of(layout, number):
            through = [
                part
                for part, box in layout.boxes.items()
                if box.x < x < box.x + box.w and box.y + 0.01 < y < box.y + box.h - 0.01
            ]
            assert not through, (link, through)


@pytest.mark.parametrize("seed", range(4))
def test_the_marks_of_contacts_cover_no_part_and_hardly_each_other(seed: int) -> None:
    parts, touches = large(seed)
    svg = network_drawing(parts, touches)
    root = ET.fromstring(svg)  # noqa: S314 - our own drawing
    sheets = [
        Box(*(float(rect.attrib[key]) for key in ("x", "y", "width", "height")))
        for rect in root.iter(f"{NS}rect")
        if rect.get("class") == "net-sheet"
    ]
    assert len(sheets) > 40
    assert not [sheet for sheet in sheets for box in boxes_in(svg).values() if meet(sheet, box)]
    assert sum(meet(a, b) for a, b in combinations(sheets, 2)) <= 3


def test_the_same_network_gives_the_same_drawing() -> None:
    parts, touches = large(1)
    assert network_drawing(parts, touches) == network_drawing(parts, touches)


@pytest.mark.parametrize(
    ("kind", "upper"), [("lies-on", "a"), ("layered-under", "b"), ("hangs-from", "b")]
)
def test_the_upper_part_stands_above_the_lower(kind: str, upper: str) -> None:
    svg = network_drawing([("a", "net"), ("b", "lining")], [Touch("a", "b", kind)])
    boxes = boxes_in(svg)
    assert boxes[upper].y < boxes["b" if upper == "a" else "a"].y


def test_a_record_that_contradicts_itself_is_drawn_and_says_so() -> None:
    parts = [("a", "net"), ("b", "lining"), ("c", "hem")]
    svg = network_drawing(
        parts, [Touch("a", "b", "lies-on"), Touch("b", "c", "lies-on"), Touch("c", "a", "lies-on")]
    )
    assert len(boxes_in(svg)) == 3
    assert svg.count("lower one on top") == 1


def test_every_kind_has_a_line_of_its_own_and_none_needs_colour() -> None:
    lines = set()
    for kind in KINDS:
        svg = network_drawing([("a", "A"), ("b", "B")], [Touch("a", "b", kind)], legend=False)
        drawn = re.search(r'<g class="net-line[^>]*>.*?</g>', svg, re.DOTALL)
        assert drawn is not None
        said = re.sub(r"<title>.*?</title>|net-line net-[a-z-]+", "", drawn[0])
        lines.add(re.sub(r"#[0-9a-f]{6}", "", said))
    assert len(lines) == len(KINDS) - 1  # lies on and lies under are one line, seen from two sides


def test_a_drawing_for_a_page_carries_no_style_of_its_own_and_no_markup_from_a_name() -> None:
    hostile = '<script>alert("1")</script>'
    svg = network_drawing(
        [("a", hostile), ("b", "B")],
        [Touch("a", "b", "stitched")],
        marked_parts={"a": Mark("<b>steam</b>", "source")},
        marked_touches={0: Mark("<i>dose</i>", "reached", "b")},
        hrefs={"a": "/x?a=1&b=<"},
    )
    ET.fromstring(svg)  # noqa: S314 - must be well formed
    assert "<script" not in svg
    assert "<b>" not in svg
    assert "style=" not in svg
    assert "<style" not in svg


def test_marks_stand_in_words_and_in_the_description() -> None:
    svg = network_drawing(
        [("a", "net"), ("b", "lining")],
        [Touch("a", "b", "stitched")],
        marked_parts={"a": Mark("steam put here", "source"), "b": Mark("kept dry", "stopped")},
        marked_touches={0: Mark("film stops it", "stopped", "b")},
    )
    description = re.search(r"<desc[^>]*>(.*?)</desc>", svg)
    assert description is not None
    assert "net: steam put here; lining: kept dry" in description[1]
    for words in ("steam put here", "kept dry", "film stops it"):
        assert f">{words}</text>" in svg
    assert "net-way" in svg  # the arrow at the end of the way


def test_parts_without_a_contact_are_shown_as_such() -> None:
    svg = network_drawing([("a", "A"), ("b", "B"), ("c", "belt")], [Touch("a", "b", "stitched")])
    assert "No contact written down yet:" in svg
    assert set(boxes_in(svg)) == {"a", "b", "c"}
    assert boxes_in(svg)["c"].w == BOX
    alone = network_drawing([("a", "A")], [])
    assert set(boxes_in(alone)) == {"a"}
    ET.fromstring(network_drawing([], []))  # noqa: S314 - must be well formed


def test_the_order_of_a_contact_is_told_as_a_sentence() -> None:
    names = {"a": "top tier", "b": "skirt"}
    assert sentence(Touch("a", "b", "lies-on"), names) == "top tier lies on skirt"
    assert sentence(Touch("b", "a", "layered-under"), names) == "skirt lies under top tier"


# -- the form


def fields_of(client: TestClient, case: str, body: dict[str, Any], version: int) -> dict[str, str]:
    token = form_token(client)
    return {
        **dict(write_fields({"contacts": body["contacts"]})),
        "form_token": token,
        "version": str(version),
    }


def test_the_form_shows_every_contact_as_a_sentence_with_its_answers(
    client: TestClient, keep: Keep
) -> None:
    case = keep().id
    text = client.get(f"/cases/{case}/contacts").text
    assert "trimming of the top tier sewn through top tier of the overskirt" in text
    assert text.count('class="piece contact"') == 10  # nine, and an empty one
    assert 'name="contacts.7.parting" value="done" checked' in text
    assert "Joined by a line of stitching" in text  # the kinds are explained
    assert "<caption>9 contacts" in text


def test_a_form_sent_unchanged_changes_nothing(
    client: TestClient, keep: Keep, store: Store
) -> None:
    kept = keep()
    page = client.get(f"/cases/{kept.id}/contacts").text
    sent = {"form_token": form_token(client), "version": "1", "contacts[]": ""}
    for name, options in re.findall(r'<select id="[^"]*" name="([^"]*)"[^>]*>(.*?)</select>', page):
        chosen = re.search(r'value="([^"]*)" selected', options)
        sent[name] = chosen[1] if chosen else ""
    for name, value in re.findall(r'type="radio" name="([^"]*)" value="([^"]*)" checked', page):
        sent[name] = value
    for name, value in re.findall(r'<textarea id="[^"]*" name="([^"]*)"[^>]*>([^<]*)<', page):
        sent[name] = value
    answer = client.post(f"/cases/{kept.id}/contacts", data=sent, follow_redirects=False)
    assert answer.status_code == 303
    assert store.read(kept.id).body == kept.body
    assert store.read(kept.id).version == 1


def test_contacts_are_added_turned_and_removed_without_a_script(
    client: TestClient, keep: Keep, store: Store
) -> None:
    kept = keep()
    case, path = kept.id, f"/cases/{kept.id}/contacts"
    sent = fields_of(client, case, kept.body, 1)
    new = {"contacts.9.between.0": "belt", "contacts.9.between.1": "skirt"}
    answer = client.post(path, data=sent | new | {"add": "contacts"}, follow_redirects=False)
    assert answer.headers["location"].endswith("?open=10#contacts.10.between.0")
    body = store.read(case).body
    assert body["contacts"][9] == {
        "between": ["belt", "skirt"],
        "kind": "unknown",
        "barrier": "unknown",
        "parting": "unknown",
        "colour": "",
        "note": "",
    }
    sent = fields_of(client, case, body, 2)
    client.post(path, data=sent | {"turn": "contacts.9"})
    assert store.read(case).body["contacts"][9]["between"] == ["skirt", "belt"]
    sent = fields_of(client, case, store.read(case).body, 3)
    client.post(path, data=sent | {"remove": "contacts.9"})
    assert store.read(case).body["contacts"] == kept.body["contacts"]


def test_an_entry_that_cannot_be_read_is_kept_and_told_beside_its_field(
    client: TestClient, keep: Keep, store: Store
) -> None:
    kept = keep()
    sent = fields_of(client, kept.id, kept.body, 1)
    sent |= {
        "contacts.0.between.0": "<b>ghost</b>",
        "contacts.1.between.1": kept.body["contacts"][1]["between"][0],
        "contacts.2.note": "typed with care",
    }
    answer = client.post(f"/cases/{kept.id}/contacts", data=sent)
    assert answer.status_code == 200  # after a redirect
    assert 'id="contacts.0.between.0-error"' in answer.text
    assert "<b>ghost" not in answer.text
    assert "&lt;b&gt;ghost&lt;/b&gt; (not in the record)" in answer.text
    assert "typed with care" in answer.text
    assert store.read(kept.id).body["contacts"][0]["between"][0] == "<b>ghost</b>"


def test_two_people_who_change_different_contacts_both_keep_theirs(
    client: TestClient, keep: Keep, store: Store
) -> None:
    kept = keep()
    theirs = {**kept.body, "contacts": [dict(one) for one in kept.body["contacts"]]}
    theirs["contacts"][5]["note"] = "theirs"
    store.save(kept.id, 1, theirs, who="other", what="note")
    sent = fields_of(client, kept.id, kept.body, 1) | {"contacts.2.note": "mine"}
    client.post(f"/cases/{kept.id}/contacts", data=sent)
    contacts = store.read(kept.id).body["contacts"]
    assert (contacts[2]["note"], contacts[5]["note"]) == ("mine", "theirs")


def test_a_draft_that_holds_anything_is_shown(client: TestClient, keep: Keep, store: Store) -> None:
    kept = keep()
    odd: dict[str, Any] = {
        **kept.body,
        "parts": [{"id": 3}, "x", {"id": "a"}, {"id": "b", "name": ["no text"]}],
        "contacts": [{"between": "ab", "kind": {}}, 7, {"between": ["a", "b", "c"]}, None],
    }
    store.save(kept.id, 1, odd, who="me", what="odd")
    assert client.get(f"/cases/{kept.id}/contacts").status_code == 200
    drawn = client.get(f"/cases/{kept.id}/contacts/drawing")
    assert set(boxes_in(drawn.text)) == {"a", "b"}
    store.save(kept.id, 2, {"title": "empty"}, who="me", what="empty")
    assert "Name the parts" in client.get(f"/cases/{kept.id}/contacts").text


def test_the_drawing_and_the_table_come_on_their_own(client: TestClient, keep: Keep) -> None:
    case = keep("guild-banner").id
    drawn = client.get(f"/cases/{case}/contacts/drawing")
    assert drawn.headers["content-type"].startswith("image/svg+xml")
    assert drawn.headers["cache-control"] == "no-store"
    assert len(boxes_in(drawn.text)) > 3
    assert client.get(f"/cases/{case}/contacts/table").text.lstrip().startswith("<table>")


def test_a_case_of_40_parts_shows_every_part(
    client: TestClient, keep: Keep, adviser: Adviser
) -> None:
    body = read_demo("festival-dancer", adviser.knowledge).model_dump(mode="json")
    parts, touches = large(5)
    body["parts"] = [{**body["parts"][0], "id": part, "name": name} for part, name in parts]
    body["contacts"] = [
        {"between": [t.first, t.second], "kind": t.kind, "barrier": t.barrier} for t in touches
    ]
    body["damages"] = [{**body["damages"][0], "parts": ["p0"]}]
    case = keep(body).id
    text = client.get(f"/cases/{case}/contacts").text
    assert all(name in text for _, name in parts)


def test_two_clicks_in_the_network_add_a_contact_and_the_drawing_follows(
    page: Any, keep: Keep, store: Store
) -> None:
    case = keep().id
    page.goto(f"/cases/{case}/contacts")
    assert axe_faults(page) == []
    page.locator('#network [data-part="belt"]').click()
    page.locator('#network [data-part="skirt"]').click()
    page.get_by_text("belt and satin skirt: say how they touch.").wait_for()
    row = page.locator(".contact").last
    row.locator('input[value="lies-on"]').check()
    page.locator("#network .net-lies-on").wait_for(state="attached")
    assert row.locator(".contact-said").inner_text() == "belt lies on satin skirt"
    last = store.read(case).body["contacts"][-1]
    assert (last["between"], last["kind"]) == (["belt", "skirt"], "lies-on")
    assert "belt lies on satin skirt" in page.locator("#network-table").text_content()
    page.locator("#add-contact").click()  # a further one, by keyboard
    assert page.evaluate("document.activeElement.name") == "contacts.10.between.0"
    for width in (820, 390):
        page.set_viewport_size({"width": width, "height": 900})
        assert overflow(page) == []
