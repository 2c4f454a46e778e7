"""Bench sheets: complete, honest about their figures, and one page each."""

from __future__ import annotations

import io
import re
from collections.abc import Callable
from typing import Any

import pytest
from fastapi.testclient import TestClient
from pypdf import PdfReader

from leastwise.api.drawings.layers import layers_drawing
from leastwise.api.store import Document
from leastwise.graph import Adviser
from leastwise.graph.case.demo import read_demo
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.ids import OptionId
from leastwise.graph.planning.bench_layers import layers_of_pack, layers_of_set_up
from leastwise.graph.planning.bench_sheet import bench_sheet
from leastwise.graph.planning.clock import TIMED
from leastwise.graph.planning.make import make_plan
from leastwise.graph.sentences import hours_in_words
from leastwise.graph.setups.stack_file import read_stack
from tests.browser import axe_faults
from tests.graph.display import garments
from tests.pages.work_cases import PACKED, packed_dancer
from tests.pdf_text import texts_of

Keep = Callable[..., Document]


def sheets(text: str) -> list[str]:
    return re.findall(r'<article class="bench-sheet (?!worked).*?</article>', text, re.S)


def test_a_sheet_holds_order_stop_signs_people_and_lines_to_fill_in(
    client: TestClient, keep: Keep
) -> None:
    text = client.get(f"/cases/{keep().id}/bench?option={PACKED}&wait=true").text
    (sheet,) = sheets(text)
    for heading in (
        "People first", "Before: tests and stops", "Do, in this order", "Layers",
        "Times and amounts", "Look, and at what", "Stop at once", "Take care",
    ):  # fmt: skip
        assert f"<h3>{heading}</h3>" in text  # layers and figures may stand on the page behind
    assert sheet.index("People first") < sheet.index("Do, in this order")
    for line in ("Done by", "Seen by", '<table class="readings">', "RH, %", "knowledge "):
        assert line in sheet
    assert "UNDECIDED" in sheet


def test_without_a_choice_there_is_one_sheet_for_each_step_of_the_plan(
    client: TestClient, keep: Keep
) -> None:
    case = keep()
    plan = client.get(f"/cases/{case.id}/plan?wait=true").text
    text = client.get(f"/cases/{case.id}/bench?wait=true").text
    assert len(sheets(text)) == plan.count(' id="step-') > 0


def test_a_defeated_option_has_no_sheet_to_work_from(client: TestClient, keep: Keep) -> None:
    text = client.get(f"/cases/{keep().id}/bench?option=crushed-tiers/steam&wait=true").text
    assert sheets(text) == []
    assert "steam: defeated as the case stands." in text


def test_times_without_a_pack_are_the_hours_of_the_technique_and_say_so(
    adviser: Adviser,
) -> None:
    sized = read_demo("festival-dancer", adviser.knowledge)
    unsized = [part.model_copy(update={"size": type(part.size)()}) for part in sized.parts]
    case = sized.model_copy(update={"parts": unsized})
    sheet = bench_sheet(adviser, case, adviser.weigh(case), PACKED)
    assert not sheet.computed
    pack = next(o for o in adviser.weigh(case).options() if o.id == PACKED)
    low, high = (3 * end for end in adviser.catalogue.techniques[pack.technique].hours)
    low += sum(act.hours[0] for act in pack.acts)
    high += sum(act.hours[1] for act in pack.acts)
    many = len(pack.acts)
    how = f"practice; {pack.hours_basis}; {many} act{'s' * (many > 1)} before"
    assert many
    assert pack.hours_basis.startswith("size not recorded")
    look, work = ((row.what, row.value, row.basis) for row in sheet.times)
    assert work == ("Work in all", f"{hours_in_words(low, high)} h", how)
    assert look[:2] == ("Look again", "5 min to 15 min")
    assert look[2].startswith("practice. At each station")
    assert all(any(act.in_words in step for step in sheet.steps) for act in pack.acts)


