"""How sure a harm is follows from how sure it is what the material is."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from leastwise.graph import Adviser, Case


@pytest.mark.parametrize(
    ("identified", "verdict", "rule"),
    [
        ("certain", "defeated", "rule:known-harm"),
        ("presumed", "undecided", "rule:likely-harm"),
        ("unknown", "undecided", "rule:possible-harm"),
    ],
)
def test_only_a_certain_material_makes_a_certain_harm(
    adviser: Adviser, make_case: Callable[..., Case], identified: str, verdict: str, rule: str
) -> None:
    materials: list[dict[str, Any]] = [
        {"material": "silk", "identified": "certain"},
        {"material": "gelatin-sequins", "identified": identified},
    ]
    part = {"id": "collar", "name": "collar", "lies_flat": "yes", "materials": materials}
    case = make_case(parts=[part])
    options = {o.technique: o for o in adviser.weigh(case).options()}
    option = options["technique:membrane-pack-flat"]
    assert option.verdict == verdict
    found = next(f for f in option.findings if f.rule == rule)
    if verdict == "undecided":
        assert "identity" in {m.kind for m in found.mends}
