"""Invented garments and hangings with their girths and weights, for what is worked out of them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from leastwise.graph.case.reading import case_from_data
from leastwise.graph.case.record import Case
from leastwise.graph.knowledge.knowledge import Knowledge

DRESS = {"neck": 35, "shoulder-width": 38, "bust": 88, "waist": 62, "hip": 104, "back-length": 39,
         "skirt-length": 104, "hem": 380, "upper-arm": 34, "sleeve-length": 58}  # fmt: skip


def part(name: str, fibre: str, **more: Any) -> dict[str, Any]:
    """Return a part of one fibre that bore a handling trial, unless told otherwise."""
    named = [{"is": fibre, "identified": "certain"}]
    return {"id": name.split(maxsplit=1)[0], "name": name, "fibre": named,
            "bears_handling": "yes", **more}  # fmt: skip


def heavy(grams_m2: float) -> dict[str, Any]:
    """Return the size of a part that weighs so much."""
    return {"size": {"weight_per_area_g_m2": grams_m2}}


def record(
    knowledge: Knowledge, parts: list[dict[str, Any]], aim: Mapping[str, Any], **thing: Any
) -> Case:
    """Return an invented case of some parts, with fields of the object and the aim."""
    damages = thing.pop("damages", [])
    tests = thing.pop("tests", [])
    return case_from_data(
        {
            "leastwise_case": 2,
            "id": "invented",
            "title": "Invented",
            "demo": True,
            "object": {"name": "an invented object", **thing},
            "parts": parts,
            "damages": damages,
            "tests": tests,
            "aim": {"purpose": "display", **aim},
        },
        knowledge,
    )


def on_figure(knowledge: Knowledge, parts: list[dict[str, Any]], **thing: Any) -> Case:
    """Return an invented garment that is shown on a figure."""
    aim = {"mounting": "on-figure", "figure_cm": thing.pop("figure_cm", {})}
    return record(knowledge, parts, aim, **thing)


def five(knowledge: Knowledge) -> dict[str, Case]:
    """Return five invented garments: what each of them is to show stands in the tests."""
    silk = part("skirt and bodice of corded silk", "silk", **heavy(140))
    crepe = part("dress of heavy wool crepe", "wool", **heavy(320))
    georgette = part("beaded dress of georgette", "silk", **heavy(60))
    skirt = part("skirt of printed cotton", "cotton", **heavy(110))
    coat = part("coat of wool cloth", "wool", **heavy(420))
    train = {**DRESS, "hem": 460, "train": 120}
    straight = {"neck": 37, "shoulder-width": 36, "bust": 90, "waist": 86, "hip": 94,
                "back-length": 38, "skirt-length": 66, "hem": 130}  # fmt: skip
    return {
        "corded": on_figure(
            knowledge, [silk], girths_cm=DRESS, size={"weight_g": 3400},
            figure_cm={"neck": 31, "bust": 80, "waist": 58, "hip": 84},
        ),
        "crepe": on_figure(
            knowledge, [crepe], girths_cm={**train, "upper-arm": 58}, size={"weight_g": 3600}
        ),
        "beaded": on_figure(knowledge, [georgette], girths_cm=straight, size={"weight_g": 2100}),
        "cotton": on_figure(
            knowledge, [skirt], girths_cm={"waist": 60, "hip": 96, "skirt-length": 98, "hem": 240},
            size={"weight_g": 620}, figure_cm={"waist": 63, "hip": 88},
        ),
        "coat": on_figure(
            knowledge, [coat], girths_cm={"neck": 42, "shoulder-width": 42, "chest": 104,
                                          "waist": 92, "back-length": 44},
            size={"weight_g": 2300},
        ),
    }  # fmt: skip


def hanging(knowledge: Knowledge, cloth: dict[str, Any], **size: float) -> Case:
    """Return an invented hanging."""
    return record(knowledge, [cloth], {"mounting": "hung"}, kind="furnishing", size=size)


def panel(knowledge: Knowledge, cloth: dict[str, Any], degrees: float, **thing: Any) -> Case:
    """Return an invented panel on a slope, in degrees from the vertical."""
    aim = {"mounting": "slanted", "degrees_from_vertical": degrees}
    size = {"weight_g": 900, "width_cm": 80, "length_cm": 110}
    return record(knowledge, [cloth], aim, kind="flat-textile", size=size, **thing)