def test_times_of_a_planned_pack_are_computed_with_their_interval(adviser: Adviser) -> None:
    case = case_from_data(packed_dancer(adviser), adviser.knowledge)
    sheet = bench_sheet(adviser, case, adviser.weigh(case), PACKED)
    assert sheet.computed
    rows = {row.what: row for row in sheet.times}
    assert rows["Target reached"].basis == "computed"
    assert re.fullmatch(r"after \d+ (s|min) to .+", rows["Target reached"].value)
    assert {"First look", "Stop at the latest", "Work in all"} <= rows.keys()
    plan = make_plan(case, adviser)
    planned = [step for step in plan.steps if PACKED in step.options]
    told = {(t.what, t.value) for step in planned for t in step.times}
    assert told == {(row.what, row.value) for row in sheet.times if row.what != "Work in all"}
    assert not any(TIMED.search(step.monitoring) for step in planned)
    assert [one.name for one in sheet.layers.layers if one.treated] == ["silk"]  # type: ignore[union-attr]
    assert any(row.what == "Weight while drying" for row in sheet.amounts)
    assert "an edge line forming, or a tide line" in sheet.stops[-1]


def test_what_settles_an_undecided_option_stands_before_the_work(adviser: Adviser) -> None:
    case = read_demo("festival-dancer", adviser.knowledge)
    answer = adviser.weigh(case)
    option = next(o for o in answer.options() if o.id == PACKED)
    sheet = bench_sheet(adviser, case, answer, PACKED)
    said = {label for check in sheet.checks for label in (check.what, *check.or_else)}
    wanted = {m.label for f in option.findings if f.effect == "leavesUndecided" for m in f.mends}
    assert said == wanted


def test_layers_come_from_the_words_of_the_set_up(adviser: Adviser) -> None:
    technique = adviser.catalogue.techniques["technique:membrane-pack-flat"]
    layers = layers_of_set_up(technique, ["sleeve"])
    assert layers is not None
    assert [one.role for one in layers.layers] == [
        "support", "barrier", "blotter", "tissue", "textile", "tissue", "membrane", "source",
        "barrier", "weight",
    ]  # fmt: skip
    assert all(one.name in technique.set_up for one in layers.layers)
    assert [one.note for one in layers.layers if one.treated] == ["sleeve"]


def test_every_layer_that_is_drawn_is_in_the_words_of_its_technique(adviser: Adviser) -> None:
    """What isn't said as one sentence keeps to the nouns of the set-up, so nothing is invented."""
    drawn = 0
    for technique in adviser.catalogue.techniques.values():
        layers = layers_of_set_up(technique, [])
        if layers is None:
            continue
        drawn += 1
        known = f"{technique.set_up} {technique.equipment} cloth textile object".lower()
        for one in layers.layers:
            nouns = re.findall(r"[a-z]{5,}", one.name.lower())
            assert any(noun in known for noun in nouns) or one.name in known, (technique.id, one)
    assert drawn >= 30


def test_a_drawing_names_its_layers_in_words_and_escapes_them(adviser: Adviser) -> None:
    stack = read_stack("demo:wool-collar-screened")
    named = stack.layers[0].model_copy(update={"name": "<b>board</b>"})
    stack = stack.model_copy(update={"layers": [named, *stack.layers[1:]]})
    drawing = layers_drawing(layers_of_pack(stack))
    assert "<b>" not in drawing
    assert "&lt;b&gt;board" in drawing
    assert "braided facing (keep dry)" in drawing


def test_an_unknown_option_is_a_page_that_says_so(client: TestClient, keep: Keep) -> None:
    answer = client.get(f"/cases/{keep().id}/bench?option=a/<i>")
    assert answer.status_code == 404
    assert "<i>" not in answer.text


