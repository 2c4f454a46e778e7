"""The sketch plan: grounds, regions typed and drawn, and the drawing made of them."""

from __future__ import annotations

import copy
import io
import re
import xml.etree.ElementTree as ET
from collections.abc import Callable
from itertools import combinations
from typing import Any

import pytest
from fastapi.testclient import TestClient
from PIL import Image

from leastwise.api.drawings.region_text import parse_region, region_text
from leastwise.api.drawings.regions import region_drawing
from leastwise.api.drawings.silhouettes import SILHOUETTES, silhouette_shapes
from leastwise.api.store import Document, Store
from leastwise.graph import Adviser
from leastwise.graph.case.demo import read_demo
from tests.browser import axe_faults, overflow
from tests.pages.conftest import form_token

Keep = Callable[..., Document]
NS = "{http://www.w3.org/2000/svg}"
SQUARE = [[0.2, 0.2], [0.6, 0.2], [0.6, 0.5], [0.2, 0.5]]
#: A hook, whose middle of area lies outside it.
HOOK = [
    [0.1, 0.1],
    [0.9, 0.1],
    [0.9, 0.9],
    [0.8, 0.9],
    [0.8, 0.2],
    [0.2, 0.2],
    [0.2, 0.9],
    [0.1, 0.9],
]


def begin(client: TestClient, case: str, ground: str = "silhouette:dress-front") -> str:
    answer = client.post(
        f"/cases/{case}/sketch",
        data={"form_token": form_token(client), "ground": ground, "name": ""},
        follow_redirects=False,
    )
    assert answer.status_code == 303
    return answer.headers["location"].rpartition("/")[2]


def send(client: TestClient, case: str, sketch: str, version: int, **fields: str) -> Any:
    data = {"form_token": form_token(client), "version": str(version)}
    for number, (part, text) in enumerate(fields.items()):
        data |= {f"part.{number}": part.replace("_", "-"), f"points.{number}": text}
    return client.post(f"/cases/{case}/sketch/{sketch}", data=data, follow_redirects=False)


# -- silhouettes and drawing


@pytest.mark.parametrize("key", SILHOUETTES)
def test_a_silhouette_stays_in_its_box_and_stands_on_its_own(key: str) -> None:
    one = SILHOUETTES[key]
    ET.fromstring(f'<svg xmlns="{NS[1:-1]}">{silhouette_shapes(one)}</svg>')  # noqa: S314 - ours
    for d in one.outlines:
        figures = [float(x) for x in re.findall(r"-?[0-9.]+", re.sub(r"[A].*?(?=[LZM])", "", d))]
        if "H" in d or "V" in d:
            continue
        points = list(zip(figures[::2], figures[1::2], strict=False))
        assert all(0 <= x <= one.width and 0 <= y <= one.height for x, y in points), key


def test_there_are_grounds_for_costume_flat_textiles_and_accessories() -> None:
    assert {
        "dress-front",
        "dress-back",
        "skirt",
        "bodice",
        "trousers",
        "flat",
        "banner",
        "fan",
    } <= (SILHOUETTES.keys())


def labels_in(svg: str) -> list[tuple[float, float, float, float]]:
    found = []
    for group in ET.fromstring(svg).iter(f"{NS}g"):  # noqa: S314 - our own drawing
        if group.get("class") != "region-label":
            continue
        for text in group.iter(f"{NS}text"):
            size = float(text.attrib["font-size"])
            wide = len(text.text or "") * size * 0.57
            x, y = float(text.attrib["x"]), float(text.attrib["y"])
            left = x - wide if text.attrib["text-anchor"] == "end" else x
            found.append((left, y - size * 0.8, left + wide, y + size * 0.2))
    return found


def test_forty_names_stand_beside_the_ground_and_none_covers_another() -> None:
    parts = [(f"p{i}", f"part number {i} of the overskirt") for i in range(40)]
    step = [(0.1 + 0.02 * (i % 7), 0.1 + 0.018 * i) for i in range(40)]
    regions = {
        f"p{i}": [[x, y], [x + 0.1, y], [x + 0.1, y + 0.05]] for i, (x, y) in enumerate(step)
    }
    svg = region_drawing(parts, {"ground": "silhouette:flat", "regions": regions})
    labels = labels_in(svg)
    assert len(labels) >= 40
    for a, b in combinations(labels, 2):
        assert a[2] <= b[0] or b[2] <= a[0] or a[3] <= b[1] or b[3] <= a[1]
    root = ET.fromstring(svg)  # noqa: S314 - our own drawing
    assert all(a[0] >= 0 and a[2] <= float(root.attrib["width"]) for a in labels)
    assert all(a[3] <= float(root.attrib["height"]) for a in labels)


