"""Stack files and other inputs of the bench physics: read, refused with their place, laid out."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any, get_args

import jsonschema
import pytest

from leastwise.graph import physics
from leastwise.graph.case.packs import (
    AirRecord,
    Fibre,
    LightRecord,
    Membrane,
    Polymer,
    Role,
    StackRecord,
)
from leastwise.graph.setups.stack_file import (
    AMOUNTS,
    InputError,
    lay,
    load_schema,
    parse_stack,
    read_load,
    read_record,
    read_stack,
    stack_names,
    stack_schema,
)
from tests.yaml_files import read_yaml

FOLDER = Path(__file__).parents[3] / "seed_data" / "demo" / "stacks"


def stack_data() -> dict[str, Any]:
    """Return the plain data of a demo stack, for changing."""
    found: dict[str, Any] = read_yaml(FOLDER / "silk-over-lining.yaml")
    return found


@pytest.mark.parametrize("name", stack_names())
def test_every_demo_stack_is_marked_and_can_be_laid(name: str) -> None:
    record = read_stack(f"demo:{name}")

    laid = lay(record)

    assert record.demo
    assert [layer.name for layer in laid.stack.layers][: len(record.layers)] == [
        layer.called for layer in record.layers
    ]


@pytest.mark.parametrize("name", stack_names())
def test_the_schema_accepts_what_the_reader_accepts(name: str) -> None:
    data = read_yaml(FOLDER / f"{name}.yaml")

    jsonschema.Draft202012Validator(stack_schema()).validate(data)
    data["layers"][0]["colour"] = "blue"
    with pytest.raises(jsonschema.ValidationError):
        jsonschema.Draft202012Validator(stack_schema()).validate(data)
    jsonschema.Draft202012Validator.check_schema(load_schema())


def test_json_and_yaml_give_the_same_record() -> None:
    text = json.dumps(stack_data())

    assert parse_stack(text, is_json=True) == read_stack("demo:silk-over-lining")


def test_a_record_survives_being_written_and_read() -> None:
    record = read_stack("demo:silk-over-lining")

    assert read_record(StackRecord, record.model_dump(mode="json")) == record


def test_names_of_the_records_are_those_of_the_physics() -> None:
    assert set(get_args(Fibre)) == set(physics.FIBRES) - {"blotter"}
    assert set(get_args(Membrane)) == set(physics.MEMBRANES)
    assert set(get_args(Polymer)) == set(physics.FILMS)
    assert set(get_args(Role)) == {role.value for role in physics.Role}


def test_a_range_is_sampled_and_a_number_is_held() -> None:
    laid = lay(read_stack("demo:silk-over-lining"))
    ranges = {(u.layer, u.field): u.range for u in laid.uncertain}

    assert ranges["damp blotter", "water_load_g_m2"] == physics.Range(120, 240)
    assert ranges["", "temperature_c"] == physics.Range(19, 22)
    assert laid.stack.layer("silk").areal_density_g_m2 == 60
    assert ("lining", "areal_density_g_m2") not in ranges
    assert ("felt laminate", "resistance_s_m") in ranges


def test_a_measured_resistance_takes_the_place_of_the_believed_range() -> None:
    data = stack_data()
    data["layers"][3]["resistance_s_m"] = 55

    laid = lay(read_record(StackRecord, data))

    assert ("felt laminate", "resistance_s_m") not in {(u.layer, u.field) for u in laid.uncertain}
    assert laid.stack.layer("felt laminate").resistance_s_m == 55


def test_a_sealed_top_gets_a_cover_and_a_slit_lets_it_leak() -> None:
    data = stack_data()
    data["layers"] = data["layers"][:-2]
    sealed = lay(read_record(StackRecord, data)).stack
    data["patch"]["slit_mm"] = 1.0
    leaking = lay(read_record(StackRecord, data)).stack
    data["top"] = "open"
    bare = lay(read_record(StackRecord, data)).stack

    assert sealed.layers[-1].role is physics.Role.COVER
    assert sealed.edge_leak_s_m is None
    assert leaking.edge_leak_s_m is not None
    assert bare.layers[-1].name == "lining"


def change(path: str, value: Any) -> dict[str, Any]:
    """Return the demo stack with one value changed; None takes the field out."""
    data: Any = stack_data()
    here, steps = data, path.split(".")
    for step in steps[:-1]:
        here = here[int(step)] if step.isdigit() else here[step]
    if value is None:
        del here[steps[-1]]
    else:
        here[int(steps[-1]) if steps[-1].isdigit() else steps[-1]] = value
    found: dict[str, Any] = data
    return found


@pytest.mark.parametrize(
    ("path", "value", "place", "accepted"),
    [
        ("layers.5.fibre", "mohair", "layers[5].fibre", "'silk'"),
        ("layers.5.fibre", None, "layers[5].fibre", "a textile"),
        ("layers.5.thickness_mm", -1, "layers[5].thickness_mm", "0.01 to 50"),
        ("layers.5.thickness_mm", [0.3, 0.1], "layers[5].thickness_mm", "[low, high]"),
        ("layers.5.thickness_mm", True, "layers[5].thickness_mm", "a number"),
        ("layers.5.thickness_mm", float("nan"), "layers[5].thickness_mm", "a number"),
        ("layers.5.colour", "blue", "layers[5].colour", "a field that the format has"),
        ("layers.3.fibre", "silk", "layers[3].fibre", "role membrane"),
        ("layers.2", {"role": "tissue", "name": "x"}, "layers", "a blotter"),
        ("layers.6.name", "silk", "the record", "a name of its own"),
        ("treat.layer", "velvet", "treat.layer", "silk, lining"),
        ("treat.target_rh_percent", [40, 80], "treat.target_rh_percent", "above the start RH"),
        ("neighbours.0.layer", "silk", "neighbours[0].layer", "lining"),
        ("neighbours.0.layer", "felt laminate", "neighbours[0].layer", "lining"),
        ("minutes", 1e9, "minutes", "2880"),
        ("samples", 10**9, "samples", "4096"),
        ("top", "open", "top", "sealed"),
        ("start_rh_percent", 90, "start_rh_percent", "60"),
    ],
)
def test_a_wrong_value_is_told_by_its_place_and_what_is_accepted(
    path: str, value: Any, place: str, accepted: str
) -> None:
    with pytest.raises(InputError) as caught:
        lay(read_record(StackRecord, change(path, value)))

    told = [p for p in caught.value.problems if p.path == place]
    assert told, [p.path for p in caught.value.problems]
    assert accepted in told[0].accepted


def test_every_problem_is_told_at_once() -> None:
    data = change("layers.5.fibre", "mohair")
    data["minutes"] = "long"

    with pytest.raises(InputError) as caught:
        read_record(StackRecord, data)

    assert {p.path for p in caught.value.problems} == {"layers[5].fibre", "minutes"}


@pytest.mark.parametrize("text", ["{", "[]", "layers: &a []\nx: *a", "", "a: [1"])
def test_text_that_is_no_stack_is_refused(text: str) -> None:
    with pytest.raises(InputError):
        parse_stack(text)


def test_a_missing_file_and_an_unknown_demo_are_told(tmp_path: Path) -> None:
    binary = tmp_path / "x.yaml"
    binary.write_bytes(b"\xff\xfe\x00")

    for name, words in (("no.yaml", "readable"), ("demo:no", "silk-over"), (str(binary), "UTF-8")):
        with pytest.raises(InputError, match=words):
            read_stack(name)


def test_a_load_is_read_by_its_kind() -> None:
    assert read_load({"kind": "tape", "mass_kg": 3, "waist_cm": 62}).kind == "tape"
    for data, path in (
        ({"kind": "crane"}, "kind"),
        ({}, "kind"),
        ({"kind": "slope", "mass_kg": 0, "angle_from_vertical_deg": 30}, "mass_kg"),
    ):
        with pytest.raises(InputError) as caught:
            read_load(data)
        assert caught.value.problems[0].path == path


def test_air_and_light_hold_their_bounds() -> None:
    with pytest.raises(InputError, match="rh_percent"):
        read_record(AirRecord, {"temperature_c": 20, "rh_percent": 0})
    with pytest.raises(InputError, match="whole blue wool classes"):
        read_record(LightRecord, {"lux": 50, "hours_per_day": 8, "days": 9, "blue_wool": 2.5})


def test_every_amount_is_a_field_of_a_layer() -> None:
    fields = set(StackRecord.model_fields["layers"].annotation.__args__[0].model_fields)  # type: ignore[union-attr]

    assert set(AMOUNTS) <= fields