@pytest.mark.parametrize("case", ["festival-dancer", "furnishing-panel", "guild-banner"])
def test_every_sheet_is_one_page_of_a4_and_of_letter(
    page: Any, keep: Keep, adviser: Adviser, case: str
) -> None:
    """The ten fullest sheets of each case; the emptier ones leave room by their size.

    One sheet a technique: what it does for several problems stands on one.
    """
    record = read_demo(case, adviser.knowledge)
    answer = adviser.weigh(record)
    drawn = [
        bench_sheet(adviser, record, answer, o.id)
        for o in answer.options()
        if o.verdict != "defeated"
    ]
    fullest = {OptionId(one.option).technique: one.option
               for one in sorted(drawn, key=lambda one: len(repr(one)))}  # fmt: skip
    wanted = list(fullest.values())[-10:]
    query = "&".join(f"option={one}" for one in wanted)
    page.goto(f"/cases/{keep(case).id}/bench?wait=true&{query}")
    assert page.locator(".bench-sheet:not(.worked)").count() == len(wanted)
    for size in ("A4", "Letter"):
        printed = PdfReader(io.BytesIO(page.pdf(format=size)))
        # a mount has a page of its own for its sizes and loads besides
        assert len(printed.pages) == page.locator(".bench-sheet").count(), size
        leaves = [" ".join(leaf.split()) for leaf in texts_of(printed)]
        own = [text for text in leaves if "Do, in this order" in text]
        assert len(own) == len(wanted)
        for text in own:
            assert text.count("Do, in this order") == 1
            assert "licensed practice decide" in text


#: Points of the smallest letters of the sheets as they are set on a page 188 mm wide; a word in
#: a drawing is as large as the drawing makes it.
SMALLEST = """() => {
  const sizes = [];
  for (const one of document.querySelectorAll(".bench-sheet *")) {
    const own = [...one.childNodes].some(n => n.nodeType === 3 && n.textContent.trim());
    if (!own || !one.getClientRects().length || one.closest(".sr")) continue;
    const scale = one.getScreenCTM ? one.getScreenCTM().a : 1;
    sizes.push([parseFloat(getComputedStyle(one).fontSize) * scale * 0.75, one.textContent]);
  }
  return sizes.sort((a, b) => a[0] - b[0])[0];
}"""


def test_the_sheet_of_a_planned_pack_has_its_pages_and_no_fault(
    page: Any, keep: Keep, adviser: Adviser
) -> None:
    """What is done stands on one page; layers, times and amounts go behind it, or on it."""
    page.goto(f"/cases/{keep(packed_dancer(adviser)).id}/bench?option={PACKED}")
    page.locator(".bench-sheet").first.wait_for()
    assert axe_faults(page) == []
    sheets = page.locator(".bench-sheet").count()
    assert sheets in (1, 2)
    for size in ("A4", "Letter"):
        leaves = texts_of(PdfReader(io.BytesIO(page.pdf(format=size))))
        assert len(leaves) == sheets, size
        assert sum("Do, in this order" in text for text in leaves) == 1
        assert sum("Stop at the latest" in text for text in leaves) == 1


@pytest.mark.parametrize("what", ["pack", "mount"])
def test_no_letter_of_a_printed_sheet_is_smaller_than_nine_points(
    page: Any, keep: Keep, adviser: Adviser, what: str
) -> None:
    body, option = packed_dancer(adviser), PACKED
    if what == "mount":
        body = garments.five(adviser.knowledge)["corded"].model_dump(mode="json")
        option = "need-carried-on-figure/padded-figure"
    page.set_viewport_size({"width": 711, "height": 1000})
    page.emulate_media(media="print")
    page.goto(f"/cases/{keep(body).id}/bench?wait=true&option={option}")
    page.locator(".bench-sheet").first.wait_for()
    points, text = page.evaluate(SMALLEST)
    page.emulate_media(media="screen")
    assert points >= 8.95, text


def test_a_mount_whose_girths_are_recorded_has_pages_of_its_own(
    page: Any, keep: Keep, adviser: Adviser
) -> None:
    case = garments.five(adviser.knowledge)["corded"]
    figure = next(
        o.id for o in adviser.weigh(case).options() if o.technique == "technique:padded-figure"
    )
    body = case.model_dump(mode="json")
    page.goto(f"/cases/{keep(body).id}/bench?wait=true&option={figure}")
    worked = page.locator(".bench-sheet.worked")

    assert worked.locator("svg").count() == 1
    assert "too much" in worked.last.inner_text()
    assert axe_faults(page) == []
    for size in ("A4", "Letter"):
        printed = PdfReader(io.BytesIO(page.pdf(format=size)))
        assert len(printed.pages) == 3, size  # to do; drawn to scale; sizes and loads
        assert "drawn to scale" in texts_of(printed)[1]
        assert "sizes and loads" in texts_of(printed)[2]
