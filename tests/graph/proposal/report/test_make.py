"""The content of a written proposal: what is in it, whose word it is, and what can't be hidden."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.case.demo import read_demo
from leastwise.graph.errors import CaseError
from leastwise.graph.proposal.report.choice import Work
from leastwise.graph.proposal.report.make import (
    MAY_REPLACE,
    TITLES,
    make_report,
    make_work,
    open_points,
)
from leastwise.graph.proposal.report.values import (
    Bullets,
    Edition,
    Figure,
    Heading,
    Notice,
    Para,
    Report,
    Table,
    lines_of,
)
from leastwise.graph.proposal.report.words import OwnWords, blocks_of, cleaned, merged
from leastwise.graph.weighing.said_once import said_once

pytestmark = pytest.mark.slow  # seconds of work in nearly every test

Demo = Callable[[str], Case]
EDITION = Edition("2026-11-20", "", 3, 2)
BATH = "crushed-tiers/immersion-washing"
HINDERS = r"(?:hinders?|barely hinders?|noticeably hinders?|seriously hinders?|rules? out)"


def work_of(case: Case, adviser: Adviser, **texts: str) -> Work:
    return make_work(
        case, adviser, OwnWords.of({k.replace("__", ":"): v for k, v in texts.items()})
    )


def report_of(work: Work) -> Report:
    return make_report(work, EDITION)


def said(report: Report, section: str, by: str = "") -> str:
    """Return all that a section says, or one voice of it."""
    found = next(s for s in report.sections if s.key == section)
    blocks = [b for p in found.passages if by in ("", p.by) for b in p.blocks]
    return "\n".join(line.text for b in blocks for line in lines_of(b))


def washing(case: Case, adviser: Adviser, reason: str = "") -> Report:
    words = {"choice:crushed-tiers": BATH, "reason:crushed-tiers": reason}
    return report_of(make_work(case, adviser, OwnWords.of(words)))


def test_every_section_is_there_in_order_but_drawings_that_nobody_made(
    demo: Demo, adviser: Adviser
) -> None:
    report = report_of(work_of(demo("festival-dancer"), adviser))

    assert [s.key for s in report.sections] == [key for key in TITLES if key != "reasons"]


def test_the_plans_choice_is_proposed_with_its_reason_and_claims(
    demo: Demo, adviser: Adviser
) -> None:
    work = work_of(demo("festival-dancer"), adviser)
    chosen = {c.damage: c for c in report_of(work).chosen}

    assert {d: c.option for d, c in chosen.items()} == work.planned
    assert "meets the aim" in chosen["loose-sequins"].because.text
    assert chosen["loose-sequins"].because.claims
    assert not any(c.is_own_choice for c in chosen.values())


@pytest.mark.parametrize("name", ["festival-dancer", "furnishing-panel", "guild-banner"])
def test_every_option_of_every_damage_has_a_sentence_why_it_is_proposed_or_not(
    name: str, demo: Demo, adviser: Adviser
) -> None:
    work = work_of(demo(name), adviser)
    section = next(s for s in report_of(work).sections if s.key == "options")
    tables = [b for p in section.passages for b in p.blocks if isinstance(b, Table)]

    refused = [
        lines.items
        for p in section.passages
        for heading, lines in pairwise(p.blocks)
        if isinstance(heading, Heading) and isinstance(lines, Bullets)
        if heading.text.startswith("Refused for")
    ]

    assert len(tables) == len(work.answer.damages)
    for table, damage in zip(tables, work.answer.damages, strict=True):
        out = [o for o in damage.options if o.verdict == "defeated"]
        lines = refused.pop(0) if out else ()
        assert [line.text.partition(":")[0].lower() for line in lines] == [
            o.label.lower().partition(":")[0] for o in out
        ]
        assert len(table.rows) + len(lines) == len(damage.options)
        assert all(row[-1].text.endswith(".") for row in table.rows)
        baseline = next(o.label for o in damage.options if o.is_baseline)
        assert any(baseline in row[0].text for row in table.rows)
        assert len(table.marked) == 1
        assert table.rows[table.marked[0]][0].text.startswith("Proposed: ")


def test_why_an_option_was_passed_over_names_the_ground_of_its_verdict(
    demo: Demo, adviser: Adviser
) -> None:
    work = work_of(demo("festival-dancer"), adviser)
    options = {o.id: o for o in work.answer.options()}
    chosen = work.options["crushed-tiers"]

    bath = work.passed_over(options[BATH], chosen)
    assert "Liquid water would destroy" in bath.text
    assert "claim:M-194" in bath.claims
    pack = work.passed_over(options["crushed-tiers/membrane-pack-suspended"], chosen)
    assert "It would be settled by" in pack.text
    alone = work.passed_over(options["crushed-tiers/leave-and-monitor"], chosen)
    assert re.match(f"Untreated, the damage {HINDERS} display", alone.text)
    heavier = [
        (o, instead)
        for d in work.answer.damages
        if (instead := work.options[d.id]) is not None
        for o in d.options
        if o.verdict == "accepted" and o.burden > instead.burden and o.residual <= instead.residual
    ]
    assert heavier
    assert all("burdens the object more" in work.passed_over(*one).text for one in heavier)


def test_a_defeated_choice_is_marked_with_its_rule_wherever_it_is_proposed(
    demo: Demo, adviser: Adviser
) -> None:
    report = washing(demo("festival-dancer"), adviser)

    for section in ("options", "method", "approvals"):
        assert "is defeated by a rule (rule:known-harm)" in said(report, section)
    assert any(n.about == "defeated" for n in open_points(report))
    assert "Forbidden by a rule (rule:known-harm)" in said(report, "risks")
    assert "specialist" in said(report, "competence")


def test_own_words_cannot_take_a_defeated_choice_out_of_sight(demo: Demo, adviser: Adviser) -> None:
    hidden = {f"instead:{key}": "yes" for key in TITLES if key != "reasons"}
    own = {key: "Mine." for key in TITLES if key != "reasons"}
    words = OwnWords.of({"choice:crushed-tiers": BATH, **own, **hidden})
    report = report_of(make_work(demo("festival-dancer"), adviser, words))

    for section in ("options", "method", "approvals"):
        assert "is defeated by a rule" in said(report, section)
    assert {s.key for s in report.sections if s.replaced} == set(MAY_REPLACE)


def test_a_choice_against_the_rules_asks_for_a_reason_until_one_is_given(
    demo: Demo, adviser: Adviser
) -> None:
    case = demo("festival-dancer")
    without, with_one = washing(case, adviser), washing(case, adviser, "It was washed before.")
    state = {e.key: e.state for e in without.elements if e.key.startswith("reason:")} | {
        "given": next(e.state for e in with_one.elements if e.key == "reason:crushed-tiers")
    }

    assert state == {"reason:crushed-tiers": "missing", "given": "own"}
    assert "The reason for choosing washing in a bath for crease is still missing" in said(
        without, "options"
    )
    assert "It was washed before." in said(with_one, "options", "own")
    assert "is defeated by a rule" in said(with_one, "options")


def test_a_choice_that_the_record_no_longer_offers_gives_way_and_is_told(
    demo: Demo, adviser: Adviser
) -> None:
    words = OwnWords({"choice:crushed-tiers": "crushed-tiers/no-such-thing"})
    work = make_work(demo("festival-dancer"), adviser, words)

    assert work.options["crushed-tiers"].id == work.planned["crushed-tiers"]  # type: ignore[union-attr]
    assert "no-such-thing, chosen earlier, is no longer" in said(report_of(work), "options")
    with pytest.raises(CaseError, match=r"words\.choice:crushed-tiers"):
        work.check()


def test_steps_and_hours_follow_the_choice(demo: Demo, adviser: Adviser) -> None:
    case = demo("festival-dancer")
    planned = work_of(case, adviser)
    other = make_work(case, adviser, OwnWords({"choice:crushed-tiers": BATH}))

    assert [s.label for s in planned.steps] == [s.label for s in planned.plan.steps]
    assert planned.hours == tuple(planned.plan.hours)
    assert "washing in a bath" in [s.label for s in other.steps]
    low, high = other.hours
    watched = [o for one, o in other.options.items() if o and o.is_baseline and "need" not in one]
    assert round(sum(one.hours[0] for one in (*other.steps, *watched)), 2) == low
    assert round(sum(one.hours[1] for one in (*other.steps, *watched)), 2) == high


def test_the_same_choice_made_by_hand_gives_the_steps_of_the_plan(
    demo: Demo, adviser: Adviser
) -> None:
    case = demo("guild-banner")
    planned = work_of(case, adviser)
    by_hand = planned._steps()

    assert [(s.technique, s.hours) for s in by_hand] == [
        (s.technique, s.hours)
        for s in planned.plan.steps
        if s.options[0] in planned.choices.options
    ][: len(by_hand)]


def test_what_is_missing_stands_in_the_elements_and_in_its_section(
    make_case: Callable[..., Case], adviser: Adviser
) -> None:
    report = report_of(work_of(make_case(), adviser))
    missing = {e.key for e in report.missing}

    assert report.is_draft
    assert {
        "purpose", "recorder", "date", "identification", "past_treatment", "keeper", "made",
        "maker", "size", "marks", "methods", "images_before", "cost", "approval",
    } <= missing  # fmt: skip
    assert "Not recorded; look for evidence" in said(report, "past_treatment")
    assert "Still missing" in said(report, "methods")


def test_own_words_fill_what_only_they_can_fill(demo: Demo, adviser: Adviser) -> None:
    work = work_of(
        demo("furnishing-panel"), adviser, maker="Not known.", size="210 x 96 cm", marks="None.",
        methods="By eye, raking light.", images="Negatives 12 to 18.", contractual="no",
    )  # fmt: skip
    report = report_of(work)

    assert {e.key for e in report.missing} == {"approval"}
    assert not report.is_draft
    assert next(e.state for e in report.elements if e.key == "cost") == "not due"
    assert "By eye, raking light." in said(report, "methods", "own")


def test_a_contract_makes_the_cost_due(demo: Demo, adviser: Adviser) -> None:
    due = report_of(work_of(demo("furnishing-panel"), adviser, contractual="yes"))
    told = report_of(work_of(demo("furnishing-panel"), adviser, contractual="yes", cost="900."))

    assert "cost" in {e.key for e in due.missing}
    assert "cost" not in {e.key for e in told.missing}


def test_compensation_is_due_where_a_loss_is_filled(demo: Demo, adviser: Adviser) -> None:
    case = demo("guild-banner")
    fill = next(o.id for o in adviser.weigh(case).options() if o.technique in
                ("technique:dyed-fill", "technique:lining-replacement"))  # fmt: skip
    words = OwnWords({f"choice:{fill.partition('/')[0]}": fill})
    states = [
        next(e.state for e in report_of(make_work(case, adviser, w)).elements
             if e.key == "compensation")
        for w in (OwnWords(), words)
    ]  # fmt: skip

    assert states == ["not due", "missing"]


def test_every_voice_is_kept_apart(demo: Demo, adviser: Adviser) -> None:
    report = report_of(
        work_of(demo("festival-dancer"), adviser, significance="It is still danced in.")
    )
    section = next(s for s in report.sections if s.key == "significance")

    assert [p.by for p in section.passages] == ["own", "record"]
    assert said(report, "observation", "derived") == ""
    assert "gelatin sequins" in said(report, "observation", "record")
    assert re.search(f"{HINDERS} display", said(report, "interpretation", "derived"))


def test_own_words_may_stand_instead_of_what_was_derived_and_the_editor_keeps_both(
    demo: Demo, adviser: Adviser
) -> None:
    words = {"benefits": "It can be shown.", "instead:benefits": "yes"}
    report = report_of(make_work(demo("festival-dancer"), adviser, OwnWords.of(words)))
    section = next(s for s in report.sections if s.key == "benefits")

    assert section.replaced
    assert "The derived text was left out" in said(report, "benefits", "derived")
    assert not re.search(f"{HINDERS} display", said(report, "benefits"))
    assert any(re.search(HINDERS, line.text) for p in section.derived for b in p.blocks
               for line in lines_of(b))  # fmt: skip


def test_claims_are_numbered_as_they_are_first_cited_and_none_is_left_out(
    demo: Demo, adviser: Adviser
) -> None:
    report = report_of(work_of(demo("guild-banner"), adviser))
    cited = list(dict.fromkeys(c for line in report.lines() for c in line.claims))

    assert [r.claim for r in report.references] == cited
    assert [r.number for r in report.references] == list(range(1, len(cited) + 1))
    assert all(r.view.statement and r.view.basis for r in report.references)
    sources = {number for number, _, _ in report.sources}
    assert {r.source for r in report.references} - {0} == sources


def test_the_edition_is_stamped_with_the_digests_of_case_and_knowledge(
    demo: Demo, adviser: Adviser
) -> None:
    edition = report_of(work_of(demo("guild-banner"), adviser)).edition

    assert edition.version == "3.2"
    assert edition.knowledge == adviser.knowledge.digest
    assert len(edition.case_digest) == 64


def test_the_same_case_words_and_edition_give_the_same_report(demo: Demo, adviser: Adviser) -> None:
    one, other = (report_of(work_of(demo("guild-banner"), adviser)) for _ in range(2))

    assert one == other


def test_a_case_without_damage_makes_a_proposal_that_says_so(
    make_case: Callable[..., Case], adviser: Adviser
) -> None:
    aim = {"purpose": "unknown", "mounting": "unknown", "travels": "no"}
    report = report_of(work_of(make_case(damages=[], aim=aim), adviser))

    assert "nothing has to be decided" in said(report, "options")
    assert "No damage is recorded." in said(report, "condition")
    assert next(e.state for e in report.elements if e.key == "options_considered") == "not due"


def test_figures_stand_in_their_section(demo: Demo, adviser: Adviser) -> None:
    figure = Figure("photograph-1", "Photograph 1", "a photograph")
    work = work_of(demo("festival-dancer"), adviser)
    report = make_report(work, EDITION, figures={"images": [figure]}, pictures_before=1)
    section = next(s for s in report.sections if s.key == "images")

    assert figure in section.passages[0].blocks
    assert "images_before" not in {e.key for e in report.missing}


# -- own words


def test_plain_text_makes_paragraphs_lists_and_line_breaks_and_nothing_else() -> None:
    text = (
        "First line\nsecond line\n\n- one\n- two\n  goes on\nAfter\n\n# no heading\n*not bold*\n-"
    )

    blocks = blocks_of(text)
    assert [b.kind for b in blocks] == ["para", "bullets", "para", "para"]
    assert isinstance(blocks[0], Para)
    assert blocks[0].line.text == "First line\nsecond line"
    assert isinstance(blocks[1], Bullets)
    assert [x.text for x in blocks[1].items] == ["one", "two goes on"]
    assert isinstance(blocks[3], Para)
    assert blocks[3].line.text == "# no heading\n*not bold*\n-"


@pytest.mark.parametrize("bad", ["\x00", "\x1b", "\x85", "\ud800", "\ufffe", "\u202e", "\u2066"])
def test_what_has_no_shape_is_shown_as_a_mark(bad: str) -> None:
    assert cleaned(f"a{bad}b") == "a\N{REPLACEMENT CHARACTER}b"


def test_words_that_are_wrong_are_all_named() -> None:
    with pytest.raises(CaseError) as error:
        OwnWords.of({"nonsense": "x", "time": 3, "contractual": "perhaps", "risks": "x" * 20_001})

    places = [p.path for p in error.value.problems]
    assert places == ["words.nonsense", "words.time", "words.contractual", "words.risks"]
    with pytest.raises(CaseError, match="a mapping"):
        OwnWords.of(["time"])


def test_stored_words_that_hold_anything_are_read_as_far_as_they_are_text() -> None:
    assert OwnWords.stored({"time": 3, "risks": "a\x00"}).texts == {
        "risks": "a\N{REPLACEMENT CHARACTER}"
    }


def test_two_versions_are_put_together_and_only_a_true_clash_is_one() -> None:
    base = {"risks": "a", "time": "b", "cost": "c"}
    theirs = {"risks": "a", "time": "theirs", "cost": "same"}
    mine = {"risks": "mine", "time": "b", "cost": "same"}

    assert merged(base, theirs, mine) == (
        {"risks": "mine", "time": "theirs", "cost": "same"}, []
    )  # fmt: skip
    assert merged(base, {**theirs, "risks": "x"}, mine)[1] == ["risks"]
    assert merged(base, {"risks": "a"}, base)[0] == {"risks": "a"}


def test_hostile_names_of_the_record_are_cleaned(
    make_case: Callable[..., Case], adviser: Adviser
) -> None:
    case = make_case(title="a\x07b", object={"name": "c\x00d"})
    report = report_of(work_of(case, adviser))

    text = "\n".join([report.title, report.object, *(x.text for x in report.lines())])
    assert "\x07" not in text
    assert "\x00" not in text
    assert "a\N{REPLACEMENT CHARACTER}b" in text
    assert not [b for b in open_points(report) if not isinstance(b, Notice)]


def test_no_key_of_the_record_stands_in_the_text_of_a_proposal(adviser: Adviser) -> None:
    case = read_demo("festival-dancer", adviser.knowledge)
    report = make_report(make_work(case, adviser, OwnWords({})), EDITION)
    text = "\n".join(line.text for line in report.lines())
    for damage in case.damages:
        assert damage.id not in text
    assert "top tier of the overskirt" in text


def test_what_a_rule_says_of_several_parts_stands_once_in_a_proposal(adviser: Adviser) -> None:
    case = read_demo("festival-dancer", adviser.knowledge)
    report = make_report(make_work(case, adviser, OwnWords({})), EDITION)
    said = [line.text for line in report.lines() if "fugitive dye is part of" in line.text]
    assert len(said) == 1
    for part in ("bodice", "top tier", "middle tier", "lower tier"):
        assert part in said[0]


def test_what_settles_a_point_of_several_parts_names_the_test_on_each(adviser: Adviser) -> None:
    case = read_demo("festival-dancer", adviser.knowledge)
    names = {part.id: part.name for part in case.parts}
    view = next(f for o in adviser.weigh(case).options() for f in o.findings if f.part and f.mends)
    here = replace(view, message=f"Try {names[view.part]}.", mends=view.mends[:1])
    part, name = next((p, n) for p, n in names.items() if p != view.part)
    other = replace(view.mends[0], label=f"a trial on {name}")
    there = replace(here, part=part, message=f"Try {name}.", mends=[other])

    (both,) = said_once([here, there], names)

    assert both.message == f"Try {names[view.part]} and {name}."
    assert both.mends == (view.mends[0], other)
