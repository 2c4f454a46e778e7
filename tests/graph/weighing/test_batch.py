"""Variants of a case weighed together: what each comes to is what it comes to alone."""

from __future__ import annotations

from collections.abc import Callable

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from leastwise.graph import Adviser, Case
from leastwise.graph.case.record import TestDone, Tri
from leastwise.graph.meanings import BLOCKING, Remedy
from leastwise.graph.questions.change import Change, applied
from leastwise.graph.questions.changes import open_changes
from leastwise.graph.weighing.findings import find_all
from leastwise.graph.weighing.headline import serving
from leastwise.graph.weighing.standing import standings
from leastwise.graph.weighing.steps import Steps, Variant
from tests.conftest import DEMOS

pytestmark = pytest.mark.slow


@pytest.fixture(scope="module")
def open_in(adviser: Adviser, demo: Callable[[str], Case]) -> dict[str, list[Change]]:
    """Return by demo what it leaves open for some of its options."""
    return {name: _open(adviser, demo(name)) for name in DEMOS}


def _open(adviser: Adviser, case: Case) -> list[Change]:
    options = [o.id for o in adviser.weigh(case).options()]
    found = (open_changes(adviser, case, one) for one in options[:: len(options) // 6])
    return list({c.key: c for changes in found for c in changes}.values())


def alone(adviser: Adviser, case: Case) -> dict[str, list[tuple[object, ...]]]:
    """Return what an answer, weighed whole and put into words, has of each option."""
    answer = adviser.weigh(case)
    return {"serves": [(answer.headline.serves,)]} | {
        damage.id: [
            (o.id, o.label, o.rank, o.verdict, o.meets_aim, o.hindrance, o.residual, o.burden,
             tuple(o.hours))
            for o in damage.options
        ]
        for damage in answer.damages
    }  # fmt: skip


def together(steps: Steps) -> dict[str, list[tuple[object, ...]]]:
    standing = standings(steps)
    return {"serves": [(serving(standing.values()),)]} | {
        problem: [
            (o.id, o.label, o.rank, o.verdict, o.meets_aim, o.hindrance, o.residual, o.burden,
             o.hours)
            for o in options
        ]
        for problem, options in standing.items()
    }  # fmt: skip


@given(st.data())
@settings(max_examples=6, deadline=None, suppress_health_check=list(HealthCheck))
def test_variants_together_come_to_what_each_comes_to_alone(
    adviser: Adviser,
    demo: Callable[[str], Case],
    open_in: dict[str, list[Change]],
    data: st.DataObject,
) -> None:
    cases = []
    for _ in range(data.draw(st.integers(1, 4))):
        name = data.draw(st.sampled_from(DEMOS))
        changes = st.lists(st.sampled_from(open_in[name]), max_size=4)
        case = applied(demo(name), data.draw(changes), data.draw(st.sampled_from(["good", "bad"])))
        drawn = data.draw(st.sampled_from(list(Tri)[:3]))
        parts = [p.model_copy(update={"reverse_reachable": drawn}) for p in case.parts]
        cases.append(case.model_copy(update={"parts": parts}))

    found = adviser.variants([Variant(case) for case in cases])

    assert [together(steps) for steps in found] == [alone(adviser, case) for case in cases]


def outcome(steps: Steps) -> tuple[object, ...]:
    """Return all that weighing without words says of a case."""
    return (
        standings(steps),
        steps.scores,
        [(one, [(f.rule.id, f.focus) for f in found]) for one, found in steps.findings.items()],
        [(one, c.candidate, c.exposures, c.open_points) for one, c in steps.courses.items()],
    )


def further_tests(adviser: Adviser, case: Case) -> st.SearchStrategy[TestDone]:
    """Return tests of any kind on any part of a case, with any result, sensible or not."""
    parts, tests = [p.id for p in case.parts], sorted(adviser.catalogue.tests)
    named = sorted({m.material for p in case.parts for m in p.materials})
    agents = sorted({a for t in adviser.catalogue.tests.values() for a in t.tests_agent})
    damages = [one.id for one in case.damages]
    made = {
        "test": st.sampled_from(tests),
        "part": st.sampled_from(parts),
        "material": st.sampled_from([None, *named]),
        "agent": st.sampled_from([None, None, *agents]),
        "damage": st.sampled_from([None, None, None, *damages]),
        "result": st.sampled_from(["good", "good", "bad", "inconclusive"]),
        "by": st.just("supposed"),
    }
    return st.fixed_dictionaries(made).map(TestDone.model_validate)


@given(st.data())
@settings(max_examples=12, deadline=None, suppress_health_check=list(HealthCheck))
def test_what_further_tests_leave_as_it_is_comes_to_what_it_comes_to_weighed_anew(
    adviser: Adviser,
    demo: Callable[[str], Case],
    open_in: dict[str, list[Change]],
    data: st.DataObject,
) -> None:
    name = data.draw(st.sampled_from(DEMOS))
    changes = st.lists(st.sampled_from(open_in[name]), max_size=2)
    base = applied(demo(name), data.draw(changes))
    cases = [
        base.model_copy(update={"tests": [*base.tests, *data.draw(more)]})
        for more in [st.lists(further_tests(adviser, base), max_size=3)] * 4
    ]
    results = st.sampled_from(["good", "bad"])
    cases += [applied(base, [one], data.draw(results)) for one in data.draw(changes)]

    over = adviser.variants([Variant(case) for case in cases], base=base)
    anew = adviser.variants([Variant(case) for case in cases])

    assert [outcome(steps) for steps in over] == [outcome(steps) for steps in anew]


def test_each_test_that_a_demo_leaves_open_comes_to_the_same_over_the_base_and_anew(
    adviser: Adviser, demo: Callable[[str], Case], open_in: dict[str, list[Change]]
) -> None:
    case = demo("furnishing-panel")
    made = [c for c in open_in["furnishing-panel"] if c.kind == Remedy.TEST]
    cases = [applied(case, [one], result) for one in made for result in ("good", "bad")]  # type: ignore[arg-type]

    over = [*adviser.variants([Variant(one) for one in cases], base=case)]
    anew = adviser.variants([Variant(one) for one in cases])

    assert [outcome(steps) for steps in over] == [outcome(steps) for steps in anew]
    taken = [len(steps.to_weigh.kept) / len(steps.plain) for steps in over]
    assert sum(taken) > len(taken) / 2  # or nothing is gained


@pytest.mark.parametrize("name", DEMOS)
def test_without_words_the_same_findings_stand_against_an_option(
    adviser: Adviser, demo: Callable[[str], Case], name: str
) -> None:
    case = demo(name)
    (quiet,) = adviser.variants([Variant(case)])
    spoken = adviser.steps(case)

    assert quiet.courses.keys() == spoken.courses.keys()
    for option, course in spoken.courses.items():
        against = [(f.rule.id, f.focus) for f in course.attacks]
        assert [(f.rule.id, f.focus) for f in quiet.courses[option].attacks] == against
        assert [f for f in quiet.courses[option].findings if f.rule.effect not in BLOCKING] == []


def test_one_option_alone_is_looked_at_where_no_more_is_wanted(
    adviser: Adviser, demo: Callable[[str], Case]
) -> None:
    case = demo("furnishing-panel")
    options = [o for o in adviser.weigh(case).options() if not o.is_baseline][:5]

    found = [*adviser.variants([Variant(case, frozenset((o.id,))) for o in options])]

    assert [list(steps.courses) for steps in found] == [[o.id] for o in options]
    assert [steps.verdict(o.id) for steps, o in zip(found, options, strict=True)] == [
        o.verdict for o in options
    ]


def test_no_variants_come_to_nothing(adviser: Adviser) -> None:
    assert [*adviser.variants([])] == []
    assert find_all([], adviser.rules) == []
