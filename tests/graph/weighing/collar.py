"""A crushed collar with sequins on it: a record of two parts for tests of courses."""

from __future__ import annotations

from typing import Any


def collar_with_sequins(identified: str, **contact: Any) -> dict[str, Any]:
    """Return a crushed silk collar with gelatin sequins on it, as a record."""
    silk, undyed = ({"material": m, "identified": "certain"} for m in ("silk", "undyed"))
    sequins = {"material": "gelatin-sequins", "identified": identified}
    return {
        "parts": [
            {"id": "collar", "name": "collar", "materials": [silk, undyed], "lies_flat": "yes"},
            {"id": "sequins", "name": "sequins", "materials": [sequins]},
        ],
        "contacts": [{"between": ["sequins", "collar"], "kind": "lies-on"} | contact],
        "significance": {"curator_agrees": "yes"},
        "means": {"skill": "specialist", "hours": 100, "equipment": "unknown"},
    }
