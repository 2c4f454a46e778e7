"""Ways between two things, in the knowledge and within a case."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient

from leastwise.api.pages.knowledge.case_path import case_ways
from leastwise.api.pages.knowledge.drawing import Thread, draw_threads
from leastwise.graph import Adviser, Case
from tests.browser import axe_faults, overflow


def way(client: TestClient, start: str, end: str) -> Any:
    return client.get("/knowledge/path", params={"from": start, "to": end})


def test_a_way_is_told_in_sentences_with_claims_and_drawn(client: TestClient) -> None:
    text = way(client, "technique:steam", "material:gelatin-sequins").text

    assert re.search(r"Steam</a> brings <a [^>]+>(heat|water vapour)</a>", text)
    assert "destroys or alters for good" in text
    assert 'href="/concepts/claim:' in text
    assert '<svg class="threads"' in text
    assert "style=" not in text


@pytest.mark.parametrize("start", ["steam", " STEAM ", "technique:steam", "steaming"])
def test_an_end_is_found_by_name_label_or_synonym(client: TestClient, start: str) -> None:
    answer = way(client, start, "gelatin sequins")

    assert answer.status_code == 200
    assert "ways</h2>" in answer.text


def test_what_is_known_of_agent_and_material_stands_first(client: TestClient) -> None:
    known = way(client, "agent:water-vapour", "material:gelatin-sequins").text
    unknown = way(client, "agent:heat", "material:beads").text

    assert "In short" in known
    assert "not known" in unknown
    assert "never counts as harmless" in unknown


def test_a_name_that_is_unclear_stays_and_others_are_offered(client: TestClient) -> None:
    answer = way(client, "technique:steam", "sequin")

    assert answer.status_code == 422
    assert 'value="sequin"' in answer.text
    assert 'id="to-error"' in answer.text
    assert "material%3Agelatin-sequins" in answer.text


def test_hostile_names_are_shown_as_text(client: TestClient) -> None:
    text = way(client, '"><script>alert(1)</script>', "silk").text

    assert "<script>alert" not in text
    assert "&lt;script&gt;alert(1)" in text


def test_no_way_is_no_proof_of_safety(client: TestClient) -> None:
    assert "Both are the same thing" in way(client, "silk", "material:silk").text


def test_every_example_leads_to_ways(client: TestClient) -> None:
    text = client.get("/knowledge/path").text
    found = re.findall(r'href="(/knowledge/path\?from=[^"]+)"', text)

    assert len(found) >= 4
    for address in found:
        assert "ways</h2>" in client.get(address.replace("&amp;", "&")).text, address


def test_drawn_names_are_escaped() -> None:
    drawn = draw_threads([Thread(("<b>a", "b&", "c"), ("<i>", "x"), ("", "harm"))], '"><script>')

    assert "<b>" not in drawn
    assert "<script>" not in drawn
    assert "&lt;b&gt;a" in drawn


# Within a case


def test_the_way_of_an_agent_in_a_case_is_that_of_the_contact_network(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = demo("festival-dancer")
    ways = case_ways(adviser, case)
    steam = ways.option("technique:steam")
    assert steam is not None
    checked = 0
    for part in ways.parts:
        for one in ways.to_part(steam, part):
            mine = [e for e in ways.exposures[steam.id] if (e.agent, e.part) == (one.agent, part)]
            assert bool(one.why_not) == (not mine)
            for exposure in mine:
                names = tuple(ways.parts[p] for p in exposure.reach.way)
                if not one.spreads:
                    assert one.names == names
                    last = one.steps[-1].dose if one.steps else one.dose
                    assert last == exposure.reach.dose
                assert one.stopped == exposure.stopped
                assert one.arrives == (0 if one.stopped else exposure.dose)
                checked += 1
    assert checked > 20


def test_a_way_in_a_case_is_told_step_by_step(client: TestClient, keep: Callable[..., Any]) -> None:
    document = keep("festival-dancer")
    text = client.get(f"/cases/{document.id}/path?from=technique:steam&to=lining").text

    assert "It is brought to lower tier of the overskirt at dose 4 (full)" in text
    assert "loses 1 grade, and 2 (low) is left" in text
    assert "It does not reach" in text  # what travels less far is told as well
    assert "Expected at dose 2" in text


def test_an_option_or_part_that_is_not_there_is_told_beside_its_field(
    client: TestClient, keep: Callable[..., Any]
) -> None:
    document = keep("festival-dancer")
    answer = client.get(f"/cases/{document.id}/path?from=technique:zz&to=<b>")

    assert answer.status_code == 422
    assert 'id="from-error"' in answer.text
    assert 'id="to-error"' in answer.text
    assert "<b>”" not in answer.text


def test_a_case_that_is_not_complete_says_what_it_lacks(
    client: TestClient, keep: Callable[..., Any]
) -> None:
    document = keep({"title": "begun", "object": {"name": "collar"}})
    text = client.get(f"/cases/{document.id}/path").text

    assert "not complete enough" in text


def test_a_case_that_is_not_there_is_a_page_that_says_so(client: TestClient) -> None:
    assert client.get("/cases/none/path").status_code == 404


def test_both_pages_work_by_keyboard_and_fit(page: Any, keep: Callable[..., Any]) -> None:
    document = keep("festival-dancer")
    page.goto("/knowledge/path")
    page.fill("#from", "steam")
    page.fill("#to", "gelatin sequins")
    page.press("#to", "Enter")
    page.wait_for_selector("svg.threads")
    page.click("[data-swap]")
    assert page.input_value("#from") == "gelatin sequins"
    for address in (
        "/knowledge/path?from=technique:steam&to=material:gelatin-sequins",
        f"/cases/{document.id}/path?from=technique:steam&to=lining",
    ):
        page.goto(address)
        assert axe_faults(page) == []
        for width in (1280, 820, 390):
            page.set_viewport_size({"width": width, "height": 900})
            assert overflow(page) == []
