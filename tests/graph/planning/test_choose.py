"""The joint choice is the best there is: held against trying every combination."""

from __future__ import annotations

from dataclasses import replace
from itertools import product
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leastwise.graph.planning.choose import (
    AIMS,
    Choice,
    Chooser,
    Limits,
    Selected,
    _beats,
    _costs_of,
    _Held,
    _Program,
    _unbeaten,
    _undominated,
    total,
)

TECHNIQUES = ("a", "b", "c", "d")


@st.composite
def choices(draw: st.DrawFn) -> tuple[Choice, ...]:
    found = []
    for d in range(draw(st.integers(1, 4))):
        for rank in range(draw(st.integers(1, 4))):
            technique = draw(st.sampled_from(TECHNIQUES))
            most = draw(st.integers(1, 40)) * 25
            whole = technique == "d"
            part = most if whole else draw(st.integers(0, most // 25)) * 25
            low = most // 2
            found.append(
                Choice(
                    f"d{d}/{rank}",
                    f"d{d}",
                    technique,
                    draw(st.integers(0, 3)),
                    draw(st.integers(0, 4)),
                    draw(st.integers(0, 8)) * 250,
                    (low, most),
                    (low if whole else part // 2, part),
                    technique if whole else draw(st.sampled_from(("f", "g"))),
                    whole,
                    draw(st.booleans()),
                    rank,
                    draw(st.integers(1, 3)),
                    draw(st.sampled_from(((), ("bath",)))),
                )
            )
    return tuple(found)


limits = st.builds(
    Limits,
    st.none() | st.integers(0, 40).map(lambda n: n * 50),
    st.none() | st.integers(1, 3),
    st.booleans(),
)
clashes = st.lists(
    st.sampled_from(
        (("d0/0", "d1/0"), ("d0/1", "d1/0"), ("d1/1", "d2/0"), ("d0/0", "d1/1", "d2/1"))
    ),
    unique=True,
    max_size=3,
)


def allowed(chosen: tuple[Choice, ...], excluding: list[tuple[str, ...]], within: Limits) -> bool:
    names = {c.id for c in chosen}
    return (
        (within.hours is None or total(chosen).hours[1] <= within.hours)
        and all(within.skill is None or c.skill <= within.skill for c in chosen)
        and not (within.equipment and any(c.lacks for c in chosen))
        and not any(names.issuperset(clash) for clash in excluding)
    )


def every(found: tuple[Choice, ...]) -> list[tuple[Choice, ...]]:
    damages = dict.fromkeys(c.damage for c in found)
    return list(product(*([c for c in found if c.damage == d] for d in damages)))


def worth(s: Selected) -> tuple[int, ...]:
    return (s.shortfall, s.undecided, s.burden, s.hours[1])


@pytest.mark.slow
@settings(max_examples=150, deadline=None)
@given(choices(), clashes, limits)
def test_the_choice_is_the_best_of_all_combinations(
    found: tuple[Choice, ...], excluding: list[tuple[str, ...]], within: Limits
) -> None:
    fit = [total(c) for c in every(found) if allowed(c, excluding, within)]

    best = Chooser(found, tuple(excluding)).best(within)

    if not fit:
        assert best is None
    else:
        assert best is not None
        assert allowed(best.chosen, excluding, within)
        assert worth(best) == min(worth(s) for s in fit)


@settings(max_examples=40, deadline=None)
@given(choices(), clashes, limits)
def test_no_combination_beats_a_point_of_the_frontier(
    found: tuple[Choice, ...], excluding: list[tuple[str, ...]], within: Limits
) -> None:
    free = Limits(None, within.skill, within.equipment)
    fit = [total(c) for c in every(found) if allowed(c, excluding, free)]

    points = Chooser(found, tuple(excluding)).frontier(within)

    assert bool(points) == bool(fit)
    for p in points:
        fewest = min(s.hours[1] for s in fit if s.benefit >= p.benefit)
        assert p.hours[1] == fewest
    assert [p.benefit for p in points] == sorted({p.benefit for p in points})
    if fit:
        assert points[-1].benefit == max(s.benefit for s in fit)


def test_a_shared_set_up_is_counted_once_at_its_largest() -> None:
    one = Choice("x/a", "x", "a", 0, 1, 0, (100, 200), (20, 60), "f", False, False, 1)
    two = Choice("y/a", "y", "b", 0, 1, 0, (100, 200), (40, 80), "f", False, False, 1)

    both = total([one, two])

    assert both.hours == (200 - 20, 400 - 60)
    assert both.saved == (20, 60)


def test_work_on_the_whole_object_burdens_once() -> None:
    one = Choice("x/a", "x", "a", 0, 1, 500, (100, 200), (100, 200), "a", True, False, 1)
    two = Choice("y/a", "y", "a", 0, 1, 700, (100, 200), (100, 200), "a", True, False, 1)

    both = total([one, two])

    assert (both.burden, both.hours) == (700, (100, 200))


def test_nothing_to_choose_is_nothing_to_do() -> None:
    best = Chooser(()).best(Limits(0))

    assert best is not None
    assert best.chosen == ()


@pytest.mark.parametrize("hours", [99, 100])
def test_a_limit_holds_to_the_hundredth(hours: int) -> None:
    quick = Choice("x/a", "x", "a", 1, 0, 0, (10, 50), (0, 0), "f", False, False, 1)
    slow = Choice("x/b", "x", "b", 0, 2, 100, (50, 100), (0, 0), "f", False, False, 2)

    best = Chooser((quick, slow)).best(Limits(hours))

    assert best is not None
    assert best.chosen == ((slow,) if hours >= 100 else (quick,))


def choice(name: str = "x/a", **more: Any) -> Choice:
    """Return a choice that is alike in all but what is said; the name says damage and technique."""
    damage, _, technique = name.partition("/")
    plain = Choice(
        name, damage, technique, 0, 1, 100, (50, 100), (0, 0), technique, False, False, 1
    )
    return replace(plain, **more)


def named(selected: Selected | None) -> list[str] | None:
    return None if selected is None else sorted(c.id for c in selected.chosen)


def test_choices_add_up_in_every_unit() -> None:
    one = choice(shortfall=1, undecided=True, benefit=2, burden=300, set_up=(10, 30))
    two = choice("y/b", shortfall=2, benefit=3, burden=200, hours=(70, 90), set_up=(5, 20))

    assert total([one, two]) == Selected((one, two), 3, 1, 500, 5, (120, 190), (0, 0))
    assert total([]) == Selected((), 0, 0, 0, 0, (0, 0), (0, 0))


def test_of_a_shared_set_up_only_the_largest_is_spent() -> None:
    same = [
        choice("x/a", family="f", set_up=(10, 60)),
        choice("y/b", family="f", set_up=(30, 20)),
        choice("z/c", family="g", set_up=(5, 5)),
    ]
    both = total(same)

    assert both.saved == (10, 20)
    assert both.hours == (150 - 10, 300 - 20)


def test_work_on_the_whole_object_burdens_once_beside_what_else_is_done() -> None:
    whole = [choice("x/a", whole=True, burden=500), choice("y/a", whole=True, burden=700)]

    assert total([*whole, choice("z/b", burden=100)]).burden == 800
    assert total([*whole, choice("z/b", burden=100, whole=True)]).burden == 800
    assert total([choice(whole=True, burden=0)]).burden == 0


def test_what_a_choice_costs_under_each_aim() -> None:
    one = choice(shortfall=2, undecided=True, burden=300, hours=(5, 9), benefit=4)

    assert _costs_of(one) == {
        "shortfall": 2, "undecided": 1, "burden": 300, "hours": 9, "-benefit": -4,
    }  # fmt: skip
    assert _costs_of(choice())["undecided"] == 0


@pytest.mark.parametrize(
    ("a", "b", "beats"),
    [
        ({}, {}, True),
        ({"shortfall": 1}, {}, False),
        ({"undecided": True}, {}, False),
        ({"burden": 101}, {}, False),
        ({"burden": 99}, {}, True),
        ({"hours": (50, 101)}, {}, False),
        ({"benefit": 0}, {}, True),
        # another technique brings its whole set-up, while that of b may be there already
        ({"set_up": (0, 20)}, {"set_up": (0, 20)}, False),
        ({"set_up": (0, 20), "hours": (0, 80)}, {"set_up": (0, 20)}, True),
        ({"set_up": (0, 20), "family": "f"}, {"set_up": (0, 20), "family": "f"}, True),
        ({"set_up": (0, 10), "family": "f"}, {"set_up": (0, 10), "family": "f"}, True),
        ({"set_up": (0, 30), "family": "f"}, {"set_up": (0, 20), "family": "f"}, False),
        ({"set_up": (0, 10), "family": "f"}, {"set_up": (0, 20), "family": "f"}, False),
        ({"set_up": (0, 10), "hours": (0, 90), "family": "f"},
         {"set_up": (0, 20), "family": "f"}, True),
        # the burden of work on the whole object may be counted already
        ({}, {"whole": True}, False),
        ({"burden": 1}, {"whole": True}, False),
        ({"burden": 0}, {"whole": True}, True),
        ({"technique": "b", "whole": True}, {"whole": True}, True),
    ],
)  # fmt: skip
def test_a_choice_beats_another_only_if_it_does_whatever_else_is_chosen(
    a: dict[str, Any], b: dict[str, Any], beats: bool
) -> None:
    one, other = choice("x/a", **a), choice("x/b", **b)

    assert _beats(one, other, AIMS, frozenset()) is beats
    assert not _beats(one, other, AIMS, frozenset({"x/a"})), "what may clash may not be chosen"
    assert _beats(one, other, AIMS, frozenset({"x/b"})) is beats


def test_hours_are_compared_whatever_the_aims() -> None:
    slow, quick = choice("x/a", hours=(0, 200)), choice("x/b")

    assert not _beats(slow, quick, ("-benefit",), frozenset())
    assert not _beats(choice(benefit=0), quick, ("-benefit",), frozenset())
    assert _beats(choice(burden=900), quick, ("-benefit",), frozenset())


def test_choices_that_another_beats_are_left_out_the_better_rank_stays_of_equals() -> None:
    worse, equal = choice("x/w", burden=200, rank=1), choice("x/e", rank=3)
    best, other = choice("x/b", rank=2), choice("x/o", burden=50, hours=(0, 300), rank=4)

    kept = _unbeaten([equal, worse, other, best], AIMS, frozenset())
    assert [c.id for c in kept] == ["x/b", "x/o"]
    clashing = _unbeaten([equal, worse, best], AIMS, frozenset({"x/b"}))
    assert [c.id for c in clashing] == ["x/e"], "what may clash gives way to its equal"
    same = _unbeaten([choice("x/z"), choice("x/y")], AIMS, frozenset())
    assert [c.id for c in same] == ["x/y"]


@pytest.mark.parametrize(
    ("limits_", "expected"),
    [
        (Limits(), ["x/good"]),
        (Limits(skill=2), ["x/fair"]),
        (Limits(skill=3), ["x/good"]),
        (Limits(skill=1), ["x/poor"]),
        (Limits(equipment=False), ["x/best"]),
        (Limits(skill=0), None),
        (Limits(hours=99), None),
        (Limits(hours=100), ["x/good"]),
    ],
)
def test_limits_of_skill_equipment_and_hours_are_kept(
    limits_: Limits, expected: list[str] | None
) -> None:
    found = (
        choice("x/best", burden=0, lacks=("bath",), skill=3),
        choice("x/good", burden=10, skill=3),
        choice("x/fair", burden=20, skill=2),
        choice("x/poor", burden=30, skill=1),
    )

    assert named(Chooser(found).best(limits_)) == expected


def test_a_damage_for_which_nothing_is_left_leaves_no_choice() -> None:
    found = (choice("x/a"), choice("y/b", lacks=("bath",)))

    assert Chooser(found).best(Limits()) is None
    assert Chooser(found).frontier(Limits()) == []
    assert named(Chooser(found).best(Limits(equipment=False))) == ["x/a", "y/b"]


@pytest.mark.parametrize("aim", ["shortfall", "undecided", "burden", "hours"])
def test_aims_come_one_after_another(aim: str) -> None:
    """The first choice is best by one aim and worst by all that come later."""
    worst = {"shortfall": 3, "undecided": True, "burden": 900, "hours": (0, 900)}
    best = {"shortfall": 0, "undecided": False, "burden": 100, "hours": (0, 100)}
    later = [*worst][[*worst].index(aim) + 1 :]
    first = choice("x/first", **{k: worst[k] if k in later else best[k] for k in worst})
    second = choice("x/second", **(best | {aim: worst[aim]}))

    assert named(Chooser((second, first)).best(Limits())) == ["x/first"]
    assert named(Chooser((second, first)).best(Limits(), ("hours",))) == (
        ["x/second"] if later else ["x/first"]
    )


def test_of_choices_that_clash_not_all_are_chosen() -> None:
    found = (choice("x/a"), choice("x/b", burden=300), choice("y/a"), choice("y/b", burden=200))

    assert named(Chooser(found).best(Limits())) == ["x/a", "y/a"]
    assert named(Chooser(found, (("x/a", "y/a"),)).best(Limits())) == ["x/a", "y/b"]
    assert named(Chooser(found, (("x/a", "y/a"), ("x/a", "y/b"))).best(Limits())) == ["x/b", "y/a"]
    assert named(Chooser(found, (("x/a", "gone"),)).best(Limits())) == ["x/a", "y/a"]
    three = (*found, choice("z/a"), choice("z/b", burden=150))
    assert named(Chooser(three, (("x/a", "y/a", "z/a"),)).best(Limits())) == ["x/a", "y/a", "z/b"]


def test_what_shares_a_set_up_is_chosen_together_where_that_saves_hours() -> None:
    found = (
        choice("x/alone", hours=(0, 80), set_up=(0, 0)),
        choice("x/shared", hours=(0, 100), set_up=(0, 60), family="f"),
        choice("y/shared", hours=(0, 100), set_up=(0, 60), family="f"),
    )
    best = Chooser(found).best(Limits())

    assert named(best) == ["x/shared", "y/shared"]
    assert best is not None
    assert best.hours[1] == 140
    assert named(Chooser(found).best(Limits(hours=140))) == ["x/shared", "y/shared"]
    assert Chooser(found).best(Limits(hours=139)) is None


def test_work_on_the_whole_object_is_chosen_for_all_damages_where_that_burdens_less() -> None:
    found = (
        choice("x/part", burden=300),
        choice("x/whole", burden=500, whole=True, technique="w"),
        choice("y/part", burden=300),
        choice("y/whole", burden=500, whole=True, technique="w"),
    )
    best = Chooser(found).best(Limits())

    assert named(best) == ["x/whole", "y/whole"]
    assert best is not None
    assert best.burden == 500
    assert named(Chooser(found[:3]).best(Limits())) == ["x/part", "y/part"]


def test_work_on_the_whole_object_is_not_chosen_where_it_burdens_a_little_more() -> None:
    found = (
        choice("x/part", burden=250),
        choice("x/whole", burden=500, whole=True, technique="w", hours=(0, 10)),
        choice("y/part", burden=249),
        choice("y/whole", burden=500, whole=True, technique="w", hours=(0, 10)),
    )

    assert named(Chooser(found).best(Limits())) == ["x/part", "y/part"]


def test_a_technique_on_one_part_bears_no_burden_of_its_use_on_the_whole() -> None:
    found = (
        choice("x/other", burden=100),
        choice("x/whole", burden=500, whole=True, technique="w", hours=(0, 10)),
        choice("y/part", burden=300, technique="w"),
        choice("y/other", burden=400, hours=(0, 10)),
    )
    best = Chooser(found).best(Limits())

    assert named(best) == ["x/other", "y/part"]
    assert best is not None
    assert best.burden == 400


def test_a_choice_that_says_nothing_of_skill_asks_for_the_least() -> None:
    assert named(Chooser((choice(),)).best(Limits(skill=1))) == ["x/a"]
    assert Chooser((choice(),)).best(Limits(skill=0)) is None


def test_the_frontier_says_how_much_help_more_hours_buy() -> None:
    found = (
        choice("x/none", benefit=0, hours=(0, 10)),
        choice("x/some", benefit=2, hours=(0, 50)),
        choice("x/much", benefit=4, hours=(0, 400)),
        choice("x/dear", benefit=3, hours=(0, 500)),
    )
    points = Chooser(found).frontier(Limits(hours=1))

    assert [(p.hours[1], p.benefit) for p in points] == [(10, 0), (50, 2), (400, 4)]
    assert [named(p) for p in points] == [["x/none"], ["x/some"], ["x/much"]]
    few = Chooser(tuple(replace(c, skill=2) for c in found)).frontier(Limits(skill=1))
    assert few == []


def test_the_frontier_has_at_most_eight_points_spread_over_the_help() -> None:
    found = tuple(choice(f"x/{n:02}", benefit=n, hours=(0, 10 + n * n)) for n in range(29))
    points = Chooser(found).frontier(Limits())

    assert [p.benefit for p in points] == [0, 4, 8, 12, 16, 20, 24, 28]


def test_a_point_that_another_beats_in_hours_and_help_is_left_out() -> None:
    def point(hours: int, benefit: int, name: str = "x/a") -> Selected:
        return Selected((choice(name),), 0, 0, 0, benefit, (0, hours), (0, 0))

    found = [point(30, 3), point(10, 1), point(20, 1), point(30, 2), point(10, 1, "x/later")]

    assert _undominated(found) == [found[1], found[0]]
    assert _undominated([point(10, 1), point(10, 2)]) == [point(10, 2)]
    assert _undominated([]) == []


def program(*found: Choice, excluding: tuple[tuple[str, ...], ...] = (), **more: Any) -> _Program:
    made = _Program.of(Chooser(found, excluding), Limits(**more), AIMS)
    assert made is not None
    return made


def test_what_is_held_is_kept_and_the_quickest_is_tried_first() -> None:
    slow = choice("x/slow", hours=(0, 300), burden=50, benefit=3)
    quick = choice("x/quick", hours=(0, 100), burden=90, benefit=1)
    both = program(slow, quick)

    assert named(both.feasible(_Held((), None))) == ["x/quick"]
    assert named(both.feasible(_Held((("burden", 60),), None))) == ["x/slow"]
    assert named(both.feasible(_Held((("burden", 50),), None))) == ["x/slow"]
    assert both.feasible(_Held((("burden", 49),), None)) is None
    assert named(both.feasible(_Held((), 3))) == ["x/slow"]
    assert named(both.feasible(_Held((), 1))) == ["x/quick"]
    assert both.feasible(_Held((), 4)) is None
    assert program(slow, quick, hours=99).feasible(_Held((), None)) is None
    assert named(program(slow, quick, hours=100).feasible(_Held((), None))) == ["x/quick"]


def test_a_guess_that_clashes_is_given_up_for_another() -> None:
    found = (choice("x/a"), choice("x/b", hours=(0, 110)), choice("y/a"),
             choice("y/b", hours=(0, 130)))  # fmt: skip
    made = program(*found, excluding=(("x/a", "y/a"),))
    chosen = made.feasible(_Held((), None))

    assert chosen is not None
    assert {"x/a", "y/a"} - set(named(chosen) or [])


def test_what_an_aim_comes_to_is_counted_from_the_choice() -> None:
    chosen = total([choice(shortfall=2, undecided=True, burden=300, hours=(5, 9), benefit=4)])

    assert [_Program._reached(aim, chosen) for aim in (*AIMS, "-benefit")] == [2, 1, 300, 9, -4]


@pytest.mark.parametrize(
    ("aim", "whole", "kept"),
    [
        ("shortfall", False, ["x/a", "x/b", "y/a"]),
        ("burden", False, ["x/b", "y/a"]),
        ("burden", True, None),
        ("undecided", True, ["x/a", "x/b", "y/a"]),
        ("hours", False, None),
    ],
)
def test_an_aim_that_simply_adds_up_leaves_the_best_of_each_damage(
    aim: str, whole: bool, kept: list[str] | None
) -> None:
    made = program(
        choice("x/a", burden=200, hours=(0, 50)),
        choice("x/b", burden=100, hours=(0, 90), whole=whole),
        choice("y/a"),
    )
    least = made._at_their_least(aim)

    assert (None if least is None else [c.id for c in least.choices]) == kept


def test_nothing_to_choose_within_a_program_is_nothing_to_do() -> None:
    empty = _Program((), (), (), Limits())

    assert empty.solve(AIMS) == total(())
    assert Chooser(()).frontier(Limits()) == [total(())]
