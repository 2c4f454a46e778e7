"""What must hold for any girth, weight and friction."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph.case.record import Case
from leastwise.graph.display.book import Book
from leastwise.graph.display.cloth import load_on
from leastwise.graph.display.figure import on_figure
from leastwise.graph.display.form import form_girth, levels_of, padding
from leastwise.graph.display.hung import hung, stitches_per_metre, thread_strength_n
from leastwise.graph.display.slant import holding_angle_deg
from leastwise.graph.display.underskirt import side_slope_deg, sleeves_of, underskirt_of
from leastwise.graph.display.values import Cloth
from leastwise.graph.physics.bounds import Range
from leastwise.graph.physics.load import friction_needed, pull_along_slope
from leastwise.graph.weighing.advise import Adviser
from tests.graph.display import garments

GIRTHS = st.floats(20, 300)
EASES = st.floats(0, 10)
WEIGHTS = st.floats(0.1, 200)
RANK = {"holds": 0, "in doubt": 1, "too much": 2}


@pytest.fixture(scope="module")
def book(adviser: Adviser) -> Book:
    made = Book(adviser.knowledge)
    made.ease(
        "waist", "sound"
    )  # The first question makes the index, which no example is to wait for.
    return made


@pytest.fixture(scope="module")
def dress(adviser: Adviser) -> Case:
    cloth = garments.part("dress of wool", "wool", **garments.heavy(300))
    return garments.on_figure(adviser.knowledge, [cloth], girths_cm=garments.DRESS)


def cloth(limit: tuple[float, float] | None) -> Cloth:
    return Cloth("some", "some cloth", limit, "a part", "", ())


@given(garment=GIRTHS, ease=EASES, more=EASES)
def test_more_ease_is_never_a_larger_form(garment: float, ease: float, more: float) -> None:
    form = form_girth(garment, Range(ease, ease + 1))
    looser = form_girth(garment, Range(ease + more, ease + more + 1))

    assert looser.low <= form.low
    assert looser.high <= form.high
    assert form.high <= garment


@given(light=WEIGHTS, more=WEIGHTS)
def test_more_weight_is_never_less_load(dress: Case, book: Book, light: float, more: float) -> None:
    first, second = (on_figure(dress, book, weight) for weight in (light, light + more))

    for before, after in zip(first.helps, second.helps, strict=True):
        assert RANK[after.state] >= RANK[before.state]
        for one, two in zip(before.loads, after.loads, strict=True):
            assert one.per_cm is not None
            assert two.per_cm is not None
            assert two.per_cm[0] >= one.per_cm[0]
            assert two.per_cm[1] >= one.per_cm[1]


@given(force=WEIGHTS, length=GIRTHS)
def test_unknown_cloth_never_holds(force: float, length: float) -> None:
    found = load_on("x", Range(0, force), length, cloth(None))

    assert found.state == "unknown"


@given(force=WEIGHTS, limit=st.floats(0.01, 5))
def test_a_load_holds_only_below_the_lowest_limit(force: float, limit: float) -> None:
    found = load_on("x", Range(force / 2, force), 10, cloth((limit, 2 * limit)))

    assert (found.state == "holds") == (force / 10 <= limit)
    assert (found.state == "too much") == (force / 20 > 2 * limit)


@given(force=WEIGHTS)
def test_a_length_that_nobody_recorded_leaves_a_load_unknown(force: float) -> None:
    assert load_on("x", Range(0, force), None, cloth((9, 9))).state == "unknown"


def test_weak_or_unknown_cloth_has_more_ease_than_sound(book: Book) -> None:
    for measure in ("neck", "bust", "waist", "hip", "upper-arm"):
        sound, weak = book.ease(measure, "sound"), book.ease(measure, "weak")
        assert sound is not None
        assert weak is not None
        assert weak.range.low >= sound.range.low > 0
        assert weak.range.high > sound.range.high


@given(bare=st.floats(40, 120))
def test_a_garment_closes_only_on_a_smaller_figure(book: Book, bare: float) -> None:
    (level,) = levels_of({"waist": 70.0}, {"waist": bare}, book, "sound")

    assert (level.closing == "closes") == (bare <= 69)
    assert (level.closing == "does not close") == (bare >= 70)
    assert (level.gap_cm < 0) == (bare > 70)
    assert (level.padding_cm is None) == (bare > 69)


@given(hem=st.floats(100, 700), more=st.floats(0, 300))
def test_a_wider_hem_never_takes_fewer_layers(book: Book, hem: float, more: float) -> None:
    def layers(wide: float) -> int:
        measures: Mapping[str, float] = {"hem": wide, "hip": 100, "skirt-length": 100}
        found = underskirt_of(measures, None, book)
        assert found is not None
        return found.layers

    assert layers(hem + more) >= layers(hem)


@given(girth=st.floats(12, 150), more=st.floats(0, 60))
def test_a_padded_arm_is_smaller_than_its_sleeve_and_a_wide_sleeve_is_filled(
    book: Book, girth: float, more: float
) -> None:
    def arm_and_layers(round_it: float) -> tuple[float, int]:
        arm, *puff = sleeves_of({"upper-arm": round_it, "sleeve-length": 58}, book, "sound")
        assert arm.value.endswith(" cm long")
        return float(arm.value.split()[2]), int(puff[0].value.split()[0]) if puff else 0

    arm, layers = arm_and_layers(girth)
    assert arm < girth
    assert (layers > 0) == (girth > book.figure("puffed-sleeve").range.low)
    wider = arm_and_layers(girth + more)
    assert wider >= (arm, layers)
    assert wider[1] >= layers


@given(weight=WEIGHTS, more=WEIGHTS)
def test_a_heavier_hanging_never_takes_fewer_stitches_or_rows(
    adviser: Adviser, book: Book, weight: float, more: float
) -> None:
    case = _hanging(adviser)
    light, heavier = (hung(case, book, w, ("thread", 5.0, ())) for w in (weight, weight + more))

    assert light is not None
    assert heavier is not None
    assert (heavier.stitches_per_m or 0) >= (light.stitches_per_m or 0) >= 50
    assert [h.rows for h in heavier.headings] >= [h.rows for h in light.headings]


def _hanging(adviser: Adviser) -> Any:
    made = garments.part("hanging", "cotton", **garments.heavy(150))
    return garments.hanging(adviser.knowledge, made, width_cm=120, length_cm=300)


@given(friction=st.floats(0.05, 5))
def test_at_the_holding_angle_friction_is_just_enough(friction: float) -> None:
    assert friction_needed(holding_angle_deg(friction)) == pytest.approx(friction, rel=1e-9)


def test_formulas_give_their_published_and_arithmetic_values() -> None:
    # claim:S-147 (arithmetic): 30 deg 1.73, 45 deg 1.00, 60 deg 0.58, 70 deg 0.36
    assert [round(friction_needed(a), 2) for a in (30, 45, 60, 70)] == [1.73, 1.0, 0.58, 0.36]
    # claim:S-146 (arithmetic): 5 deg 0.996, 30 deg 0.866, 60 deg 0.5 of the weight
    assert [round(pull_along_slope(a), 3) for a in (5, 30, 60)] == [0.996, 0.866, 0.5]
    # claim:DP-004 and DP-005 (read): 25 and over 70 cN/tex; a thread of 25 tex
    assert (thread_strength_n(25, 25), thread_strength_n(70, 25)) == (6.25, 17.5)
    # 1 cm of padding all round adds 2 pi cm of girth
    assert padding(90 + 2 * 3.14159265, 90) == pytest.approx(1.0)
    # a cone from 100 to 300 cm over 80 cm: atan(200 / 2 pi / 80)
    assert side_slope_deg(100, 300, 80) == pytest.approx(21.7, abs=0.05)
    # 0.5 N/cm x 100 x 10 / (5 N x 0.5)
    assert stitches_per_metre(0.5, 5, 0.5, 10) == 200
