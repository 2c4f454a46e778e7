"""The plan page: what is done in which order, with which hours, and what is left."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from typing import Any
from xml.etree import ElementTree

import pytest
from fastapi.testclient import TestClient

from leastwise.api.drawings.order import ROWS_MOST, order_charts
from leastwise.api.pages.work import plan_patience
from leastwise.api.store import Document
from leastwise.graph import Adviser
from leastwise.graph.case.demo import read_demo
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.planning.make import make_plan
from leastwise.graph.planning.values import OrderReason, Step
from tests.browser import axe_faults, overflow
from tests.pages.work_cases import many_parts

Keep = Callable[..., Document]
SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def hurried(empty_shelf: None, monkeypatch: pytest.MonkeyPatch) -> None:
    """Let the page wait for nothing, and find nothing that is there already."""
    monkeypatch.setattr(plan_patience, "PATIENCE_S", 0.0)


def test_the_page_shows_what_the_plan_says(
    client: TestClient, keep: Keep, adviser: Adviser
) -> None:
    plan = make_plan(read_demo("festival-dancer", adviser.knowledge), adviser, undecided=True)
    text = client.get(f"/cases/{keep().id}/plan?undecided=true&wait=true").text
    assert plan.in_words in text
    assert plan.hours_of_projects is not None
    assert plan.hours_of_projects.in_words in text
    for step in plan.steps:
        assert f'<li value="{step.number}" id="step-{step.number}" ' in text
    assert text.count(' id="step-') == len(plan.steps)
    assert all(f'href="/concepts/{claim}"' in text for claim in plan.claims)
    assert "People first</h2>" in text
    assert text.index("People first") < text.index("Order of work")


def test_what_waits_is_planned_unless_only_the_accepted_is_asked_for(
    client: TestClient, keep: Keep
) -> None:
    case = keep()
    steps = re.compile(r'<li value="\d+" id="step-\d+"[^>]*>\s*<h3>([^<]*)')
    bare = steps.findall(client.get(f"/cases/{case.id}/plan?wait=true&undecided=false").text)
    more = steps.findall(client.get(f"/cases/{case.id}/plan?wait=true").text)
    assert "suspended damp pack behind a vapour-permeable membrane" in more
    assert "suspended damp pack behind a vapour-permeable membrane" not in bare


@pytest.mark.usefixtures("hurried")
def test_a_plan_that_takes_its_time_is_fetched_after_the_page(
    client: TestClient, keep: Keep
) -> None:
    case = keep(many_parts())
    text = client.get(f"/cases/{case.id}/plan").text
    assert "The plan is being worked out." in text
    assert "part 0, part 1" in text  # what is known already
    part = re.search(r'data-part="([^"]*)"', text)
    assert part is not None
    fetched = client.get(part[1].replace("&amp;", "&")).text
    assert "Order of work</h2>" in fetched
    assert "<html" not in fetched
    shelved = client.get(f"/cases/{case.id}/plan?wait=true").text
    assert "Order of work</h2>" in shelved


def test_amounts_name_their_basis_and_limits_their_claims(client: TestClient, keep: Keep) -> None:
    text = client.get(f"/cases/{keep(many_parts()).id}/plan?undecided=true&wait=true").text
    materials = text.partition('id="materials"')[2].partition("</section>")[0]
    assert "(40 cm2 recorded; common practice)" in materials
    limits = text.partition('id="limits"')[2].partition("</section>")[0]
    rows = re.findall(r"<tr><th scope=\"row\">.*?</tr>", limits, re.S)
    assert len(rows) >= 4
    assert all("/concepts/claim:" in row for row in rows)


def test_what_is_left_undone_says_why(client: TestClient, keep: Keep, adviser: Adviser) -> None:
    plan = make_plan(read_demo("guild-banner", adviser.knowledge), adviser, undecided=False)
    text = client.get(f"/cases/{keep('guild-banner').id}/plan?wait=true&undecided=false").text
    assert plan.left_undone
    assert text.count("Left undone, and why") == 1
    for one in plan.left_undone:
        assert one.because in text.replace("&#39;", "'")


def test_the_board_parts_what_can_begin_from_what_waits(
    client: TestClient, keep: Keep, adviser: Adviser
) -> None:
    plan = make_plan(read_demo("festival-dancer", adviser.knowledge), adviser)
    text = client.get(f"/cases/{keep().id}/plan?wait=true").text
    now, later = (
        {int(n) for n in re.findall(r' id="step-(\d+)"', column)}
        for column in text.partition('id="now"')[2].split('id="later"')
    )
    waiting = {step.number for step in plan.steps if step.verdict == "undecided"}
    assert waiting <= later
    assert now
    assert later
    assert not now & later
    for step in plan.steps:
        before = {one.step for one in step.after}
        assert step.number in later or before <= now, step.label
    assert "Not yet: the aim is met only if what waits comes out well." in text


def test_the_plan_of_the_dancer_is_read_in_four_screens(page: Any, keep: Keep) -> None:
    page.set_viewport_size({"width": 1024, "height": 768})
    page.goto(f"/cases/{keep().id}/plan?wait=true")
    assert page.evaluate("document.documentElement.scrollHeight") <= 4 * 768
    assert page.locator(".folds details[open]").count() == 0


def test_a_plan_that_is_impossible_says_so(
    client: TestClient, keep: Keep, adviser: Adviser
) -> None:
    body = read_demo("festival-dancer", adviser.knowledge).model_dump(mode="json")
    body["means"]["hours"] = 0
    text = client.get(f"/cases/{keep(body).id}/plan?wait=true").text
    assert "No plan.</strong>" in text
    assert "0.0 h are at hand" in text or "0 h are at hand" in text


def steps_of(adviser: Adviser, many: int) -> list[Step]:
    """Return a long order: the steps of a real plan over and over, each after earlier ones."""
    plan = make_plan(case_from_data(many_parts(), adviser.knowledge), adviser, undecided=True)
    return [
        replace(
            plan.steps[i % len(plan.steps)],
            number=i + 1,
            shares_set_up_with=1 if i % 4 == 3 else 0,
            after=[
                OrderReason(j + 1, "it has to", "it is dry" if j % 2 else "", [], "x")
                for j in {i // 2, i - 1}
                if 0 <= j < i and i % 3 == 0
            ],
        )
        for i in range(many)
    ]


def test_thirty_steps_are_drawn_in_charts_that_fit_a_page(adviser: Adviser) -> None:
    steps = steps_of(adviser, 30)
    charts = [
        ElementTree.fromstring(chart)  # noqa: S314 - our own
        for chart in order_charts(steps)
    ]
    assert len(charts) == -(-30 // ROWS_MOST)
    said = " ".join(chart.findtext(f"{SVG}desc") or "" for chart in charts)
    drawn = [text.text for chart in charts for text in chart.iter(f"{SVG}text")]
    for step in steps:
        assert f"Step {step.number}, {step.label}:" in said
        assert str(step.number) in drawn
    assert all(float(chart.get("height", "0")) <= 900 for chart in charts)


def test_a_bar_runs_from_least_to_most_hours_after_the_longest_before(adviser: Adviser) -> None:
    steps = steps_of(adviser, 6)
    chart = ElementTree.fromstring(order_charts(steps)[0])  # noqa: S314 - our own
    full = [
        (float(r.get("x", "0")), float(r.get("width", "0")))
        for r in chart.iter(f"{SVG}rect")
        if r.get("fill") == "none" and r.get("height") == "18"
    ]
    assert len(full) == 6
    scale = full[0][1] / steps[0].hours[1]
    start = full[0][0]
    for (x, width), step in zip(full, steps, strict=True):
        assert x == pytest.approx(start, abs=0.1)
        assert width == pytest.approx(step.hours[1] * scale, abs=0.1)
        start += width


@pytest.mark.usefixtures("hurried")
def test_the_plan_arrives_by_script_and_has_no_fault(page: Any, keep: Keep) -> None:
    page.goto(f"/cases/{keep('guild-banner').id}/plan?undecided=true")
    page.locator("#order").wait_for()
    assert page.locator("[aria-busy=true]").count() == 0
    for width in (1440, 1024, 768, 390, 320):
        page.set_viewport_size({"width": width, "height": 900})
        assert overflow(page) == []
    assert axe_faults(page) == []
