"""The doors of the bench physics: the command line and HTTP tell the same."""

from __future__ import annotations

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest
import typer
from fastapi.testclient import TestClient
from typer.testing import CliRunner, Result

from leastwise.api.app import create_app
from leastwise.api.cli.commands import physics as commands
from leastwise.api.settings import Settings
from leastwise.graph import Adviser
from leastwise.graph.setups.answers import answer_moisture, as_json
from leastwise.graph.setups.stack_file import read_stack, stack_names

SVG = "{http://www.w3.org/2000/svg}svg"
ENV = {"COLUMNS": "120", "NO_COLOR": "1"}
LIGHT = ["light", "--lux", "50", "--hours-per-day", "8", "--days", "225", "--silk"]
AIR = ["air", "--temperature", "20", "--rh", "50", "--surface", "8", "--heat-to", "25"]
SLOPE = ["load", "slope", "--mass", "3", "--angle", "30"]


def parsed(text: str) -> ET.Element:
    return ET.fromstring(text)  # noqa: S314 - our own drawing


def run(*args: str) -> Result:
    app = typer.Typer(rich_markup_mode=None, pretty_exceptions_enable=False)
    commands.register(app)
    return CliRunner(env=ENV).invoke(app, list(args))


@pytest.fixture(scope="module")
def client(adviser: Adviser, tmp_path_factory: pytest.TempPathFactory) -> Iterator[TestClient]:
    app = create_app(adviser, Settings(cache=tmp_path_factory.mktemp("cache"), workers=0))
    with TestClient(app, base_url="http://127.0.0.1", raise_server_exceptions=False) as client:
        yield client


def body_of(name: str, **changes: Any) -> dict[str, Any]:
    data: dict[str, Any] = read_stack(f"demo:{name}").model_dump(mode="json", exclude_none=True)
    return data | {"samples": 8} | changes


@pytest.mark.parametrize("name", stack_names())
def test_moisture_says_when_to_look_and_what_it_rests_on(name: str) -> None:
    result = run("moisture", f"demo:{name}", "--samples", "8")

    assert result.exit_code == 0, result.output
    for words in ("Look first", "condensation", "water drawn", "Stop at", "Rests on", "Mind"):
        assert words in result.stdout
    assert "invented demo" in result.stdout
    assert "\x1b" not in result.output


def test_moisture_over_http_is_the_json_of_the_command_line(client: TestClient) -> None:
    result = run("moisture", "demo:silk-over-lining", "--samples", "8", "--json", "--radial")

    response = client.post("/physics/moisture?radial=true", json=body_of("silk-over-lining"))

    assert response.status_code == 200, response.text
    assert response.text == result.stdout
    answer = response.json()
    assert answer["neighbours"][0]["behind"]["high"] < answer["neighbours"][0]["bare"]["low"]
    assert answer["spread"]["reach_mm"]
    assert answer["band"]["samples"] == 8


def test_the_same_stack_gives_the_same_bytes() -> None:
    record = read_stack("demo:pierced-membrane").model_copy(update={"samples": 4})

    one, two = (as_json(answer_moisture(record, radial=True)) for _ in range(2))

    assert one == two
    assert json.loads(one)["pierced"]["hole_diameter_mm"] == 3


def test_samples_are_shared_by_the_neighbours_over_http(client: TestClient) -> None:
    body = body_of("silk-over-lining", samples=256)
    body["neighbours"].append({"layer": "board", "limit_rh_percent": 70})

    response = client.post("/physics/moisture", json=body)

    assert response.status_code == 422
    assert "at most 128" in response.json()["errors"][0]["accepted"]


def test_every_neighbour_gets_its_own_dose(client: TestClient) -> None:
    body = body_of("silk-over-lining")
    body["neighbours"].append({"layer": "board", "limit_rh_percent": 70})

    answer = client.post("/physics/moisture", json=body).json()

    assert [one["neighbour"] for one in answer["neighbours"]] == ["lining", "board"]
    assert answer["neighbours"][1]["screened"]


@pytest.mark.parametrize(
    ("args", "path", "body", "words"),
    [
        (LIGHT, "light", {"lux": 50, "hours_per_day": 8, "days": 225, "silk": True}, "15 000"),
        (
            AIR,
            "air",
            {"temperature_c": 20, "rh_percent": 50, "surface_c": 8, "heat_to_c": 25},
            "water condenses",
        ),
        (
            SLOPE,
            "load",
            {"kind": "slope", "mass_kg": 3, "angle_from_vertical_deg": 30},
            "tilt test",
        ),
        (
            ["load", "hung", "--density", "200", "--drop", "150"],
            "load",
            {"kind": "hung", "areal_density_g_m2": 200, "drop_cm": 150},
            "Unknown",
        ),
        (
            ["load", "lines", "--density", "200", "--drop", "150", "--allowed", "1"],
            "load",
            {"kind": "lines", "areal_density_g_m2": 200, "drop_cm": 150, "allowed_load_n_m": 1},
            "3 lines",
        ),
        (
            ["load", "weights", "--pressure", "1", "--area", "400"],
            "load",
            {"kind": "weights", "pressure_g_cm2": 1, "area_cm2": 400},
            "400 g",
        ),
        (
            ["load", "tape", "--mass", "3", "--waist", "62"],
            "load",
            {"kind": "tape", "mass_kg": 3, "waist_cm": 62},
            "shoulders",
        ),
    ],
)
def test_both_doors_give_the_same_answer(
    client: TestClient, args: list[str], path: str, body: dict[str, Any], words: str
) -> None:
    told, whole = run(*args), run(*args, "--json")

    response = client.post(f"/physics/{path}", json=body)

    assert told.exit_code == whole.exit_code == 0, told.output
    assert words in " ".join(told.stdout.split())
    assert response.status_code == 200, response.text
    assert response.text == whole.stdout


