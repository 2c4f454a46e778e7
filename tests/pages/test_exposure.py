"""The exposure picture: the path of an agent, and what barriers would change."""

from __future__ import annotations

import re
from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient

from leastwise.api.store import Document, Store
from leastwise.graph import Adviser
from leastwise.graph.case.demo import read_demo
from leastwise.graph.errors import NotFound, UnknownOption
from leastwise.graph.questions.exposure_picture import exposure_picture
from leastwise.graph.questions.exposure_values import Supposed
from tests.browser import axe_faults, overflow
from tests.pages.work_cases import many_parts

Keep = Callable[..., Document]
PACK, VAPOUR = "crushed-tiers/membrane-pack-suspended", "agent:water-vapour"
ASKED = f"option={PACK}&agent={VAPOUR}"


def checkbox(text: str, kind: str, number: int) -> str:
    found = re.search(rf'<input type="checkbox" id="{kind}-{number}"[^>]*>', text)
    assert found is not None
    return found[0]


def test_the_path_is_told_in_words_with_contact_dose_severity_and_claims(
    client: TestClient, keep: Keep
) -> None:
    text = client.get(f"/cases/{keep().id}/exposure?{ASKED}").text
    assert (
        "Water vapour reaches edge of the top tier along the threads that go through it and "
        "top tier of the overskirt: dose 3 of 4 (moderate)."
    ) in text
    assert 'href="/concepts/claim:M-356-water-vapour"' in text
    # A film that can be slipped in before the option is placed there already.
    assert (
        "Water vapour would reach trimming of the top tier, but a barrier between top tier of the "
        "overskirt and trimming of the top tier stops it."
    ) in text
    assert 'href="/concepts/claim:M-195"' in text
    assert "Not reached: bodice, hooks and press studs of the bodice, belt." in text


def test_a_supposed_barrier_ends_exposures_and_changes_the_verdict(
    client: TestClient, keep: Keep
) -> None:
    case = keep()
    text = client.get(f"/cases/{case.id}/exposure?{ASKED}&barrier=1&barrier=2&barrier=5").text
    for part in ("edge of the top tier", "satin skirt", "lining of the skirt"):
        assert f"Water vapour no longer reaches {part}." in text
    verdicts = re.findall(r'<span class="verdict (\w+)">', text.partition("What would change")[2])
    assert verdicts[:2] == ["undecided", "accepted"]


def test_a_supposed_barrier_never_enters_the_record(
    client: TestClient, keep: Keep, store: Store
) -> None:
    case = keep()
    client.get(f"/cases/{case.id}/exposure?{ASKED}&barrier=1&parting=1")
    after = store.read(case.id, "case")
    assert after.version == case.version
    assert after.body == case.body


def test_what_the_record_rules_out_is_disabled_and_says_why(client: TestClient, keep: Keep) -> None:
    text = client.get(f"/cases/{keep().id}/exposure?{ASKED}").text
    assert "disabled" in checkbox(text, "parting", 1)
    assert "disabled" not in checkbox(text, "barrier", 1)
    assert 'id="parting-why-1">Recorded as impossible</span>' in text


def test_what_is_ruled_out_but_asked_for_in_the_address_is_left_out_and_said(
    client: TestClient, keep: Keep
) -> None:
    text = client.get(f"/cases/{keep().id}/exposure?{ASKED}&parting=1").text
    assert "was left out: recorded as impossible." in text
    assert "What would change" not in text


def test_a_sheet_against_a_cloud_of_steam_cannot_be_tried(client: TestClient, keep: Keep) -> None:
    case = keep()
    text = client.get(f"/cases/{case.id}/exposure?option=crushed-tiers/steam&agent={VAPOUR}").text
    assert "disabled" in checkbox(text, "barrier", 1)
    assert "A sheet does not stop water vapour that comes as a cloud" in text


def test_an_agent_of_another_option_gives_way_to_one_that_it_brings(
    client: TestClient, keep: Keep
) -> None:
    text = client.get(f"/cases/{keep().id}/exposure?option={PACK}&agent=agent:needle").text
    assert "does not bring the agent that was asked for; water vapour is shown" in text


