"""Bands, sideways spread, packs, and advice for the bench."""

from __future__ import annotations

import itertools
from dataclasses import replace

import numpy as np
import pytest
from scipy.special import k0

from leastwise.graph.physics.air import diffusion_coefficient_m2_s
from leastwise.graph.physics.bounds import PhysicsInputError, Range
from leastwise.graph.physics.humidity_band import (
    Sampling,
    Uncertain,
    default_uncertainties,
    humidity_band,
)
from leastwise.graph.physics.moisture import Question, humidify
from leastwise.graph.physics.packs import PackEdge, compare_sealing, edge_leak_s_m, hang_pack
from leastwise.graph.physics.protocol import Bench, advise_protocol, blotter_dose, drying
from leastwise.graph.physics.radial import Rings, Zone, pierced_membrane, spread
from leastwise.graph.physics.stack import Stack, bench_stack, blotter, membrane, textile

pytestmark = pytest.mark.slow  # seconds of work in nearly every test

SILK = textile("silk", "silk", 60, 0.1)
STACK = bench_stack(SILK)
ASK = Question("silk")
FEW = Sampling(32)


def test_band_holds_the_single_answer_and_calls_back() -> None:
    calls: list[tuple[int, int]] = []
    band = humidity_band(
        STACK, ASK, sampling=Sampling(200), progress=lambda done, total: calls.append((done, total))
    )
    assert calls == [(128, 256), (256, 256)]
    assert band.samples == 256
    single = humidify(STACK, ASK).time_to_target_s
    times = band.time_to_target
    assert single is not None
    assert times.low_s is not None
    assert times.middle_s is not None
    assert times.high_s is not None
    assert times.low_s < single < times.high_s
    assert times.low_s < times.middle_s < times.high_s
    assert band.worst_imbalance < 1e-6
    low, high = np.array(band.treated_humidity.low), np.array(band.treated_humidity.high)
    assert np.all(low <= high)


def test_same_seed_same_band_other_seed_much_the_same() -> None:
    one, two = humidity_band(STACK, ASK, sampling=FEW), humidity_band(STACK, ASK, sampling=FEW)
    assert one == two
    other = humidity_band(STACK, ASK, sampling=Sampling(32, seed=7))
    assert one.time_to_target.middle_s is not None
    assert other.time_to_target.middle_s == pytest.approx(one.time_to_target.middle_s, rel=0.2)


def test_a_measured_membrane_narrows_the_band() -> None:
    """What isn't in the sources is a wide range, and the answer is only as good as that."""
    stack = bench_stack(textile("wool", "wool", 250, 1.0))
    ask = Question("wool")
    wide = humidity_band(stack, ask, sampling=Sampling(64))
    known = [u for u in default_uncertainties(stack) if u.layer != "membrane"]
    narrow = humidity_band(stack, ask, known, Sampling(64))
    assert wide.time_to_target.high_s is not None
    assert wide.time_to_target.low_s is not None
    assert narrow.time_to_target.high_s is not None
    assert narrow.time_to_target.low_s is not None
    spread_wide = wide.time_to_target.high_s / wide.time_to_target.low_s
    assert narrow.time_to_target.high_s / narrow.time_to_target.low_s < spread_wide
    assert any("membrane: resistance_s_m: only known as 20 to 100" in c for c in wide.caveats)
    assert "membrane: resistance_s_m" in dict(wide.rules_the_width)


def test_unknown_regain_of_weighted_silk_makes_the_water_uncertain() -> None:
    """claim:M-021: no measured regain was found; treat as unknown."""
    weighted = bench_stack(textile("silk", "weighted silk", 60, 0.1))
    unknown = humidity_band(weighted, ASK, sampling=FEW).treated_regain
    known = humidity_band(STACK, ASK, sampling=FEW).treated_regain
    assert unknown.high[-1] / unknown.low[-1] > 2 > known.high[-1] / known.low[-1]


def test_a_target_reached_in_few_samples_says_so() -> None:
    scant = bench_stack(SILK, water_load_g_m2=9)
    loads = [Uncertain("blotter", "water_load_g_m2", Range(2, 12), "practice: weighed by eye")]
    band = humidity_band(scant, ASK, loads, FEW)
    assert 0 < band.time_to_target.share_reached < 1
    assert band.time_to_target.high_s is None
    with pytest.raises(PhysicsInputError):
        humidity_band(scant, ASK, [], FEW)
    with pytest.raises(PhysicsInputError, match="field"):
        Uncertain("blotter", "colour", Range(0, 1), "")


