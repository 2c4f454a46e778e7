"""What speed is measured on: invented cases of given size, and records of published treatments."""

from __future__ import annotations

import copy
import random
from collections.abc import Iterator
from typing import Any

from leastwise.graph import Adviser, Case, read_demo
from leastwise.graph.case.reading import case_from_data

__all__ = ["grown", "published", "varied"]

_STATES = ("certain", "presumed", "unknown")
_TRI = ("yes", "no", "unknown")


def grown(adviser: Adviser, parts: int, *, damages: bool = False) -> dict[str, Any]:
    """Return the festival dancer's costume with so many parts, copies of its own, as JSON data.

    Each copy lies on the part that it was copied from; with *damages* it has its damages too.
    """
    data: dict[str, Any] = read_demo("festival-dancer", adviser.knowledge).model_dump(mode="json")
    first = [*data["parts"]]
    found = [*data["damages"]]
    for number in range(len(first), parts):
        one = copy.deepcopy(first[number % len(first)])
        origin, one["id"] = one["id"], f"{one['id']}-{number}"
        one["name"] = f"{one['name']}, {number}"
        data["parts"].append(one)
        data["contacts"].append({"between": [origin, one["id"]], "kind": "lies-on"})
        if damages:
            mine = (d for d in found if origin in d["parts"])
            data["damages"] += [
                d | {"id": f"{d['id']}-{number}", "parts": [one["id"]]} for d in mine
            ]
    data["id"] = f"dancer-of-{len(data['parts'])}"
    return data


def varied(adviser: Adviser, number: int, seed: int = 7) -> Iterator[Case]:
    """Yield the dancer's costume of 12 parts again and again, something else known each time."""
    draw = random.Random(seed)  # noqa: S311 - a workload
    data = grown(adviser, 12)
    for i in range(number):
        one = copy.deepcopy(data) | {"id": f"varied-{i}"}
        for part in one["parts"]:
            part["bears_handling"], part["bears_needle"] = draw.choice(_TRI), draw.choice(_TRI)
            for material in part["materials"]:
                material["identified"] = draw.choice(_STATES)
        yield case_from_data(one, adviser.knowledge)


def published(adviser: Adviser) -> list[Case]:
    """Return the records of the published treatments in tests/published, as they were written."""
    from bench.judging import entries  # noqa: PLC0415 - reads them all

    return [case_from_data(one["case"], adviser.knowledge) for one in entries()]
