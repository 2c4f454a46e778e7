"""One clock: sheet, plan and proposal take their times from one place, differences told."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leastwise.graph import Adviser
from leastwise.graph import physics as p
from leastwise.graph.planning.clock import ticks, untimed

FLAT = "technique:membrane-pack-flat"


def computed(first_s: float, stop_s: float | None, out: Any = None) -> Any:
    """Return what the clock reads of a computed pack; *out* is how long the moisture takes."""
    drying = SimpleNamespace(
        practice_h=SimpleNamespace(low=12.0, high=48.0),
        change_blotter_s=(900.0, 3600.0),
        model_s=out,
    )
    protocol = SimpleNamespace(
        first_look_s=first_s,
        look_every_s=60.0,
        stop_at_latest_s=stop_s,
        why_stop="cloth may pass 80% RH" if stop_s and stop_s < first_s * 4 else "",
        drying=drying,
    )
    band = SimpleNamespace(time_to_target=SimpleNamespace(low_s=first_s * 2, high_s=first_s * 4))
    return SimpleNamespace(protocol=protocol, band=band)


def test_without_a_planned_pack_the_times_are_sourced(adviser: Adviser) -> None:
    found = {t.what: t for t in ticks(adviser.knowledge, FLAT)}

    assert found["First look"].value == "5 min to 20 min"
    assert found["Left on"].value == "20 min to 60 min"
    assert found["Dry restrained"].value == "12 h to 48 h"
    assert {t.basis for t in found.values()} == {"practice"}
    assert all(t.claims for t in found.values())


def test_a_computed_time_that_differs_says_so_and_why(adviser: Adviser) -> None:
    found = {t.what: t for t in ticks(adviser.knowledge, FLAT, computed(60, 200))}

    assert found["First look"].value == "after 60 s, then every 60 s"
    assert found["First look"].basis == "computed"
    assert "5 min to 20 min; these layers let moisture through sooner" in found["First look"].remark
    assert "20 min to 60 min" in found["Stop at the latest"].remark
    assert found["Stop at the latest"].remark.startswith("Cloth may pass 80% RH")


@pytest.mark.parametrize(("first", "stop"), [(600, 2400), (300, 1200)])
def test_where_both_agree_nothing_is_said_of_a_difference(
    first: float, stop: float, adviser: Adviser
) -> None:
    told = [t.remark for t in ticks(adviser.knowledge, FLAT, computed(first, stop))]

    assert told == [""] * len(told)


def test_a_slower_pack_says_so(adviser: Adviser) -> None:
    found = {t.what: t for t in ticks(adviser.knowledge, FLAT, computed(3000, 9000))}

    assert "later" in found["First look"].remark
    assert "more slowly" in found["Stop at the latest"].remark


def test_no_time_stands_in_two_places(adviser: Adviser) -> None:
    for technique in adviser.catalogue.techniques.values():
        if ticks(adviser.knowledge, technique.id):
            assert "min" not in untimed(technique.monitoring).split()


def test_every_time_is_a_span_of_a_technique(adviser: Adviser) -> None:
    k = adviser.knowledge
    nodes = k.instances("lw:ClockTime")

    assert len(nodes) >= 10
    for node in nodes:
        assert 0 < (k.number(node, "lw:least") or 0) <= (k.number(node, "lw:most") or 0)
        assert k.text(node, "lw:unit") == "min"
        assert all(one in adviser.catalogue.techniques for one in k.objects(node, "lw:for"))


def test_how_long_the_moisture_takes_to_leave_is_told_beside_practice(adviser: Adviser) -> None:
    out = SimpleNamespace(low=120.0, high=1200.0)
    told = {
        known: ticks(adviser.knowledge, FLAT, computed(600, 2400, one))[-1].remark
        for known, one in (("yes", out), ("no", None))
    }

    assert told["yes"].startswith("By the model the moisture is out after 2 min to 20 min")
    assert told["no"] == ""


def planned(cloth: p.Layer, water: float, beside: p.Layer | None, **asked: Any) -> Any:
    """Return what the clock reads of a pack over *cloth*, with *beside* against it or nothing."""
    near = () if beside is None else (beside,)
    stack = p.bench_stack(cloth, *near, water_load_g_m2=water)
    ask = p.Question("cloth", neighbour=beside.name if beside else None, **asked)
    band = p.humidity_band(stack, ask, sampling=p.Sampling(4))
    protocol = p.advise_protocol(stack, ask, band, p.Bench(600))
    return SimpleNamespace(protocol=protocol, band=band)


def of_cloth(name: str) -> st.SearchStrategy[p.Layer]:
    return st.builds(
        lambda fibre, weight, density: p.textile(name, fibre, weight, weight / density),
        st.sampled_from(["silk", "wool", "cotton", "linen"]),
        st.floats(15, 400),
        st.floats(250, 600),
    )


@pytest.mark.slow
@settings(max_examples=12, deadline=None)
@given(
    cloth=of_cloth("cloth"),
    water=st.floats(5, 280),
    beside=st.none() | of_cloth("lining"),
    low=st.floats(0.66, 0.8),
    limit=st.floats(0.55, 0.9),
    minutes=st.integers(2, 60),
)
def test_a_look_comes_before_the_target_and_the_stop_and_an_early_stop_names_its_reason(
    cloth: p.Layer,
    water: float,
    beside: p.Layer | None,
    low: float,
    limit: float,
    minutes: int,
    adviser: Adviser,
) -> None:
    target = p.Range(low, low + 0.08)
    made = planned(
        cloth, water, beside, target=target, neighbour_limit=limit, duration_s=60.0 * minutes
    )
    protocol, reached = made.protocol, made.band.time_to_target
    told = {tick.what: tick for tick in ticks(adviser.knowledge, FLAT, made)}
    stop = protocol.stop_at_latest_s

    assert reached.low_s is None or protocol.first_look_s < reached.low_s
    if stop is None:
        late = reached.high_s is None or reached.high_s > 60 * 60  # practice leaves it on so long
        assert ("not reached its target" in told["Left on"].remark) == late
        return
    assert protocol.first_look_s <= stop
    assert told["Stop at the latest"].remark.startswith(("Cloth may pass", "Lining may pass"))
    early = reached.high_s is None or stop < reached.high_s
    assert ("not relaxed by then" in told["Stop at the latest"].remark) == early


def test_the_gravest_neighbour_bids_the_stop_wherever_it_is_named() -> None:
    """A second neighbour with a lower limit counts as much as the first one does."""
    stack = p.bench_stack(
        p.textile("cloth", "wool", 250, 0.8), p.textile("lining", "silk", 40, 0.1)
    )
    asks = [p.Question("cloth", neighbour="lining", neighbour_limit=at) for at in (0.9, 0.6)]
    bands = [p.humidity_band(stack, ask, sampling=p.Sampling(4)) for ask in asks]
    bench = p.Bench(600)

    alone = p.advise_protocol(stack, asks[0], bands[0], bench)
    both = p.advise_protocol(stack, asks[0], bands[0], bench, ((asks[1], bands[1]),))

    assert both.stop_at_latest_s is not None
    assert alone.stop_at_latest_s is None or both.stop_at_latest_s < alone.stop_at_latest_s
    assert both.stop_because == "lining may pass the 60% RH that it bears"


def test_times_of_practice_are_in_order_for_every_technique(adviser: Adviser) -> None:
    """A look comes no later than the longest time on, and again no later than that."""
    for technique in adviser.catalogue.techniques.values():
        found = {t.what: t.ends_s for t in ticks(adviser.knowledge, technique.id)}
        for look in ("First look", "Look again"):
            if look in found and "Left on" in found:
                assert found[look][0] <= found["Left on"][0], technique.id
                assert found[look][1] <= found["Left on"][1], technique.id