def test_a_line_leads_from_each_name_into_its_region() -> None:
    svg = region_drawing(
        [("hook", "hook")],
        {"ground": "photograph:x", "size": [100, 100], "regions": {"hook": HOOK}},
    )
    root = ET.fromstring(svg)  # noqa: S314 - our own drawing
    left, top, wide, high = (float(x) for x in root.attrib["data-ground"].split())
    dot = next(root.iter(f"{NS}circle"))
    x = (float(dot.attrib["cx"]) - left) / wide
    y = (float(dot.attrib["cy"]) - top) / high
    assert 0.1 <= x <= 0.9
    assert y <= 0.2 or x <= 0.2 or x >= 0.8  # on the hook, not in its bay


def test_regions_differ_by_pattern_or_line_and_not_by_colour() -> None:
    parts = [(f"p{i}", f"part {i}") for i in range(21)]
    regions = {part: SQUARE for part, _ in parts}
    svg = region_drawing(parts, {"ground": "silhouette:flat", "regions": regions})
    fills = re.findall(r'class="region-fill"[^>]*fill="(url[^"]*)"', svg)
    edges = re.findall(r'class="region-edge"[^>]*?(stroke-dasharray="[^"]*")?/>', svg)
    assert len(set(zip(fills, edges, strict=True))) == 21


def test_a_drawing_takes_a_case_and_a_photograph_and_no_markup_from_a_name(
    adviser: Adviser,
) -> None:
    case = read_demo("festival-dancer", adviser.knowledge)
    sketch = {"ground": "photograph:x", "size": [400, 300], "regions": {"belt": SQUARE}}
    svg = region_drawing(case, sketch, "data:image/jpeg;base64,AAAA")
    assert 'href="data:image/jpeg;base64,AAAA"' in svg
    assert ">belt</text>" in svg
    assert "The photograph was taken away." in region_drawing(case, sketch, None)
    hostile = region_drawing(
        [("a", "<script>x</script>")], {"regions": {"a": SQUARE}}, '"><script>'
    )
    ET.fromstring(hostile)  # noqa: S314 - must be well formed
    assert "<script" not in hostile
    assert "style=" not in hostile


def test_a_stored_sketch_that_holds_anything_is_drawn() -> None:
    for odd in (
        {},
        {"ground": 7, "regions": []},
        {"ground": "silhouette:ghost", "regions": {"a": [[1], "x", [None, 2], [0.1, 0.2]]}},
        {"ground": "photograph:x", "size": [0, -3], "regions": {"a": [[9, 9], [-1, 0], [0, 5]]}},
    ):
        ET.fromstring(region_drawing([("a", "A")], odd))  # noqa: S314 - must be well formed


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("10,20 30,40", "at least 3"),
        ("10,20 30,40 101,5", "lies outside"),
        ("10,20 a,b 3,4", "is not a point"),
        ("nan,1 2,2 3,3", "lies outside"),
        ("10,10 20,20 30,30", "on one line"),
        (" ".join(["1,1", "9,2", "3,9"] * 200), "at most 400"),
    ],
)
def test_a_region_that_is_none_is_told_in_words(text: str, words: str) -> None:
    points, wrong = parse_region(text)
    assert points == []
    assert words in wrong


def test_a_region_typed_comes_back_as_it_was_typed() -> None:
    assert region_text(parse_region("10,20; 30.25,20\n30,45")[0]) == "10,20 30.25,20 30,45"
    assert parse_region("  \n") == ([], "")


# -- pages without a script


def test_a_case_without_a_sketch_is_offered_every_ground(client: TestClient, keep: Keep) -> None:
    text = client.get(f"/cases/{keep().id}/sketch").text
    for one in SILHOUETTES.values():
        assert f'value="silhouette:{one.key}"' in text
        assert one.label in text


def test_regions_are_typed_kept_and_shown_without_a_script(
    client: TestClient, keep: Keep, store: Store
) -> None:
    case = keep().id
    sketch = begin(client, case)
    answer = send(client, case, sketch, 1, belt="10,20 40,20 40,60", bodice="")
    assert answer.status_code == 303
    stored = store.read(sketch, "sketch")
    assert stored.case == case
    assert stored.body == {
        "ground": "silhouette:dress-front",
        "regions": {"belt": [[0.1, 0.2], [0.4, 0.2], [0.4, 0.6]]},
    }
    text = client.get(f"/cases/{case}/sketch/{sketch}").text
    assert "1 of 10 drawn here" in text
    assert ">10,20 40,20 40,60</textarea>" in text
    assert 'href="#part-9"' in text  # the region leads to its part
    assert ">belt</text>" in text
    send(client, case, sketch, 2, belt="")
    assert store.read(sketch).body["regions"] == {}


