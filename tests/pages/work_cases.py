"""Invented cases for the pages of plan, bench sheet and exposure picture."""

from __future__ import annotations

from typing import Any

from leastwise.graph import Adviser
from leastwise.graph.case.demo import read_demo
from leastwise.graph.setups.stack_file import read_stack

KINDS = (
    "crease", "split", "dust", "loose-attachment", "tear", "hole", "fraying", "fold-mark",
    "stain", "tide-line",
)  # fmt: skip
MATERIALS = ("silk", "cotton", "wool", "linen")
PACKED = "crushed-tiers/membrane-pack-suspended"


def many_parts(parts: int = 40, damages: int = 12) -> dict[str, Any]:
    """Return an object of many parts, each touching the next, with many damages."""
    return {
        "leastwise_case": 1, "id": "many-parts", "title": "An invented object of many parts",
        "demo": True, "object": {"name": "invented object", "kind": "costume"},
        "parts": [
            {
                "id": f"p{i}", "name": f"part {i}", "lies_flat": "yes" if i % 3 else "no",
                "bears_handling": "yes", "bears_needle": "yes" if i % 4 else "unknown",
                "reverse_reachable": "yes", "sound_surroundings": "yes",
                "materials": [{"material": MATERIALS[i % 4], "identified": "certain"}],
            }
            for i in range(parts)
        ],
        "contacts": [
            {
                "between": [f"p{i}", f"p{i + 1}"],
                "kind": ("stitched", "lies-on", "sewn-through", "touches")[i % 4],
                "barrier": ("possible", "unknown", "impossible", "in-place")[i % 4],
                "parting": ("impossible", "possible")[i % 2],
            }
            for i in range(parts - 1)
        ],
        "damages": [
            {
                "id": f"d{i}", "damage": KINDS[i % len(KINDS)], "activity": "stable",
                "parts": [f"p{3 * i % parts}", f"p{(3 * i + 1) % parts}"], "evidence": "no",
                "extent": {"value": 40, "unit": "cm2"}, "severity": "moderate",
            }
            for i in range(damages)
        ],
        "significance": {"statement": "invented", "curator_agrees": "yes"},
        "aim": {
            "purpose": "display", "mounting": "on-figure", "months": 6, "lux": 50,
            "hours_per_day": 8, "days_per_year": 200, "rh_controlled": "yes", "travels": "no",
        },
        "means": {
            "hours": 300, "skill": "specialist",
            "equipment": ["membrane", "vacuum-hepa", "fume-extraction", "mount-workshop"],
        },
    }  # fmt: skip


def packed_dancer(adviser: Adviser) -> dict[str, Any]:
    """Return the dancer with a planned pack on her crushed tiers."""
    body = read_demo("festival-dancer", adviser.knowledge).model_dump(mode="json")
    stack = read_stack("demo:silk-over-lining").model_dump(mode="json") | {"samples": 16}
    pack = {"damage": "crushed-tiers", "technique": "membrane-pack-suspended", "stack": stack}
    return body | {"packs": [pack]}
