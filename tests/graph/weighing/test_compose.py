"""Putting the answer together: findings joined, tests in order, people first."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from types import SimpleNamespace
from typing import Any

import pytest

from leastwise.graph import Adviser, Case
from leastwise.graph.answer import FindingView, MendView
from leastwise.graph.meanings import Remedy, RuleEffect
from leastwise.graph.weighing.compose import Composer, _joined, _people_first


def mend(what: str, part: str = "collar", kind: str = "test") -> MendView:
    return MendView(Remedy(kind), what, what, part, "")


def view(rule: str, message: str, *mends: MendView, **more: Any) -> FindingView:
    given: dict[str, Any] = {
        "rule": rule,
        "severity": "Warning",
        "effect": RuleEffect.LEAVES_UNDECIDED,
        "theme": "general",
        "message": message,
        "part": "collar",
        "material": "",
        "agent": "",
        "via": "",
        "cautions": [],
        "claims": [],
        "mends": [*mends],
    }
    return FindingView(**(given | more))


def test_findings_that_read_the_same_keep_the_remedies_and_claims_of_each() -> None:
    one = view("rule:a", "Same.", mend("test:x"), claims=["claim:1"])
    two = view("rule:a", "Same.", mend("test:y"), mend("test:x"), claims=["claim:2", "claim:1"])

    (joined,) = _joined([one, two])

    assert [m.what for m in joined.mends] == ["test:x", "test:y"]
    assert joined.claims == ("claim:1", "claim:2")
    assert joined.times == 2


def test_findings_of_other_rules_or_words_stay_apart() -> None:
    views = [view("rule:a", "Same."), view("rule:b", "Same."), view("rule:a", "Other.")]

    assert _joined(views) == views


def test_what_protects_people_comes_gravest_first_and_once() -> None:
    caution = view("rule:z", "Care.", theme="people", effect="cautions")
    stop = view("rule:y", "Stop.", theme="people", effect="defeats")
    graver = view("rule:x", "Care.", theme="people", effect="leavesUndecided")
    other = view("rule:w", "Dust.", effect="defeats")

    found = _people_first([caution, other, stop, graver], {})

    assert [(v.rule, v.message) for v in found] == [("rule:y", "Stop."), ("rule:x", "Care.")]


def test_what_protects_people_names_all_its_parts_in_one_sentence() -> None:
    views = [
        view("rule:a", f"Arsenic may be on the {one}.", theme="people", part=one)
        for one in ("collar", "cuff")
    ]
    (found,) = _people_first(views, {"collar": "collar", "cuff": "cuff"})

    assert found.message == "Arsenic may be on the collar and the cuff."


@pytest.fixture
def advised(
    adviser: Adviser, make_case: Callable[..., Case]
) -> Callable[..., Sequence[tuple[str, int]]]:
    """Return the order of tests for options that wait for given tests."""

    def order(**waiting: Sequence[str]) -> list[tuple[str, int]]:
        options: Any = [
            SimpleNamespace(
                id=one,
                verdict="accepted" if one.startswith("done") else "undecided",
                findings=[view("rule:a", "x", *map(mend, tests))],
            )
            for one, tests in waiting.items()
        ]
        found = Composer(adviser.steps(make_case()))._tests_first(options)
        return [(test.test, len(test.options)) for test in found]

    return order


def test_the_test_that_opens_most_options_comes_first_whatever_it_costs(
    advised: Callable[..., list[tuple[str, int]]],
) -> None:
    """Extracting for pH costs a piece of cloth, and a look under ultraviolet costs nothing."""
    found = advised(
        a=["test:extract-ph"], b=["test:extract-ph"], c=["test:uv-inspection"], done=["test:iodine"]
    )

    assert found == [("test:extract-ph", 2), ("test:uv-inspection", 1)]


def test_of_tests_that_open_as_many_the_one_that_costs_the_object_less_comes_first(
    advised: Callable[..., list[tuple[str, int]]],
) -> None:
    found = advised(a=["test:burn-test", "test:oddy-test"], b=["test:burn-test", "test:oddy-test"])

    assert [test for test, _ in found] == ["test:oddy-test", "test:burn-test"]


def test_a_caution_names_the_test_that_answers_it_and_nothing_waits_for_that_test(
    adviser: Adviser,
) -> None:
    case = Case.model_validate(
        {
            "leastwise_case": 2,
            "id": "rack",
            "title": "fringed shawl",
            "object": {"name": "shawl", "kind": "costume", "form": "flat"},
            "parts": [{"id": "fringe", "name": "fringe", "materials": [
                {"material": "material:silk", "identified": "certain"},
                {"material": "material:fringe", "identified": "certain"}]}],
            "damages": [],
            "needs": [{"id": "move", "need": "need:moved", "parts": ["fringe"]}],
            "aim": {"purpose": "storage"},
        }
    )  # fmt: skip

    answer = adviser.weigh(case)

    board = next(o for o in answer.options() if o.technique == "technique:handling-board")
    (look,) = [f for f in board.findings if f.rule.endswith("known-before-a-move")]
    assert (look.effect, [m.what for m in look.mends]) == ("cautions", ["test:attachment-check"])
    assert "test:attachment-check" not in {t.test for t in answer.tests_first}
