"""Ids of options and pairs of parts: text at every border, taken apart in one place."""

import copy
import json
import pickle

import pytest
from pydantic import TypeAdapter

from leastwise.graph.ids import OptionId, Pair, problem_in_words


def test_an_option_is_a_problem_and_a_technique() -> None:
    one = OptionId.of("top-split", "technique:laid-couching")

    assert one == "top-split/laid-couching"
    assert (one.problem, one.name, one.technique) == (
        "top-split",
        "laid-couching",
        "technique:laid-couching",
    )


@pytest.mark.parametrize("text", ["", "top-split", "/laid-couching", "top-split/"])
def test_half_an_option_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="expected problem/technique"):
        OptionId(text)


def test_a_pair_keeps_its_order_and_is_found_in_either() -> None:
    pair = Pair.of("bodice", "lining")

    assert pair == "bodice and lining"
    assert pair.parts == ("bodice", "lining")
    assert pair.is_of(("lining", "bodice"))
    assert not pair.is_of(("lining", "hem"))


@pytest.mark.parametrize("text", ["", "bodice", "bodice and ", " and lining"])
def test_half_a_pair_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="expected two"):
        Pair(text)


@pytest.mark.parametrize("one", [OptionId("a/b"), Pair("a and b")])
def test_both_are_text_in_json_and_survive_copies(one: OptionId | Pair) -> None:
    adapter = TypeAdapter(type(one))

    assert json.dumps(one) == json.dumps(str(one))
    assert adapter.json_schema() == {"type": "string"}
    for copied in (
        copy.deepcopy(one),
        pickle.loads(pickle.dumps(one)),  # noqa: S301 - our own
        adapter.validate_python(str(one)),
    ):
        assert copied == one
        assert type(copied) is type(one)


def test_words_of_what_is_no_option_are_left_as_they_are() -> None:
    assert problem_in_words("top-split/laid-couching") == "top split"
    assert problem_in_words("something else") == "something else"
