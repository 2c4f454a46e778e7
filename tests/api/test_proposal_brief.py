"""The proposal is two pages and an annex, and every door says the same of each damage."""

from __future__ import annotations

import io
import re
from collections.abc import Callable

import pytest
from docx import Document

from bench.judging import entries
from leastwise.api.documents.proposal_html import proposal_html
from leastwise.graph import Adviser, Case
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.planning.bench_sheet import bench_sheet
from leastwise.graph.planning.make import make_plan
from leastwise.graph.planning.values import Step
from leastwise.graph.proposal.report.values import lines_of
from leastwise.graph.sentences import hours_in_words
from tests.api.test_proposal_documents import Proposal, proposal, squeezed
from tests.conftest import DEMOS
from tests.pdf_text import texts_of

Demo = Callable[[str], Case]


@pytest.fixture(scope="module", params=DEMOS)
def made(request: pytest.FixtureRequest, adviser: Adviser, demo: Demo) -> tuple[Case, Proposal]:
    case = demo(request.param)
    return case, proposal(case, adviser, {})


def pages(written: Proposal) -> list[str]:
    return texts_of(written.written("pdf"))


def test_the_proposal_is_two_pages_and_the_annex_begins_on_the_third(
    made: tuple[Case, Proposal],
) -> None:
    first, second, third, *_ = pages(made[1])

    assert "What is done, in this order" in first
    assert re.search(r"(Yes: it can|Not yet|No, not wholly)", first)
    assert "What it takes" in second
    assert "Approval" in second
    assert "Annex" in third
    assert third.index("Annex") < third.index("People first")
    assert all("Annex" not in page.splitlines() for page in (first, second))


@pytest.mark.parametrize("entry", ["P-140", "P-046"])
def test_two_pages_are_enough_for_the_fullest_of_the_published_cases(
    entry: str, adviser: Adviser
) -> None:
    written = next(e for e in entries() if e["id"] == entry)
    case = case_from_data(written["case"], adviser.knowledge)

    _, second, third, *_ = pages(proposal(case, adviser, {}))

    assert "Annex" in third.splitlines()
    assert "Approval" in second


def test_method_stands_before_the_options_and_refused_ones_take_a_line_each(
    made: tuple[Case, Proposal], adviser: Adviser
) -> None:
    case, written = made
    sections = {s.key: i for i, s in enumerate(written.report.sections)}
    refused = [o for o in adviser.weigh(case).options() if o.verdict == "defeated"]
    options = next(s for s in written.report.sections if s.key == "options")
    lines = [
        item.text
        for passage in options.passages
        for block in passage.blocks
        if block.kind == "bullets"
        for item in block.items
    ]

    assert sections["method"] < sections["options"]
    assert len([x for x in lines if ":" in x]) >= len(refused) > 0


def test_plan_sheet_page_pdf_and_word_say_the_same_of_each_damage(
    made: tuple[Case, Proposal], adviser: Adviser
) -> None:
    case, written = made
    answer = adviser.weigh(case)
    plan = make_plan(case, adviser, answer=answer)
    pdf = squeezed(" ".join(pages(written)))
    word = Document(io.BytesIO(written.written("docx")))
    cells = [c.text for t in word.tables for row in t.rows for c in row.cells]
    docx = squeezed(" ".join([*(p.text for p in word.paragraphs), *cells]))
    page = squeezed(re.sub(r"<[^>]+>|&#\d+;", "", proposal_html(written.report, written.figures)))
    brief = [line.text for part in written.report.brief for b in part for line in lines_of(b)]

    assert plan.steps
    assert plan.hours_of_projects is not None
    assert f"{plan.hours_of_projects.in_words}." in brief
    for step in plan.steps:
        (told,) = [x for x in brief if x.startswith(told_start(step))]
        span = squeezed(hours_in_words(step.hours[0], step.hours[1]))
        assert span in squeezed(told)
        for door in (pdf, docx, page):
            assert squeezed(step.label) in door or squeezed(upper(step.label)) in door
            assert span in door
        sheet = bench_sheet(adviser, case, answer, step.options[0])
        assert sheet.label == step.label
        shown = {(row.what, row.value) for row in sheet.times}
        assert {(t.what, t.value) for t in step.times} <= shown
        assert step.hours_basis == "" or any(
            o.hours_basis in row.basis
            for o in answer.options()
            if o.id == step.options[0]
            for row in sheet.times
        )


def test_every_line_of_the_two_pages_stands_in_every_form(made: tuple[Case, Proposal]) -> None:
    _, written = made
    pdf = squeezed(" ".join(pages(written)))
    word = Document(io.BytesIO(written.written("docx")))
    docx = squeezed(" ".join(p.text for p in word.paragraphs))

    for part in written.report.brief:
        for block in part:
            for line in lines_of(block):
                assert squeezed(line.text) in pdf
                assert squeezed(line.text) in docx


def upper(text: str) -> str:
    return text[:1].upper() + text[1:]


def told_start(step: Step) -> str:
    tried = "".join(f"try {one.label} first, and for what stays " for one in step.tried_first)
    acts = "".join(f"{act.in_words}, then " for act in step.acts)
    return upper(tried + acts + step.label)
