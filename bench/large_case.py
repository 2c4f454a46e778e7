"""An invented case that is large: 40 parts of 3 materials, 60 contacts, 12 damages."""

from __future__ import annotations

from typing import Any

__all__ = ["large_record"]

MATERIALS = (
    ("silk", "plain-weave", "acid-dye"),
    ("silk", "net", "gathers"),
    ("cotton", "satin-floats", "dye-unidentified"),
    ("wool", "twill", "natural-dye"),
    ("viscose-rayon", "satin-floats", "direct-dye"),
    ("copper-thread", "silk", "embroidered"),
    ("gelatin-sequins", "net", "cotton"),
    ("linen", "plain-weave", "starch-size"),
    ("weighted-silk", "moire", "early-synthetic-dye"),
    ("vegetable-tanned-leather", "steel-fastenings", "cotton"),
)
KINDS = ("stitched", "sewn-through", "lies-on", "layered-under", "fastened", "touches", "glued")
DAMAGES = (
    "crease", "split", "tear", "weak-seam", "loose-attachment", "sag", "embrittlement",
    "planar-distortion", "fold-mark", "fraying", "dust", "stain",
)  # fmt: skip
IDENTIFIED = ("certain", "presumed", "unknown")
CLOSED = ("possible", "impossible", "unknown", "in-place")
PARTED = ("impossible", "possible", "unknown", "impossible")
TRI = ("yes", "unknown", "no", "yes")


def large_record(parts: int = 40, contacts: int = 60, damages: int = 12) -> dict[str, Any]:
    """Return the record as JSON data; the same numbers give the same record."""
    return {
        "leastwise_case": 1,
        "id": "large",
        "title": "A costume of many parts",
        "demo": True,
        "object": {"name": "court costume in many parts", "kind": "costume", "identifier": "demo"},
        "parts": [_part(i) for i in range(parts)],
        "contacts": [_contact(i, parts) for i in range(contacts)],
        "damages": [_damage(i, parts) for i in range(damages)],
        "significance": {"statement": "Invented.", "keep": ["wear"], "curator_agrees": "yes"},
        "aim": {
            "purpose": "display", "mounting": "on-figure", "months": 6, "lux": 50,
            "hours_per_day": 8, "days_per_year": 200, "rh_controlled": "yes", "travels": "no",
        },
        "means": {"hours": 300, "skill": "conservator", "equipment": ["membrane", "microscope"]},
    }  # fmt: skip


def _part(i: int) -> dict[str, Any]:
    return {
        "id": f"part-{i}",
        "name": f"panel {i + 1}",
        "materials": [
            {"material": name, "identified": IDENTIFIED[(i + j) % 5 // 2]}
            for j, name in enumerate(MATERIALS[i % len(MATERIALS)])
        ],
        "lies_flat": TRI[i % 4],
        "reverse_reachable": TRI[(i + 1) % 4],
        "bears_handling": TRI[(i + 3) % 4],
        "bears_needle": TRI[(i // 2) % 4],
        "sound_surroundings": TRI[(i + 2) % 4],
    }


def _contact(i: int, parts: int) -> dict[str, Any]:
    first = i % parts
    second = (first + 1) % parts if i < parts else (first + 7 + i // parts) % parts
    return {
        "between": [f"part-{first}", f"part-{second}"],
        "kind": KINDS[i % len(KINDS)],
        "barrier": CLOSED[i % 4],
        "parting": PARTED[(i // 3) % 4],
    }


def _damage(i: int, parts: int) -> dict[str, Any]:
    first = 3 * i
    return {
        "id": f"damage-{i + 1}",
        "damage": DAMAGES[i % len(DAMAGES)],
        "parts": [f"part-{(first + j) % parts}" for j in range(1 + i % 3)],
        "severity": "moderate",
        "activity": ("stable", "active", "unknown")[i % 3],
        "evidence": "no",
    }
