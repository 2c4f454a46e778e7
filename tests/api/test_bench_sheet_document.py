"""The sheet of a step as a document: blocks in order, drawings, a PDF that is the same again."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from leastwise.api.documents.bench_sheet import (
    Edition,
    Ground,
    SheetDocument,
    Step,
    sheet_document,
    worked_step,
)
from leastwise.api.documents.proposal_pdf import set_pdf
from leastwise.graph import Adviser, load_adviser, read_demo
from leastwise.graph.stations.sheet import HumidificationSheet, humidification_sheet

PACK = "crushed-tiers/membrane-pack-suspended"
MADE_FROM = Edition("a" * 64, "b" * 64, "2026-01-31")
SKETCH = {
    "ground": "silhouette:skirt",
    "regions": {"top-tier": [[0.2, 0.2], [0.8, 0.2], [0.8, 0.5], [0.2, 0.5]]},
}


@pytest.fixture(scope="module")
def stations(adviser: Adviser) -> HumidificationSheet:
    case = read_demo("festival-dancer", adviser.knowledge)
    made = humidification_sheet(adviser, case, adviser.weigh(case), PACK)
    assert made is not None
    return made


def document(
    adviser: Adviser, stations: HumidificationSheet, ground: Ground | None = None
) -> SheetDocument:
    case = read_demo("festival-dancer", adviser.knowledge)
    return sheet_document(case, Step(stations.frame, stations), MADE_FROM, ground)


def words(made: SheetDocument) -> str:
    def of(value: Any) -> list[str]:
        if isinstance(value, str):
            return [value]
        if isinstance(value, dict):
            value = list(value.values())
        return [word for one in value for word in of(one)] if isinstance(value, list) else []

    return " ".join(of(made.plain["blocks"]))


def test_everything_to_work_from_stands_in_the_order_of_work(
    adviser: Adviser, stations: HumidificationSheet
) -> None:
    made = document(adviser, stations)

    headings = [b["text"] for b in made.plain["blocks"] if b["kind"] == "heading"]
    wanted = ["Settle first", "Do, in this order", "Before the first station", "Stations",
              "1. Middle tier of the overskirt", "If a station goes wrong", "Amounts and supports",
              "Stop at once"]  # fmt: skip
    assert [h for h in headings if h in wanted] == wanted
    assert {"order", "pack-1", "pack-2", "pack-3"} == set(made.files)
    for said in (
        "Drying to 60%",
        "The pack weighs",
        "over a hole of 1 mm",
        "slit round the threads",
    ):
        assert said in words(made) or said in str(made.files["pack-3"].data)
    # What holds for every station is said once.
    assert words(made).count("glass transition") == 1


def test_the_stations_are_drawn_on_the_sketch_that_there_is(
    adviser: Adviser, stations: HumidificationSheet
) -> None:
    drawn = document(adviser, stations, Ground(SKETCH)).files["sketch"].data.decode()

    assert "3. top tier" in drawn
    assert "sketch" not in document(adviser, stations, Ground({**SKETCH, "regions": {}})).files


def test_a_mount_is_drawn_to_scale_with_its_loads(adviser: Adviser) -> None:
    case = read_demo("guild-banner", adviser.knowledge)
    step = worked_step(adviser, case, adviser.weigh(case), "splits/slant-board")

    made = sheet_document(case, step, MADE_FROM)

    assert {"display-1", "display-2"} <= set(made.files)
    assert "Slope, smooth cover" in words(made)


def test_supports_are_told_with_colour_ageing_and_tests(adviser: Adviser) -> None:
    case = read_demo("guild-banner", adviser.knowledge)
    answer = adviser.weigh(case)
    option = next(o.id for o in answer.options() if o.technique == "technique:crepeline-overlay")

    told = words(sheet_document(case, worked_step(adviser, case, answer, option), MADE_FROM))

    for said in ("The supports", "Colour:", "Ageing:", "First:", "breaks at", "g/m²"):
        assert said in told, said


def test_a_house_that_gives_prices_has_the_cost_on_the_sheet(
    adviser: Adviser, tmp_path: Path, cache: Path
) -> None:
    prices = tmp_path / "prices.ttl"
    prices.write_text(
        "@prefix lw: <https://w3id.org/leastwise/ns#> .\n"
        "@prefix policy: <https://w3id.org/leastwise/policy/> .\n"
        f'{adviser.policy.id} lw:hourPrice 40 ; lw:currency "EUR" .\n'
    )
    house = load_adviser([tmp_path], cache=cache)
    case = read_demo("guild-banner", house.knowledge)
    answer = house.weigh(case)
    low, high = next(o.hours for o in answer.options() if o.id == "splits/slant-board")

    told = worked_step(house, case, answer, "splits/slant-board").cost

    assert told.startswith(f"Work {40 * low:.0f} to {40 * high:.0f} EUR at 40 EUR an hour.")
    plain = worked_step(adviser, case, adviser.weigh(case), "splits/slant-board")
    assert not plain.cost


def test_the_same_sheet_is_the_same_pdf(adviser: Adviser, stations: HumidificationSheet) -> None:
    made = document(adviser, stations, Ground(SKETCH))

    one, two = (set_pdf("bench", made.plain, made.files, MADE_FROM.date) for _ in range(2))

    assert one == two
    assert one.startswith(b"%PDF-1.7")
