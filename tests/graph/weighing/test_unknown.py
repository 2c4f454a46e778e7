"""Unknown is never safe: what an open entry lets through holds however the entry turns out."""

from __future__ import annotations

import copy
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leastwise.graph import Adviser
from leastwise.graph.answer import OptionAnswer
from leastwise.graph.case.reading import case_from_data

pytestmark = pytest.mark.slow  # seconds of work in nearly every test

Path = tuple[str | int, ...]

#: Entries that may stay open, and what each may prove to be.
ENTRIES: dict[Path, list[Any]] = {
    ("parts", 0, "lies_flat"): ["yes", "no"],
    ("parts", 0, "reverse_reachable"): ["yes", "no"],
    ("parts", 0, "bears_handling"): ["yes", "no"],
    ("parts", 0, "sound_surroundings"): ["yes", "no"],
    ("damages", 0, "evidence"): ["yes", "no"],
    ("damages", 0, "severity"): ["slight", "severe"],
    ("damages", 0, "activity"): ["active", "stable"],
    ("aim", "mounting"): ["on-figure", "flat", "slanted", "hung", "pressure-mounted", "boxed"],
    ("aim", "travels"): ["yes", "no"],
    ("aim", "rh_controlled"): ["yes", "no"],
    ("aim", "months"): [1, 60],
    ("aim", "lux"): [10, 2000],
    ("aim", "degrees_from_vertical"): [5, 80],
    ("parts", 0, "bears_needle"): ["yes", "no"],
    ("means", "skill"): ["assistant", "conservator", "specialist"],
    ("means", "hours"): [1, 500],
    ("means", "equipment"): [[], ["membrane"]],
    ("significance", "curator_agrees"): ["yes", "no"],
}
MATERIALS = ["cotton", "silk", "wool", "weighted-silk", "linen", "beaded", "velvet", "painted"]


def _base(adviser: Adviser, material: str, damage: str, purpose: str) -> dict[str, Any]:
    """Return a case that leaves nothing open and denies nothing."""
    keys = {key for t in adviser.catalogue.techniques.values() for key in t.equipment_keys}
    part = {
        "id": "ground", "name": "ground",
        "materials": [
            {"material": f"material:{material}", "identified": "certain"},
            {"material": "material:undyed", "identified": "certain"},
        ],
        "lies_flat": "yes", "reverse_reachable": "yes", "bears_handling": "yes",
        "bears_needle": "yes", "sound_surroundings": "yes",
    }  # fmt: skip
    found = {
        "id": "d", "damage": damage, "parts": ["ground"], "evidence": "no",
        "severity": "moderate", "activity": "stable",
    }  # fmt: skip
    return {
        "leastwise_case": 1, "id": "open", "title": "Open", "demo": True,
        "object": {"name": "an invented cloth", "kind": "costume"},
        "parts": [part], "damages": [found], "significance": {"curator_agrees": "yes"},
        "aim": {
            "purpose": purpose, "mounting": "flat", "travels": "no", "rh_controlled": "yes",
            "months": 3, "lux": 50, "hours_per_day": 8, "days_per_year": 90,
        },
        "means": {"hours": 500, "skill": "specialist", "equipment": sorted(keys)},
    }  # fmt: skip


def _weighed(
    adviser: Adviser, data: dict[str, Any], path: Path, value: Any
) -> dict[str, OptionAnswer]:
    changed = copy.deepcopy(data)
    place: Any = changed
    for step in path[:-1]:
        place = place[step]
    place[path[-1]] = value
    answer = adviser.weigh(case_from_data(changed, adviser.knowledge))
    return {o.id: o for o in answer.options()}


def _accepted(
    adviser: Adviser, data: dict[str, Any], path: Path, value: Any
) -> dict[str, OptionAnswer]:
    weighed = _weighed(adviser, data, path, value)
    return {one: option for one, option in weighed.items() if option.verdict == "accepted"}


def _harmed(adviser: Adviser, option: OptionAnswer) -> list[str]:
    """Return the rules that stop an option for another reason than want of means or permission."""
    rules = adviser.rules.rules
    stopping = {f.rule for f in option.findings if f.effect in ("defeats", "leavesUndecided")}
    return sorted(one for one in stopping if not rules[one].waits_for)


PURPOSES = ["display", "loan", "study", "storage", "transport"]
#: Which of the damages; the knowledge says how many there are.
places = st.integers(0, 9999)


def _damage(adviser: Adviser, place: int) -> str:
    damages = sorted(adviser.catalogue.damages)
    return damages[place % len(damages)]


@settings(max_examples=60, deadline=None)
@given(
    place=places,
    material=st.sampled_from(MATERIALS),
    purpose=st.sampled_from(PURPOSES),
    entry=st.sampled_from([(path, value) for path, values in ENTRIES.items() for value in values]),
)
def test_what_is_accepted_while_an_entry_is_open_does_no_harm_however_it_turns_out(
    adviser: Adviser, place: int, material: str, purpose: str, entry: tuple[Path, Any]
) -> None:
    """It stays accepted, or waits for means or a permission that are then known to be lacking."""
    data = _base(adviser, material, _damage(adviser, place), purpose)
    path, value = entry

    still_open = _accepted(adviser, data, path, "unknown")
    turned_out = _weighed(adviser, data, path, value)

    there = {one.partition("/")[0] for one in turned_out}  # a need may arise only while it is open
    for one in still_open:
        if one.partition("/")[0] in there:
            assert one in turned_out, (one, path, value)
            assert not _harmed(adviser, turned_out[one]), (one, path, value)


@pytest.mark.parametrize("material", ["cotton", "wool", "silk", "linen"])
@pytest.mark.parametrize("damage", ["damage:tear", "damage:fraying", "damage:loss"])
def test_no_stitch_goes_where_the_record_denies_the_needle(
    adviser: Adviser, material: str, damage: str
) -> None:
    data = _base(adviser, material, damage, "display")
    data["parts"][0]["sound_surroundings"] = "no"
    sewn = {
        one.id
        for one in adviser.catalogue.techniques.values()
        if any(use.agent == "agent:needle" for use in one.brings)
    }

    allowed = _accepted(adviser, data, ("parts", 0, "bears_needle"), "yes")
    denied = _accepted(adviser, data, ("parts", 0, "bears_needle"), "no")

    assert not {o.technique for o in denied.values()} & sewn
    if damage != "damage:fraying":  # where something is sewn at all, the denial is what forbids it
        assert {o.technique for o in allowed.values()} & sewn - {"technique:encapsulation"}


def test_nothing_wet_or_sewn_is_accepted_on_a_material_that_has_no_entry(adviser: Adviser) -> None:
    for damage in ("damage:crease", "damage:tear", "damage:dust"):
        data = _base(adviser, "unidentified", damage, "display")
        accepted = _accepted(adviser, data, ("aim", "mounting"), "flat")
        brought = {
            use.agent
            for one in accepted.values()
            for use in adviser.catalogue.techniques[one.technique].brings
        }
        assert not brought & {
            "agent:liquid-water", "agent:water-vapour", "agent:heat", "agent:needle",
            "agent:adhesive", "agent:surfactant", "agent:solvent-alcohol",
        }  # fmt: skip
        assert accepted  # leaving it alone, a mount, handling stay open