def test_a_damage_is_marked_where_the_record_places_it_on_the_first_sketch(
    client: TestClient, keep: Keep, store: Store
) -> None:
    document = keep()
    body = copy.deepcopy(document.body)
    body["damages"][1]["place"] = {"x": 0.5, "y": 0.25}
    store.save(document.id, document.version, body, who="local", what="placed")
    first, second = begin(client, document.id), begin(client, document.id, "silhouette:flat")

    drawing = client.get(f"/cases/{document.id}/sketch/{first}/drawing").text
    assert "<title>2: loose or missing attachment</title>" in drawing
    assert "Damage: 2 loose or missing attachment." in drawing
    assert "damage-place" not in client.get(f"/cases/{document.id}/sketch/{second}/drawing").text


def test_corners_that_cannot_be_read_are_told_beside_their_field_and_the_others_kept(
    client: TestClient, keep: Keep, store: Store
) -> None:
    case = keep().id
    sketch = begin(client, case)
    answer = send(client, case, sketch, 1, top_tier="10,20 <b>", belt="10,20 40,20 40,60")
    assert answer.status_code == 422
    assert 'id="points.0-error"' in answer.text
    assert "&lt;b&gt; is not a point" in answer.text
    assert ">10,20 &lt;b&gt;</textarea>" in answer.text
    assert store.read(sketch).body["regions"].keys() == {"belt"}


def test_several_grounds_are_kept_and_a_part_drawn_elsewhere_is_told(
    client: TestClient, keep: Keep
) -> None:
    case = keep().id
    front, back = begin(client, case), begin(client, case, "silhouette:dress-back")
    send(client, case, front, 1, belt="10,20 40,20 40,60")
    text = client.get(f"/cases/{case}/sketch/{back}").text
    assert "drawn on Dress on a figure, front" in text
    assert f'href="/cases/{case}/sketch/{front}"' in text
    assert client.get(f"/cases/{case}/sketch", follow_redirects=False).status_code == 303
    client.post(f"/cases/{case}/sketch/{front}/remove", data={"form_token": form_token(client)})
    assert client.get(f"/cases/{case}/sketch/{front}").status_code == 404
    assert client.get(f"/cases/{case}/sketch/{back}").status_code == 200


def test_a_photograph_is_a_ground_until_it_is_taken_away(
    client: TestClient, keep: Keep, store: Store
) -> None:
    case, other = keep().id, keep("guild-banner").id
    data = io.BytesIO()
    Image.new("RGB", (80, 60)).save(data, "JPEG")
    picture = store.add_picture(
        case, data.getvalue(), name="front", media_type="image/jpeg", size=(80, 60), who="me"
    )
    sketch = begin(client, case, f"photograph:{picture.id}")
    assert store.read(sketch).body["size"] == [80, 60]
    drawn = client.get(f"/cases/{case}/sketch/{sketch}/drawing")
    assert drawn.headers["content-type"].startswith("image/svg+xml")
    assert f'href="/cases/{case}/photographs/{picture.id}"' in drawn.text
    store.remove_picture(case, picture.id)
    assert "taken away" in client.get(f"/cases/{case}/sketch/{sketch}").text
    token = form_token(client)
    for ground in (f"photograph:{picture.id}", "silhouette:ghost", ""):
        answer = client.post(f"/cases/{other}/sketch", data={"form_token": token, "ground": ground})
        assert answer.status_code == 422
        assert 'id="ground-error"' in answer.text


def test_a_sketch_is_not_found_under_another_case(client: TestClient, keep: Keep) -> None:
    case, other = keep().id, keep("guild-banner").id
    sketch = begin(client, case)
    assert client.get(f"/cases/{other}/sketch/{sketch}").status_code == 404
    assert client.get(f"/cases/{other}/sketch/{sketch}/drawing").status_code == 404
    assert send(client, other, sketch, 1, belt="1,1 2,2 1,3").status_code == 404


def test_two_people_who_draw_different_parts_both_keep_theirs(
    client: TestClient, keep: Keep, store: Store
) -> None:
    case = keep().id
    sketch = begin(client, case)
    theirs = {"ground": "silhouette:dress-front", "regions": {"bodice": SQUARE}}
    store.save(sketch, 1, theirs, who="other", what="drawn")
    assert send(client, case, sketch, 1, belt="10,20 40,20 40,60").status_code == 303
    assert store.read(sketch).body["regions"].keys() == {"bodice", "belt"}


