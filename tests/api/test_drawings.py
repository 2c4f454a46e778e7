"""The drawings: well-formed, told in words as well, clear without colour, nothing outside."""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache
from itertools import pairwise
from typing import Any
from xml.etree import ElementTree as ET

import pytest

from leastwise.api.drawings.axes import Scale, round_ticks
from leastwise.api.drawings.choose import drawing_of
from leastwise.api.drawings.humidity import humidity_chart
from leastwise.api.drawings.section import stack_section
from leastwise.api.drawings.svg import Sheet, wrapped
from leastwise.graph.case.packs import AirRecord, LightRecord
from leastwise.graph.physics import Question, bench_stack, textile
from leastwise.graph.setups.answers import MoistureAnswer, answer_moisture
from leastwise.graph.setups.checks import answer_air, answer_light, answer_load
from leastwise.graph.setups.stack_file import read_load, read_record, read_stack, stack_names

NS = "{http://www.w3.org/2000/svg}"
NASTY = "</text><script>alert('x')</script>&\"\x00\ufffe"


def parsed(text: str) -> ET.Element:
    return ET.fromstring(text)  # noqa: S314 - our own drawing


@cache
def moist(name: str) -> MoistureAnswer:
    record = read_stack(f"demo:{name}").model_copy(update={"samples": 8})
    return answer_moisture(record, radial=True)


def light(**data: Any) -> str:
    return drawing_of(answer_light(read_record(LightRecord, data))) or ""


def air(**data: Any) -> str:
    return drawing_of(answer_air(read_record(AirRecord, data))) or ""


def load(**data: Any) -> str:
    return drawing_of(answer_load(read_load(data))) or ""


DRAWINGS: dict[str, Callable[[], str]] = {
    **{name: lambda name=name: drawing_of(moist(name)) or "" for name in stack_names()},  # type: ignore[misc]
    "chart": lambda: humidity_chart(moist("silk-over-lining")),
    "section": lambda: stack_section(
        bench_stack(textile("silk", "silk", 60, 0.1)), Question("silk")
    ),
    "light, a year": lambda: light(lux=50, hours_per_day=8, days=225, silk=True),
    "light, many years": lambda: light(lux=50, hours_per_day=8, days=9000, cycle_years=4),
    "light, hopeless": lambda: light(
        lux=50, hours_per_day=8, days=9, rest_lux=500, rest_hours_per_day=24
    ),
    "air": lambda: air(temperature_c=20, rh_percent=50, surface_c=12, heat_to_c=25),
    "air, dew": lambda: air(temperature_c=24, rh_percent=99, surface_c=-20),
    "air, hot": lambda: air(temperature_c=-15, rh_percent=5, heat_to_c=90),
    "slope, steep": lambda: load(kind="slope", mass_kg=3, angle_from_vertical_deg=0.5),
    "slope": lambda: load(kind="slope", mass_kg=3, angle_from_vertical_deg=45, friction=[0.5, 1.2]),
    "slope, flat": lambda: load(kind="slope", mass_kg=3, angle_from_vertical_deg=90),
    "hung": lambda: load(kind="hung", areal_density_g_m2=200, drop_cm=150),
    "lines": lambda: load(kind="lines", areal_density_g_m2=200, drop_cm=150, allowed_load_n_m=0.7),
    "lines, many": lambda: load(
        kind="lines", areal_density_g_m2=900, drop_cm=300, allowed_load_n_m=0.3
    ),
    "lines, unknown": lambda: load(kind="lines", areal_density_g_m2=200, drop_cm=150),
}


def places(root: ET.Element) -> list[tuple[float, float]]:
    """Return all places that a drawing names, but for those of its patterns."""
    found: list[tuple[float, float]] = []
    patterns = {id(one) for tile in root.iter(f"{NS}pattern") for one in tile.iter()}
    for one in root.iter():
        if id(one) in patterns:
            continue
        if one.tag == f"{NS}path":
            numbers = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", one.get("d", ""))]
            found += list(zip(numbers[::2], numbers[1::2], strict=True))
        elif one.tag in (f"{NS}text", f"{NS}rect"):
            x, y = float(one.get("x", "0")), float(one.get("y", "0"))
            found.append((x, y))
            found.append((x + float(one.get("width", "0")), y + float(one.get("height", "0"))))
    return found