@pytest.mark.parametrize(
    ("asked", "status"),
    [
        ("option=no/such", 404),
        (f"{ASKED}&barrier=99", 404),
        (f"{ASKED}&barrier=0", 404),
        (f"{ASKED}&barrier=<b>", 422),
        ("option=crushed-tiers/leave-and-monitor", 200),
        ("", 200),
    ],
)
def test_every_address_gets_a_page_that_says_what_it_is(
    client: TestClient, keep: Keep, asked: str, status: int
) -> None:
    answer = client.get(f"/cases/{keep().id}/exposure?{asked}")
    assert answer.status_code == status
    assert answer.headers["content-type"].startswith("text/html")
    assert "<b>" not in answer.text


def test_hostile_names_are_shown_as_text(client: TestClient, keep: Keep, adviser: Adviser) -> None:
    body = read_demo("festival-dancer", adviser.knowledge).model_dump(mode="json")
    for part in body["parts"]:
        part["name"] = f"<script>alert(1)</script>{part['id']}"
    text = client.get(f"/cases/{keep(body).id}/exposure?{ASKED}&barrier=1").text
    assert "<script>alert" not in text
    assert "&lt;script&gt;alert(1)" in text


def test_a_draft_that_cannot_be_weighed_says_what_is_missing(
    client: TestClient, keep: Keep
) -> None:
    case = keep({"leastwise_case": 1, "id": "draft", "title": "A draft"})
    for page in ("exposure", "plan", "bench"):
        text = client.get(f"/cases/{case.id}/{page}").text
        assert "not complete enough for this step yet" in text


def test_of_40_parts_those_near_the_path_are_drawn_and_all_on_request(
    client: TestClient, keep: Keep
) -> None:
    case = keep(many_parts())
    near = client.get(f"/cases/{case.id}/exposure").text
    drawn = near.count('data-part="')
    assert 2 < drawn < 40
    assert f"{40 - drawn} parts that lie out of the way are not drawn." in near
    whole = client.get(f"/cases/{case.id}/exposure?whole=true").text
    assert all(f'data-part="p{i}"' in whole for i in range(40))


def test_a_barrier_that_is_tried_gives_what_the_same_entry_would_give(adviser: Adviser) -> None:
    """The would-be case and a case with the barrier in its record lead to the same path."""
    case = read_demo("festival-dancer", adviser.knowledge)
    entered = case.model_copy(
        update={
            "contacts": [
                c.model_copy(update={"barrier": "in-place"}) if i == 0 else c
                for i, c in enumerate(case.contacts)
            ]
        }
    )
    tried = exposure_picture(adviser, case, PACK, VAPOUR, Supposed((1,)))
    recorded = exposure_picture(adviser, entered, PACK, VAPOUR)
    assert tried.would_be is not None
    assert tried.would_be.path == recorded.path
    assert (tried.would_be.verdict, tried.would_be.left) == (recorded.verdict, recorded.against)


def test_what_is_not_there_is_named(adviser: Adviser) -> None:
    case = read_demo("festival-dancer", adviser.knowledge)
    with pytest.raises(UnknownOption):
        exposure_picture(adviser, case, "crushed-tiers/none")
    with pytest.raises(NotFound, match="contact"):
        exposure_picture(adviser, case, PACK, VAPOUR, Supposed((len(case.contacts) + 1,)))


def test_ticking_fetches_the_picture_anew_without_a_page_load(page: Any, keep: Keep) -> None:
    case = keep()
    page.goto(f"/cases/{case.id}/exposure?{ASKED}")
    page.evaluate("() => { window.same = true; }")
    for number in (1, 2, 5):
        page.locator(f"#barrier-{number}").check()
        page.locator("#changed").get_by_text(f"a barrier at contact {number}").wait_for()
    page.locator("#changed").get_by_text("would become").wait_for()
    assert page.evaluate("() => window.same") is True
    assert page.evaluate("() => document.activeElement.id") == "barrier-5"
    assert "barrier=1&barrier=2&barrier=5" in page.url
    page.locator("#option").select_option("loose-sequins/running-stitch")
    page.locator("#agent").get_by_text("needle").first.wait_for(state="attached")
    for width in (1280, 390):
        page.set_viewport_size({"width": width, "height": 900})
        assert overflow(page) == []
        assert axe_faults(page) == []
