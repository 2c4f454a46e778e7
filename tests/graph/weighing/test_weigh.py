"""Odd cases are answered, and knowing less never makes an option accepted."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from leastwise.graph import Adviser, Case, weigh
from leastwise.graph.case.reading import case_from_data
from tests.conftest import changed

MATERIALS = ["silk", "cotton", "wool", "dye-unidentified", "gelatin-sequins", "velvet", "moire"]


def layered(number: int, **contact: str) -> dict[str, Any]:
    parts = [
        {
            "id": f"p{i}",
            "name": f"layer {i}",
            "materials": [{"material": MATERIALS[i % len(MATERIALS)], "identified": "certain"}],
        }
        for i in range(number)
    ]
    contacts = [
        {"between": [f"p{i}", f"p{(i + 1) % number}"], "kind": "lies-on"} | contact
        for i in range(number if number > 2 else number - 1)  # two parts touch once
    ]
    return {
        "leastwise_case": 1,
        "id": "layers",
        "title": "layers",
        "demo": True,
        "object": {"name": "layers"},
        "parts": parts,
        "contacts": contacts,
        "damages": [{"id": "d", "damage": "crease", "parts": ["p0"]}],
        "aim": {"purpose": "display"},
    }


@pytest.mark.slow
@pytest.mark.parametrize("number", [1, 2, 3, 500])
def test_a_ring_of_layers_is_answered(adviser: Adviser, number: int) -> None:
    answer = adviser.weigh(case_from_data(layered(number), adviser.knowledge))

    assert answer.damages[0].options


@pytest.mark.slow
def test_damage_on_all_of_500_parts_is_answered(adviser: Adviser) -> None:
    data = layered(500)
    data["damages"][0]["parts"] = [p["id"] for p in data["parts"]]

    assert adviser.weigh(case_from_data(data, adviser.knowledge)).damages[0].options


def test_a_case_without_damage_is_answered(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    answer = adviser.weigh(make_case(damages=[]))

    assert {found.kind for found in answer.damages} == {"need"}


def test_the_typed_entry_answers_without_an_adviser(make_case: Callable[..., Case]) -> None:
    assert weigh(make_case()).damages[0].options


VERDICT = {"accepted": 2, "undecided": 1, "defeated": 0}
small_cases = st.builds(
    lambda materials, kinds, barriers, partings, damage: layered_small(  # noqa: PLW0108
        materials, kinds, barriers, partings, damage
    ),  # it is defined below
    st.lists(st.sampled_from(MATERIALS), min_size=2, max_size=4),
    st.lists(st.sampled_from(["stitched", "sewn-through", "lies-on"]), min_size=3, max_size=3),
    st.lists(st.sampled_from(["in-place", "possible", "impossible"]), min_size=3, max_size=3),
    st.lists(st.sampled_from(["done", "possible", "impossible"]), min_size=3, max_size=3),
    st.sampled_from(["crease", "split", "dust", "loose-attachment"]),
)


def layered_small(
    materials: list[str], kinds: list[str], barriers: list[str], partings: list[str], damage: str
) -> dict[str, Any]:
    data = layered(len(materials))
    for part, material in zip(data["parts"], materials, strict=True):
        part["materials"][0]["material"] = material
        part |= {"lies_flat": "yes", "bears_handling": "yes", "sound_surroundings": "yes"}
    for i, contact in enumerate(data["contacts"][:3]):
        contact |= {"kind": kinds[i], "barrier": barriers[i], "parting": partings[i]}
    data["damages"] = [{"id": "d", "damage": damage, "parts": ["p0"], "evidence": "no"}]
    return data


@pytest.mark.slow
@settings(max_examples=25, deadline=None)
@given(data=small_cases, choice=st.data())
def test_knowing_less_never_makes_an_option_accepted(
    adviser: Adviser, data: dict[str, Any], choice: st.DataObject
) -> None:
    case = case_from_data(data, adviser.knowledge)
    known = {o.id: o.verdict for o in adviser.weigh(case).options()}
    forget = choice.draw(
        st.sampled_from(["barrier", "parting", "identified", "lies_flat", "bears_handling"])
    )

    def change(record: dict[str, Any]) -> None:
        if forget in ("barrier", "parting"):
            for contact in record["contacts"]:
                contact[forget] = "unknown"
        for part in record["parts"]:
            if forget in part:
                part[forget] = "unknown"
            elif forget == "identified":
                part["materials"][0]["identified"] = "unknown"

    less = {o.id: o.verdict for o in adviser.weigh(changed(case, adviser, change)).options()}

    for one, verdict in less.items():
        if verdict == "accepted":
            assert known[one] == "accepted", (one, forget)


@pytest.mark.slow
@settings(max_examples=15, deadline=None)
@given(data=small_cases, choice=st.data())
def test_the_answer_does_not_depend_on_the_order_of_contacts(
    adviser: Adviser, data: dict[str, Any], choice: st.DataObject
) -> None:
    shuffled = data | {"contacts": choice.draw(st.permutations(data["contacts"]))}

    one = {
        o.id: (o.verdict, o.rank)
        for o in adviser.weigh(case_from_data(data, adviser.knowledge)).options()
    }
    other = {
        o.id: (o.verdict, o.rank)
        for o in adviser.weigh(case_from_data(shuffled, adviser.knowledge)).options()
    }

    assert one == other
