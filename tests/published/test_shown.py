"""An aim of display never ends without its mount, its light limit in days, and its handling.

Over every demo case and every published treatment that is shown on a figure, hung, sloped or flat.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator

import pytest

from bench.judging import entries
from leastwise.graph import Adviser, Case
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.case.record import Tri
from leastwise.graph.planning.make import make_plan
from leastwise.graph.planning.values import Plan, Step
from tests.conftest import DEMOS

pytestmark = pytest.mark.slow

SHOWN = ("on-figure", "hung", "slanted", "flat")


def shown(adviser: Adviser, demo: Callable[[str], Case]) -> Iterator[Case]:
    published = (case_from_data(e["case"], adviser.knowledge) for e in entries())
    for case in (*map(demo, DEMOS), *published):
        if case.aim.purpose in ("display", "loan") and case.aim.mounting in SHOWN:
            yield case


def answering(need: str, plan: Plan, kinds: dict[str, tuple[str, ...]]) -> list[Step]:
    return [s for s in plan.steps if any(need in kinds[d] for d in s.damages if d in kinds)]


def lacks(case: Case, adviser: Adviser) -> Iterator[str]:
    answer = adviser.weigh(case)
    plan = make_plan(case, adviser, answer=answer)
    kinds = {d.id: adviser.knowledge.broader(d.damage) for d in answer.damages}
    mounts = answering("need:carried", plan, kinds)
    if not mounts:
        yield f"{case.id}: no mount"
    if any(s.verdict == "undecided" and not s.waits_for for s in mounts):
        yield f"{case.id}: a mount waits for nothing that is named"
    lit = answering("need:light-limited", plan, kinds)
    if not lit:
        yield f"{case.id}: no light limit"
    if not any(re.search(r"\d+ days a year", one) for s in lit for one in s.limits):
        yield f"{case.id}: no days of light"
    if not answering("need:moved", plan, kinds):
        yield f"{case.id}: no handling"
    if case.aim.purpose == "loan" and "need:packed" not in {k for up in kinds.values() for k in up}:
        yield f"{case.id}: no packing"


def test_what_is_shown_has_its_mount_its_days_of_light_and_its_handling(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    cases = list(shown(adviser, demo))

    assert len(cases) > 60
    assert [one for case in cases for one in lacks(case, adviser)] == []


def test_what_bears_no_figure_is_shown_another_way_that_waits_for_agreement(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = demo("festival-dancer")
    weak = [p.model_copy(update={"bears_handling": Tri.NO}) for p in case.parts]
    beyond = case.model_copy(update={"parts": weak, "damages": []})  # nothing to support it by

    def mount(case: Case) -> Step:
        steps = make_plan(case, adviser).steps
        return next(s for s in steps if "need-carried-on-figure" in s.damages)

    lying = mount(beyond)
    assert lying.verdict == "undecided"
    assert "not on figure" in lying.waits_for[0]
    assert "lying flat it can be carried" in lying.because
    assert mount(case).technique == "technique:padded-figure"


def test_what_is_shown_lying_keeps_nothing_that_only_a_figure_needs(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = demo("festival-dancer")
    weak = [p.model_copy(update={"bears_handling": Tri.NO}) for p in case.parts]
    plan = make_plan(case.model_copy(update={"parts": weak, "damages": []}), adviser)

    of_figures = {
        "technique:corset-underpinning",
        "technique:underskirt",
        "technique:padded-figure",
    }
    assert of_figures.isdisjoint(s.technique for s in plan.steps)
    assert {"need-held-out", "need-weight-taken"}.isdisjoint(one.damage for one in plan.left_undone)
    assert "need-light-limited" in {d for s in plan.steps for d in s.damages}