def test_who_draws_a_part_over_anothers_is_told(
    client: TestClient, keep: Keep, store: Store
) -> None:
    case = keep().id
    sketch = begin(client, case)
    theirs = {"ground": "silhouette:dress-front", "regions": {"belt": SQUARE}}
    store.save(sketch, 1, theirs, who="other", what="drawn")
    answer = send(client, case, sketch, 1, belt="10,20 40,20 40,60")
    assert answer.status_code == 409
    assert "Somebody drew the same parts in between" in answer.text
    assert store.read(sketch).version == 3  # theirs is version 2, in the history


def test_the_region_of_a_part_that_was_removed_is_kept_until_it_is_dropped(
    client: TestClient, keep: Keep, store: Store
) -> None:
    case = keep().id
    made = {"ground": "silhouette:flat", "regions": {"ghost": SQUARE}}
    sketch = store.create("sketch", made, who="me", what="x", case=case, title="Flat").id
    assert 'name="drop" value="ghost"' in client.get(f"/cases/{case}/sketch/{sketch}").text
    send(client, case, sketch, 1, belt="10,20 40,20 40,60")
    assert "ghost" in store.read(sketch).body["regions"]
    token = form_token(client)
    client.post(
        f"/cases/{case}/sketch/{sketch}",
        data={"form_token": token, "version": "2", "drop": "ghost"},
    )
    assert "ghost" not in store.read(sketch).body["regions"]


# -- with a script


def test_a_region_is_drawn_by_keyboard_alone(page: Any, keep: Keep, store: Store) -> None:
    case = keep().id
    made = {"ground": "silhouette:dress-front", "regions": {}}
    sketch = store.create("sketch", made, who="me", what="x", case=case, title="Front").id
    page.goto(f"/cases/{case}/sketch/{sketch}")
    assert axe_faults(page) == []
    page.locator('[data-part="belt"] [data-draw]').focus()
    press = page.keyboard.press
    press("Enter")
    assert "Drawing belt." in page.locator("#said").text_content()
    press("Enter")  # at the middle
    press("Shift+ArrowRight")
    assert page.locator("#said").text_content() == "60 % across, 50 % down"
    press("Enter")
    press("ArrowDown")
    press("Enter")
    press("Backspace")
    assert page.locator("#said").text_content() == "Taken back; 2 points are left."
    press("c")
    assert "at least 3 points" in page.locator("#said").text_content()
    press("Shift+ArrowDown")
    press("Enter")
    press("c")
    page.get_by_text("Version 2, kept.").wait_for()
    assert store.read(sketch).body["regions"] == {"belt": [[0.5, 0.5], [0.6, 0.5], [0.6, 0.62]]}
    page.locator("#stage .region-name", has_text="belt").wait_for()
    assert page.locator("#said").text_content() == "Region of belt closed with 3 points."
    assert page.locator("#drawn-count").inner_text() == "1 of 10 drawn here"


def test_a_region_is_clicked_and_another_traced_with_the_pointer(
    page: Any, keep: Keep, store: Store
) -> None:
    case = keep().id
    made = {"ground": "silhouette:flat", "regions": {}}
    sketch = store.create("sketch", made, who="me", what="x", case=case, title="Flat").id
    page.goto(f"/cases/{case}/sketch/{sketch}")

    def at(x: float, y: float) -> tuple[float, float]:
        return tuple(
            page.evaluate(
                """([x, y]) => { const s = document.querySelector("#stage svg");
                const [l, t, w, h] = s.dataset.ground.split(" ").map(Number);
                const p = new DOMPoint(l + x * w, t + y * h).matrixTransform(s.getScreenCTM());
                return [p.x, p.y]; }""",
                [x, y],
            )
        )

    page.locator('[data-part="belt"] [data-draw]').click()
    for corner in ((0.2, 0.3), (0.6, 0.3), (0.6, 0.6), (0.2, 0.3)):
        page.mouse.click(*at(*corner))
    page.get_by_text("Version 2, kept.").wait_for()
    drawn = store.read(sketch).body["regions"]["belt"]
    for found, meant in zip(drawn, ((0.2, 0.3), (0.6, 0.3), (0.6, 0.6)), strict=True):
        assert found == pytest.approx(meant, abs=0.01)
    page.locator("#stage .region-name", has_text="belt").wait_for()
    page.locator('[data-part="bodice"] [data-draw]').click()
    page.mouse.move(*at(0.3, 0.7))
    page.mouse.down()
    for corner in ((0.5, 0.7), (0.7, 0.7), (0.7, 0.9), (0.3, 0.9), (0.3, 0.72)):
        page.mouse.move(*at(*corner), steps=8)
    page.mouse.up()
    page.get_by_text("Version 3, kept.").wait_for()
    traced = store.read(sketch).body["regions"]["bodice"]
    assert 4 <= len(traced) <= 8  # simplified to its corners
    page.set_viewport_size({"width": 390, "height": 900})
    assert overflow(page) == []