@pytest.mark.parametrize("name", DRAWINGS)
def test_a_drawing_has_a_text_alternative_and_stays_on_its_sheet(name: str) -> None:
    text = DRAWINGS[name]()
    root = parsed(text)

    assert root.get("role") == "img"
    named = (root.get("aria-labelledby") or "").split()
    alternatives = {one.get("id"): one.text or "" for one in root if one.get("id")}
    assert [len(alternatives[one]) > 10 for one in named] == [True, True]
    assert "nan" not in text.lower().replace("finance", "")
    width, height = float(root.get("width", "0")), float(root.get("height", "0"))
    assert width == 640
    for x, y in places(root):
        assert -1 <= x <= width + 1
        assert -1 <= y <= height + 1


@pytest.mark.parametrize("name", DRAWINGS)
def test_the_letters_of_a_drawing_fit_and_are_not_too_small(name: str) -> None:
    """By an estimate of half the size a letter, the true width in common fonts being near it."""
    for one in parsed(DRAWINGS[name]()).iter(f"{NS}text"):
        size, x = float(one.get("font-size", "0")), float(one.get("x", "0"))
        wide = 0.52 * size * len(one.text or "")
        anchor = one.get("text-anchor", "start")
        left = x - {"start": 0.0, "middle": wide / 2, "end": wide}[anchor]
        assert size >= 12
        assert left >= -2, one.text
        assert left + wide <= 642, one.text


@pytest.mark.parametrize("name", DRAWINGS)
def test_every_pattern_that_is_used_is_defined(name: str) -> None:
    text = DRAWINGS[name]()

    assert set(re.findall(r"url\(#([\w-]+)\)", text)) == set(
        re.findall(r'<pattern id="([\w-]+)"', text)
    )


def test_band_target_neighbour_and_limit_differ_without_colour() -> None:
    text = humidity_chart(moist("silk-over-lining"))

    assert {"lw-humidity-fine", "lw-humidity-back"} <= set(re.findall(r"url\(#([\w-]+)\)", text))
    assert len(set(re.findall(r'stroke-dasharray="([^"]+)"', text))) >= 3


def test_labels_are_escaped_and_what_xml_cannot_hold_is_left_out() -> None:
    sheet = Sheet("x")
    sheet.text(10, 10, NASTY)

    root = parsed(sheet.render(50, NASTY, NASTY))

    assert not list(root.iter(f"{NS}script"))
    assert "<script>" in (next(root.iter(f"{NS}text")).text or "")


def test_names_from_a_stack_file_cannot_break_the_drawing() -> None:
    data = read_stack("demo:silk-over-lining").model_dump(mode="json", exclude_none=True)
    data["title"], data["samples"] = NASTY, 2
    data["layers"][5]["name"] = data["treat"]["layer"] = "<b>&\"'"

    text = drawing_of(answer_moisture(read_record(type(read_stack("demo:silk-over-lining")), data)))

    assert not list(parsed(text or "").iter(f"{NS}b"))


def test_the_section_names_every_layer_and_its_way() -> None:
    stack = bench_stack(textile("silk", "silk", 60, 0.1))

    root = parsed(stack_section(stack, Question("silk")))

    words = [one.text for one in root.iter(f"{NS}text")]
    assert all(layer.name in words for layer in stack.layers)
    assert "Moisture goes from blotter to silk" in (root.find(f"{NS}desc").text or "")  # type: ignore[union-attr]


def test_a_sixteen_layer_stack_still_has_room_for_its_labels() -> None:
    more = [textile(f"layer {k}", "cotton", 100, 0.2) for k in range(9)]
    stack = bench_stack(textile("silk", "silk", 60, 0.1), *more)

    root = parsed(stack_section(stack, Question("silk")))

    names = {layer.name for layer in stack.layers}
    ys = sorted(float(t.get("y", "0")) for t in root.iter(f"{NS}text") if t.text in names
                and t.get("font-size") == "13")  # fmt: skip
    assert len(ys) == len(stack.layers)
    assert min(b - a for a, b in pairwise(ys)) >= 28


@pytest.mark.parametrize(
    ("low", "high"), [(0, 1), (0, 37), (-3, 4), (0, 1e-3), (12.2, 12.9), (0, 5e6)]
)
def test_ticks_are_few_and_inside(low: float, high: float) -> None:
    ticks = round_ticks(low, high)

    assert 2 <= len(ticks) <= 8
    assert all(low - 1e-9 <= tick <= high + 1e-9 for tick in ticks)


def test_a_scale_runs_by_logarithm_where_asked() -> None:
    assert Scale(1, 10_000, 0, 400, logarithmic=True)(100) == pytest.approx(200)
    assert Scale(0, 10, 100, 0)(2.5) == pytest.approx(75)


def test_a_long_word_is_cut_and_no_line_is_too_wide() -> None:
    lines = wrapped("x" * 500 + " and a few more words to be put on lines", 120)

    assert all(len(line) * 12.5 * 0.57 <= 121 for line in lines)
