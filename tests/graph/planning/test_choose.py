"""The joint choice is the best there is: held against trying every combination."""

from __future__ import annotations

from itertools import product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leastwise.graph.planning.choose import Choice, Chooser, Limits, Selected, total

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