def test_the_chamber_and_the_blue_wool_classes_are_answered() -> None:
    air = run(*AIR, "--chamber-m3", "1", "--supply", "4")
    light = run(*LIGHT, "--blue-wool", "1-3", "--uv", "10", "--cycle-years", "4")

    assert "The chamber reaches its target" in air.stdout
    assert "just noticeable fade" in light.stdout
    assert "150 days on show in every 4 years" in " ".join(light.stdout.split())


@pytest.mark.parametrize("args", [LIGHT, AIR, SLOPE, ["moisture", "demo:pierced-membrane"]])
def test_a_drawing_is_written_to_a_file(tmp_path: Path, args: list[str]) -> None:
    path = tmp_path / "drawing.svg"

    result = run(*args, "--svg", str(path))

    assert result.exit_code == 0, result.output
    assert parsed(path.read_text("utf-8")).tag == SVG


@pytest.mark.parametrize(
    ("query", "headers"), [("?drawing=svg", {}), ("", {"accept": "image/svg+xml"})]
)
def test_a_drawing_is_served_where_it_is_asked_for(
    client: TestClient, query: str, headers: dict[str, str]
) -> None:
    body = {"temperature_c": 20, "rh_percent": 50}

    response = client.post(f"/physics/air{query}", json=body, headers=headers)

    assert response.headers["content-type"].startswith("image/svg+xml")
    assert parsed(response.text).tag == SVG


def test_a_load_without_a_drawing_says_which_have_one(client: TestClient) -> None:
    body = {"kind": "weights", "pressure_g_cm2": 1, "area_cm2": 400}

    response = client.post("/physics/load?drawing=svg", json=body)

    assert response.status_code == 404
    assert "slope" in response.json()["detail"]


@pytest.mark.parametrize(
    ("args", "words"),
    [
        (["moisture", "no.yaml"], "a readable file"),
        (["moisture", "demo:no"], "demo:silk-over-lining"),
        (["moisture", "demo:silk-over-lining", "--samples", "1"], "samples"),
        (["moisture", "demo:silk-over-lining", "--samples", "4", "--svg", "/no/x.svg"], "--svg"),
        (["air", "--temperature", "20", "--rh", "150"], "--rh"),
        (["light", "--lux", "0", "--hours-per-day", "8", "--days", "3"], "--lux"),
        ([*LIGHT, "--blue-wool", "x"], "--blue-wool"),
        ([*LIGHT, "--blue-wool", "3-1"], "--blue-wool"),
        (["load", "slope", "--mass", "3", "--angle", "0"], "--angle"),
        (
            ["load", "lines", "--density", "900", "--drop", "900", "--allowed", "0.001"],
            "--allowed",
        ),
        (["load", "weights", "--pressure", "1", "--area", "9", "--cloth", "x"], "'robust'"),
    ],
)
def test_a_mistake_is_a_sentence_and_exit_code_2(args: list[str], words: str) -> None:
    result = run(*args)

    assert result.exit_code == 2, result.output
    assert words in result.output
    assert "expected" in result.output
    assert "Traceback" not in result.output


@pytest.mark.parametrize(
    ("path", "body", "place"),
    [
        ("moisture", {}, "layers"),
        ("moisture", body_of("silk-over-lining", samples=4096), "samples"),
        ("moisture", body_of("silk-over-lining", minutes=2000), "minutes"),
        ("moisture", body_of("silk-over-lining", treat={"layer": "velvet"}), "treat.layer"),
        ("air", {"temperature_c": 20}, "rh_percent"),
        ("light", {"lux": 50, "hours_per_day": 25, "days": 3}, "hours_per_day"),
        ("load", {"kind": "crane"}, "kind"),
        ("load", {"kind": "slope", "mass_kg": -1, "angle_from_vertical_deg": 30}, "mass_kg"),
        (
            "load",
            {"kind": "lines", "areal_density_g_m2": 900, "drop_cm": 900, "allowed_load_n_m": 0.001},
            "allowed_load_n_m",
        ),
    ],
)
def test_a_wrong_field_is_a_problem_with_its_path(
    client: TestClient, path: str, body: dict[str, Any], place: str
) -> None:
    response = client.post(f"/physics/{path}", json=body)

    assert response.status_code == 422, response.text
    assert response.headers["content-type"] == "application/problem+json"
    assert place in [error["path"] for error in response.json()["errors"]]


@pytest.mark.parametrize("content", [b"{", b"", b"[]", b"\xff", b"null", b'{"lux": NaN}'])
def test_a_body_that_is_no_record_is_a_problem(client: TestClient, content: bytes) -> None:
    response = client.post(
        "/physics/light", content=content, headers={"content-type": "application/json"}
    )

    assert response.status_code in (400, 422)
    assert response.headers["content-type"] == "application/problem+json"


def test_the_examples_of_the_documentation_are_answered(client: TestClient) -> None:
    every = client.get("/openapi.json").json()["paths"]
    paths = {path: methods for path, methods in every.items() if path.startswith("/physics/")}

    assert set(paths) == {f"/physics/{one}" for one in ("moisture", "air", "light", "load")}
    for path, methods in paths.items():
        content = methods["post"]["requestBody"]["content"]["application/json"]
        for example in content["examples"].values():
            assert client.post(path, json=example["value"]).status_code == 200


@pytest.mark.parametrize(
    "command", [["moisture"], ["air"], ["light"], ["load"], ["load", "slope"], ["load", "hung"],
                ["load", "lines"], ["load", "weights"], ["load", "tape"]]
)  # fmt: skip
def test_every_command_has_help_with_an_example(command: list[str]) -> None:
    assert "Example: leastwise" in run(*command, "--help").stdout