def test_one_zone_is_the_one_dimensional_answer() -> None:
    flat = spread([Zone("all", 50, STACK)], "silk", rings=Rings(per_zone=4, tolerance=1e-6))
    line = humidify(STACK, Question("silk", duration_s=3600))
    inner = np.array(flat.fibre_humidity)
    assert np.ptp(inner, axis=0).max() < 1e-6
    one = np.interp(flat.times_s, line.times_s, line.layer("silk").fibre_humidity)
    # One cell through the silk against three.
    assert np.max(np.abs(inner[0] - one)) < 0.01


def zones() -> list[Zone]:
    """Blotter, margin beyond the blotter, and open cloth beyond barrier and cover."""
    margin = STACK.without("blotter").without("membrane")
    return [
        Zone("blotter", 25, STACK),
        Zone("margin", 40, margin),
        Zone("open", 80, margin.without("cover").without("barrier")),
    ]


def test_moisture_creeps_past_the_edge_and_fades_outwards() -> None:
    """Common practice (claim:W-064): beyond the blotter's edge a damp margin, feathered out."""
    answer = spread(zones(), "silk", 0.65)
    end = [row[-1] for row in answer.fibre_humidity]
    assert all(one >= two - 1e-6 for one, two in itertools.pairwise(end))
    assert end[0] > 0.95
    assert end[-1] == pytest.approx(0.5, abs=0.01)
    assert 25 < answer.reach_mm[-1] < 60
    assert all(one <= two + 1e-9 for one, two in itertools.pairwise(answer.reach_mm))
    assert answer.mass_imbalance < 1e-6


def test_spread_converges_with_finer_rings() -> None:
    reaches = [spread(zones(), "silk", 0.65, Rings(per_zone=n, tolerance=1e-5)) for n in (4, 8, 24)]
    at = [np.interp(32.0, s.radii_mm, [row[-1] for row in s.fibre_humidity]) for s in reaches]
    assert abs(at[1] - at[2]) < abs(at[0] - at[2]) + 1e-4
    assert abs(at[1] - at[2]) < 0.02


def test_sideways_loss_follows_the_bessel_profile() -> None:
    """A sheet losing to the room round a source settles as K0(r/l), l2 = L R (memory: heat fin)."""
    felt = textile("felt", "wool", 500, 10.0)
    top = 300.0
    bare = Stack((felt,), surface_resistance_s_m=top)
    fed = Stack((blotter(water_load_g_m2=5000), felt), surface_resistance_s_m=top)
    rings = Rings(per_zone=40, duration_s=2 * 86_400, tolerance=1e-6)
    answer = spread([Zone("fed", 20, fed), Zone("bare", 80, bare)], "felt", rings=rings)
    diffusion = diffusion_coefficient_m2_s(20)
    conductance = 0.010 * diffusion / felt.still_air_factor
    loss = top + 0.010 * felt.still_air_factor / diffusion / 2
    length_mm = 1000 * (conductance * loss) ** 0.5
    radii, end = np.array(answer.radii_mm), np.array([row[-1] for row in answer.air_humidity]) - 0.5
    near, far = np.searchsorted(radii, [22.0, 32.0])
    expected = k0(radii[far] / length_mm) / k0(radii[near] / length_mm)
    assert end[far] / end[near] == pytest.approx(expected, rel=0.02)


@pytest.mark.parametrize("kind", ["felt laminate", "garment laminate"])
def test_a_hole_is_faster_at_its_centre_and_reaches_past_its_rim(kind: str) -> None:
    """Common practice: a pierced membrane wets round the hole, faster than the sound part."""
    holed = pierced_membrane(STACK.with_layer(membrane(kind=kind)), "silk", 3.0)
    assert holed.flux_ratio > 1
    assert holed.largest_excess > 0
    assert holed.extra_water_g_m2 > 0
    assert holed.reach_mm > 1.5
    assert holed.limit_at_centre_s is not None
    assert holed.limit_sound_s is not None
    assert holed.limit_at_centre_s < holed.limit_sound_s
    assert holed.with_hole.mass_imbalance < 1e-6


def test_a_wider_hole_does_more_and_reaches_farther() -> None:
    stack = STACK.with_layer(membrane(kind="garment laminate"))
    small, large = (pierced_membrane(stack, "silk", d) for d in (1.0, 10.0))
    assert large.largest_excess > small.largest_excess
    assert large.reach_mm > small.reach_mm


