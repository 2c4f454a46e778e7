"""Answers in which findings and reasons stand once: nothing lost, and described."""

from __future__ import annotations

import json
from collections.abc import Callable
from typing import Any

import jsonschema
import pytest
from fastapi.testclient import TestClient
from hypothesis import given
from hypothesis import strategies as st
from typer.testing import CliRunner

from leastwise.api.cli.app import app as command_line
from leastwise.graph import Adviser, Case
from leastwise.graph.answer import Reason
from leastwise.graph.encoding import to_json, to_json_once
from leastwise.graph.meanings import Stance
from leastwise.graph.weighing.once import answer_once
from tests.api.test_asking import many

EMPTY = {
    "f": {"part": "", "material": "", "agent": "", "via": "", "cautions": [], "claims": [],
          "mends": [], "theme": "", "message": ""},
    "r": {"claims": [], "rule": "", "reasons": [], "text": ""},
    "m": {"what": "", "label": "", "part": "", "material": "", "condition": ""},
}  # fmt: skip
HOLD = ("findings", "reasons", "mends", "people_first", "record")


def written_out(short: dict[str, Any]) -> dict[str, Any]:
    """Return the answer with what each name stands for in its place."""
    said = short["said"]

    def whole(value: Any) -> Any:
        if isinstance(value, list):
            return [whole(one) for one in value]
        if not isinstance(value, dict):
            return value
        return {key: held(what) if key in HOLD else whole(what) for key, what in value.items()}

    def held(value: Any) -> Any:
        if isinstance(value, str):
            return whole(EMPTY[value[0]] | said[value])
        return [held(one) for one in value]

    return {key: held(what) if key in HOLD else whole(what)
            for key, what in short.items() if key != "said"}  # fmt: skip


@pytest.mark.parametrize("name", ["festival-dancer", "guild-banner"])
def test_written_out_again_it_is_the_answer(
    adviser: Adviser, demo: Callable[[str], Case], name: str
) -> None:
    answer = adviser.weigh(demo(name))

    short = json.loads(answer_once(answer))

    assert written_out(short) == json.loads(answer.as_json())
    assert len({json.dumps(one, sort_keys=True) for one in short["said"].values()}) == len(
        short["said"]
    )
    assert answer_once(answer) == answer_once(answer)


def test_many_damages_on_many_parts_stay_under_five_megabytes(
    adviser: Adviser, make_case: Callable[..., Case]
) -> None:
    record = make_case().model_dump(mode="json", exclude_defaults=True)
    answer = adviser.weigh(Case.model_validate(many(record, 50, 10)))

    short = answer_once(answer)

    assert len(short.encode()) < min(5_000_000, len(answer.as_json()) / 4)
    assert written_out(json.loads(short)) == json.loads(answer.as_json())


def test_both_doors_say_the_same_and_the_schema_describes_it(
    client: TestClient, demo: Callable[[str], Case]
) -> None:
    record = demo("festival-dancer").model_dump_json(exclude_defaults=True)
    whole = client.post("/options?once=true", content=record)
    alone = client.post("/options?once=true&damage=crushed-tiers", content=record)
    printed = CliRunner().invoke(
        command_line, ["weigh", "demo:festival-dancer", "--json", "--once"]
    )
    components = client.get("/openapi.json").json()["components"]

    assert whole.text == printed.stdout
    for answer, name in ((whole, "AnswerOnce"), (alone, "ProblemAnswerOnce")):
        assert answer.status_code == 200, answer.text
        schema = {"$ref": f"#/components/schemas/{name}", "components": components}
        jsonschema.Draft202012Validator(schema).validate(answer.json())
        with pytest.raises(jsonschema.ValidationError):
            jsonschema.validate({k: v for k, v in answer.json().items() if k != "said"}, schema)


REASONS = st.recursive(
    st.builds(Reason, st.just(Stance.FOR), st.sampled_from(["", "a", "b"])),
    lambda under: st.builds(
        Reason, st.just(Stance.FOR), st.just("c"), reasons=st.lists(under, max_size=3).map(tuple)
    ),
)


@given(REASONS, REASONS)
def test_what_is_the_same_has_one_name(one: Reason, other: Reason) -> None:
    first, second = (
        json.loads(_held(reason))["reasons"] for reason in ((one, other), (other, one))
    )

    assert (first[0] == first[1]) == (to_json(one) == to_json(other))
    assert (second[0] == second[1]) == (first[0] == first[1])


def _held(reasons: tuple[Reason, ...]) -> str:
    return to_json_once(Reason("for", "top", reasons=reasons), {Reason: "r"})
