"""One clock: sheet, plan and proposal take their times from one place, differences told."""

from __future__ import annotations

from types import SimpleNamespace
from typing import Any

import pytest

from leastwise.graph import Adviser
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
        first_look_s=first_s, look_every_s=60.0, stop_at_latest_s=stop_s, drying=drying
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
    found = {t.what: t for t in ticks(adviser.knowledge, FLAT, computed(60, 240))}

    assert found["First look"].value == "after 60 s, then every 60 s"
    assert found["First look"].basis == "computed"
    assert "5 min to 20 min; these layers let moisture through sooner" in found["First look"].remark
    assert "20 min to 60 min" in found["Stop at the latest"].remark
    assert "repeated after a rest" in found["Stop at the latest"].remark


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