def test_zones_must_grow_and_hold_the_layer() -> None:
    with pytest.raises(PhysicsInputError, match="outer_radius_mm"):
        spread([Zone("a", 20, STACK), Zone("b", 10, STACK)], "silk")
    with pytest.raises(PhysicsInputError):
        spread([], "silk")
    with pytest.raises(PhysicsInputError):
        pierced_membrane(STACK.without("membrane"), "silk", 2)


def test_sealed_leaking_open() -> None:
    """Common practice: the better sealed, the faster and damper."""
    cases = compare_sealing(STACK, ASK, PackEdge(5, 5, 3, 5))
    assert cases.leaking is not None
    damp = [
        max(case.layer("silk").fibre_humidity)
        for case in (cases.sealed, cases.leaking, cases.open_top)
    ]
    assert damp == sorted(damp, reverse=True)
    times = [
        case.time_to_target_s or np.inf for case in (cases.sealed, cases.leaking, cases.open_top)
    ]
    assert times == sorted(times)
    with pytest.raises(PhysicsInputError, match="cover"):
        compare_sealing(STACK.without("cover"), ASK)


def test_a_hung_pack_pulls_on_its_clips_and_leaks_by_its_slit() -> None:
    sealed, leaky = (hang_pack(STACK, ASK, PackEdge(8, 5, slit), 4) for slit in (0, 4))
    assert sealed.leak_s_m is None
    assert leaky.leak_s_m == edge_leak_s_m(PackEdge(8, 5, 4))
    assert sealed.pull_per_clip_n == pytest.approx(sealed.mass_g * 9.81e-3 / 4)
    assert max(leaky.humidification.layer("silk").fibre_humidity) < max(
        sealed.humidification.layer("silk").fibre_humidity
    )
    assert any("W-071" in text for text in leaky.caveats)


def test_the_self_limiting_dose_ends_inside_the_target() -> None:
    """claim:D-17 (computed, a design idea): with just enough water the pack stops by itself."""
    dose = blotter_dose(STACK, ASK, 100).self_limiting_g_m2
    for water, end in ((dose.low, ASK.target.low), (dose.high, ASK.target.high)):
        damp = STACK.with_layer(replace(STACK.layer("blotter"), water_load_g_m2=water))
        answer = humidify(damp, ASK)
        assert answer.layer("silk").fibre_humidity[-1] == pytest.approx(end, abs=0.01)
    assert blotter_dose(STACK, ASK, 100).times_the_need > 5  # D-16: 12 to 64 times for the cloth


def test_protocol_for_silk() -> None:
    """Section E step 6 (practice): first look at silk in minutes; W-061: 5 to 20 min at most."""
    band = humidity_band(STACK, ASK, sampling=FEW)
    advice = advise_protocol(STACK, ASK, band, Bench(100, 0.75))
    assert 15 <= advice.first_look_s <= 300
    assert 15 <= advice.look_every_s <= 900
    assert band.time_above_target.low_s is not None
    assert advice.first_look_s < band.time_above_target.low_s
    assert advice.weight.mass_g == 75
    assert advice.weight.within_practice
    assert advice.damp_limit_h == 24
    assert advice.mould.days is not None
    assert any("Look first" in line for line in advice.says)
    assert any("tide line" in sign for sign in advice.stop_signs)
    assert any("upright cup" in text for text in advice.caveats)


def test_protocol_with_a_neighbour_and_with_a_target_out_of_reach() -> None:
    stack = bench_stack(textile("wool", "wool", 300, 1.2), SILK, water_load_g_m2=8)
    ask = Question("wool", neighbour="silk", neighbour_limit=0.55)
    advice = advise_protocol(stack, ask, humidity_band(stack, ask, sampling=FEW), Bench(50))
    assert any("not likely" in line for line in advice.says)
    assert any("silk may pass 55% RH" in line for line in advice.says)
    assert 15 <= advice.first_look_s <= 1200


def test_thick_wool_dries_slower_than_silk() -> None:
    """Common practice; claim:W-062: dry restrained 12-48 h, changing blotters."""
    wool = textile("wool", "wool", 400, 2.0)
    fast, slow = drying(SILK, 0.8, STACK), drying(wool, 0.8, bench_stack(wool))
    assert fast.model_s is not None
    assert slow.model_s is not None
    assert slow.model_s.low > fast.model_s.high
    assert fast.practice_h == Range(12, 48)
    assert fast.fibre_humidity[0] == pytest.approx(0.8, abs=1e-6)
    assert fast.change_blotter_s[0] == 900
    with pytest.raises(PhysicsInputError, match="to_humidity"):
        drying(SILK, 0.7, STACK, to_humidity=0.75)
