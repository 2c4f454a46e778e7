"""Two people's changes put together: nothing that either has written is lost."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

from hypothesis import given, settings
from hypothesis import strategies as st

from leastwise.api.store.records.merge import ABSENT, Clash, Merged, merge
from leastwise.api.store.words import as_text

BASE: dict[str, Any] = {
    "title": "A dancer's skirt",
    "parts": [
        {"id": "top", "name": "top tier", "materials": [{"material": "silk", "note": ""}]},
        {"id": "low", "name": "low tier", "materials": [{"material": "cotton", "note": ""}]},
    ],
    "contacts": [{"between": ["top", "low"], "kind": "touches", "note": ""}],
    "damages": [{"id": "split", "damage": "split", "parts": ["top"], "note": ""}],
    "tests": [
        {"test": "drop", "part": "top", "material": "silk", "result": "good", "note": ""},
        {"test": "drop", "part": "low", "material": "cotton", "result": "bad", "note": ""},
    ],
    "aim": {"purpose": "display", "lux": 50},
    "means": {"equipment": ["membrane"]},
}

name = st.sampled_from(["a", "b", "c", "d", "e"])
scalar = st.none() | st.booleans() | st.integers(0, 2) | st.sampled_from(["", "x", "y"])
thing = st.fixed_dictionaries({"id": name}, optional={"name": st.sampled_from("xyz"), "n": scalar})
value = st.recursive(
    scalar,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(name, inner, max_size=3),
    max_leaves=6,
)
record = st.fixed_dictionaries(
    {"parts": st.lists(thing, max_size=4, unique_by=lambda one: one["id"])},
    optional={"x": value, "tests": st.lists(value, max_size=3), "materials": st.lists(value)},
)


def both(theirs: Any, mine: Any) -> Merged:
    """Return what comes of two changes, each a function on a copy of the base."""
    copies = deepcopy(BASE), deepcopy(BASE)
    theirs(copies[0])
    mine(copies[1])
    return merge(BASE, *copies)


def put(*path: str | int, to: Any) -> Any:
    def change(data: Any) -> None:
        for step in path[:-1]:
            data = data[step]
        data[path[-1]] = to

    return change


def test_edits_in_different_places_are_put_together() -> None:
    merged = both(
        put("parts", 0, "materials", 0, "note", to="tin"), put("tests", 1, "note", to="twice")
    )

    assert merged.clashes == ()
    assert merged.body["parts"][0]["materials"][0]["note"] == "tin"
    assert merged.body["tests"][1]["note"] == "twice"


def test_the_same_field_changed_by_both_is_told_with_its_path_and_all_three_values() -> None:
    merged = both(put("parts", 1, "name", to="hem"), put("parts", 1, "name", to="flounce"))

    assert merged.clashes == (Clash("parts[1].name", "low tier", "hem", "flounce"),)
    assert merged.body["parts"][1]["name"] == "flounce"


def test_the_same_change_by_both_is_no_clash() -> None:
    merged = both(put("aim", "lux", to=80), put("aim", "lux", to=80))

    assert merged == Merged(BASE | {"aim": {"purpose": "display", "lux": 80}}, ())


def test_parts_are_told_apart_by_id_wherever_they_stand() -> None:
    def first(data: Any) -> None:
        data["parts"].insert(0, {"id": "new", "name": "waistband", "materials": []})

    merged = both(first, put("parts", 1, "name", to="hem"))

    assert [one["name"] for one in merged.body["parts"]] == ["waistband", "top tier", "hem"]
    assert merged.clashes == ()


def test_what_both_add_at_one_place_is_kept_theirs_first() -> None:
    merged = both(
        lambda data: data["parts"].append({"id": "sash", "name": "sash"}),
        lambda data: data["parts"].append({"id": "bow", "name": "bow"}),
    )

    assert [one["id"] for one in merged.body["parts"]] == ["top", "low", "sash", "bow"]
    assert merged.clashes == ()


def test_two_new_parts_that_got_the_same_id_are_told_whole() -> None:
    sash, bow = {"id": "p3", "name": "sash"}, {"id": "p3", "name": "bow"}
    merged = both(lambda data: data["parts"].append(sash), lambda data: data["parts"].append(bow))

    assert merged.clashes == (Clash("parts[2]", ABSENT, sash, bow),)


def test_a_removal_against_an_edit_is_told_and_the_edit_stays() -> None:
    edited = BASE["parts"][1] | {"name": "hem"}
    for merged in (
        both(put("parts", 1, "name", to="hem"), lambda data: data["parts"].pop(1)),
        both(lambda data: data["parts"].pop(1), put("parts", 1, "name", to="hem")),
    ):
        assert merged.body["parts"][1] == edited
        (clash,) = merged.clashes
        assert clash.path == "parts[1]"
        assert {clash.theirs is ABSENT, clash.mine is ABSENT} == {True, False}


def test_a_removal_of_what_the_other_left_alone_is_a_removal() -> None:
    merged = both(lambda data: data["tests"].pop(0), put("title", to="Skirt"))

    assert merged.body["tests"] == BASE["tests"][1:]
    assert merged.clashes == ()


def test_a_figure_and_its_unit_are_one_thing() -> None:
    base = {"extent": {"value": 12, "unit": "cm"}}
    theirs, mine = {"value": 12, "unit": "cm2"}, {"value": 3, "unit": "cm"}

    merged = merge(base, {"extent": theirs}, {"extent": mine})

    assert merged.clashes == (Clash("extent", base["extent"], theirs, mine),)


def test_a_contact_is_told_by_its_two_parts() -> None:
    merged = both(
        put("contacts", 0, "kind", to="stitched"), put("contacts", 0, "note", to="at the waist")
    )

    assert merged.body["contacts"] == [
        {"between": ["top", "low"], "kind": "stitched", "note": "at the waist"}
    ]
    assert merged.clashes == ()


def test_words_in_lists_are_added_by_both_and_taken_away_by_either() -> None:
    base = {"keep": ["stain of use", "signature"]}
    merged = merge(
        base,
        {"keep": ["stain of use", "signature", "label"]},
        {"keep": ["signature", "pleats"]},
    )

    assert merged.body == {"keep": ["signature", "label", "pleats"]}
    assert merged.clashes == ()


def test_yes_and_one_are_not_the_same() -> None:
    assert merge({"a": 0}, {"a": 1}, {"a": True}).clashes == (Clash("a", 0, 1, True),)


@given(record, record)
def test_with_one_side_unchanged_the_other_comes_out(base: Any, other: Any) -> None:
    for merged in (merge(base, base, other), merge(base, other, base), merge(base, other, other)):
        assert as_text(merged.body) == as_text(other)
        assert merged.clashes == ()


@settings(max_examples=120)
@given(record, record, record)
def test_it_is_the_same_from_either_side(base: Any, one: Any, other: Any) -> None:
    here, there = merge(base, one, other), merge(base, other, one)

    def told(merged: Merged, *, swapped: bool) -> list[str]:
        return sorted(
            repr((c.base, c.mine, c.theirs) if swapped else (c.base, c.theirs, c.mine))
            for c in merged.clashes
        )

    assert told(here, swapped=False) == told(there, swapped=True)
    if not here.clashes:
        ids = [sorted(part["id"] for part in m.body.get("parts", [])) for m in (here, there)]
        assert ids[0] == ids[1]


@settings(max_examples=120)
@given(record, record, record)
def test_nobodys_addition_is_lost(base: Any, theirs: Any, mine: Any) -> None:
    merged = merge(base, theirs, mine)
    before = {part["id"] for part in base["parts"]}
    there = {part["id"]: part for part in merged.body["parts"]}
    told = [as_text(v) for c in merged.clashes for v in (c.theirs, c.mine) if v is not ABSENT]

    for side in (theirs, mine):
        for part in side["parts"]:
            if part["id"] in before:
                continue
            assert part["id"] in there
            for key, said in part.items():
                kept = as_text(there[part["id"]].get(key, "-")) == as_text(said)
                assert kept or as_text(said) in told or as_text(part) in told


@settings(max_examples=120)
@given(record, record, record)
def test_every_path_leads_to_its_place_in_the_merged_record(
    base: Any, theirs: Any, mine: Any
) -> None:
    merged = merge(base, theirs, mine)

    for clash in merged.clashes:
        found: Any = merged.body
        for step in clash.path.replace("[", ".[").split("."):
            if step:
                found = found[int(step[1:-1])] if step[0] == "[" else found[step]
        assert as_text(found) in [as_text(v) for v in (clash.theirs, clash.mine) if v is not ABSENT]
