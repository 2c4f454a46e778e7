"""A display worked out at the doors: the command, its JSON and its drawings."""

from __future__ import annotations

import json
import math
import re
from dataclasses import replace
from pathlib import Path
from xml.etree import ElementTree as ET

import pytest
import yaml
from typer.testing import CliRunner

from leastwise.api.cli.app import app
from leastwise.api.drawings.display import display_drawings, heading_drawing, slope_drawing
from leastwise.graph.case.record import Case
from leastwise.graph.display.worked import work_out
from leastwise.graph.weighing.advise import Adviser
from tests.graph.display import garments

SVG = "{http://www.w3.org/2000/svg}"


@pytest.fixture
def corded(adviser: Adviser) -> Case:
    return garments.five(adviser.knowledge)["corded"]


@pytest.fixture
def kept(corded: Case, tmp_path: Path) -> Path:
    path = tmp_path / "corded.yaml"
    written = corded.model_dump(mode="json", exclude_defaults=True)
    path.write_text(yaml.safe_dump(written), "utf-8")
    return path


def test_the_command_tells_padding_loads_and_mend(kept: Path) -> None:
    said = CliRunner().invoke(app, ["mount", str(kept)])

    assert said.exit_code == 0, said.output
    words = " ".join(re.sub(r"[│┃]", " ", said.output).split())
    for part in ("Form, waist", "Padding by height", "too much", "What carries it"):
        assert part in words


def test_json_is_the_worked_display(kept: Path) -> None:
    said = CliRunner().invoke(app, ["mount", str(kept), "--json"])
    worked = json.loads(said.output)

    assert worked["figure"]["helps"][0]["state"] == "too much"
    assert worked["weight_n"] == pytest.approx(33.354)


def test_a_drawing_is_written(kept: Path, tmp_path: Path) -> None:
    path = tmp_path / "figure.svg"
    said = CliRunner().invoke(app, ["mount", str(kept), "--draw", str(path), "--json"])

    assert said.exit_code == 0, said.output
    assert ET.fromstring(path.read_text("utf-8")).tag == f"{SVG}svg"  # noqa: S314 - our own


def test_nothing_to_draw_is_told_in_a_sentence(tmp_path: Path) -> None:
    said = CliRunner().invoke(
        app, ["mount", "demo:furnishing-panel", "--as", "on-figure", "--draw", str(tmp_path / "x")]
    )

    assert said.exit_code == 2
    assert "nothing to draw" in said.output


def test_a_figure_is_drawn_to_scale(corded: Case, adviser: Adviser) -> None:
    (text,) = display_drawings(work_out(corded, adviser.catalogue))
    root = ET.fromstring(text)  # noqa: S314 - our own
    words = [one.text or "" for one in root.iter(f"{SVG}text")]
    skirt = _points(next(p for p in root.iter(f"{SVG}path") if p.get("fill") == "#f6f0e4"))
    bar = next(n for n, word in enumerate(words) if re.fullmatch(r"\d+ cm", word))
    cm = float(words[bar].split()[0])
    scale = _scale(root) / cm

    assert (skirt[2][0] - skirt[1][0]) / scale == pytest.approx(380 / 3.14159, rel=0.01)
    assert any("too much" in word for word in words)
    assert any("pad" in word for word in words)


@pytest.mark.parametrize("size", [(240, 300), (300, 90), (60, 310)])
def test_a_hanging_is_drawn_to_scale_and_a_length_not_recorded_is_told(
    adviser: Adviser, size: tuple[float, float]
) -> None:
    wool = garments.part("wool piece", "wool", **garments.heavy(600))
    wide, long = size
    case = garments.hanging(
        adviser.knowledge, wool, width_cm=wide, length_cm=long, weight_g=0.06 * wide * long
    )
    found = work_out(case, adviser.catalogue).hung
    assert found is not None
    root = ET.fromstring(heading_drawing(found))  # noqa: S314 - our own
    words = [one.text or "" for one in root.iter(f"{SVG}text")]
    cloth = next(one for one in root.iter(f"{SVG}rect") if one.get("stroke-width") == "1.4")
    lengths = [word for word in words if re.fullmatch(r"\d+ cm", word)]
    scale = _scale(root) / float(lengths[-1].split()[0])  # after width and length

    assert float(cloth.get("width") or 0) / scale == pytest.approx(wide, rel=0.01)
    assert float(cloth.get("height") or 0) / scale == pytest.approx(long, rel=0.01)
    unknown = heading_drawing(replace(found, drop_cm=None))
    assert "length not recorded" in unknown
    assert "heading, to scale" not in unknown


@pytest.mark.parametrize("angle", [20, 45, 70])
def test_a_board_is_drawn_at_its_angle(adviser: Adviser, angle: float) -> None:
    wool = garments.part("wool piece", "wool", **garments.heavy(600))
    slants = work_out(garments.panel(adviser.knowledge, wool, angle), adviser.catalogue).slants

    assert slants
    for one in slants:
        root = ET.fromstring(slope_drawing(one) or "")  # noqa: S314 - our own
        board = _points(next(p for p in root.iter(f"{SVG}path") if p.get("fill") == "#f1efe9"))
        (x, y), (end_x, end_y) = board[:2]
        assert math.degrees(math.atan2(end_x - x, y - end_y)) == pytest.approx(angle, abs=0.5)


def _points(path: ET.Element) -> list[tuple[float, float]]:
    pairs = re.findall(r"(-?[\d.]+) (-?[\d.]+)", path.get("d") or "")
    return [(float(x), float(y)) for x, y in pairs]


def _scale(root: ET.Element) -> float:
    """Return the length of the bar of scale: the only open line of four points."""
    lines = [p for p in root.iter(f"{SVG}path") if p.get("fill") == "none"]
    bar = next(p for p in map(_points, lines) if len(p) == 4 and p[1][1] == p[2][1])
    return bar[2][0] - bar[1][0]


def test_hangings_and_slopes_are_drawn(adviser: Adviser) -> None:
    k = adviser.knowledge
    wool = garments.part("wool piece", "wool", **garments.heavy(600))
    hung = garments.hanging(k, wool, width_cm=240, length_cm=300, weight_g=4400)
    slope = garments.panel(k, wool, 60)
    drawings = [
        *display_drawings(work_out(hung, adviser.catalogue)),
        *display_drawings(work_out(slope, adviser.catalogue)),
    ]

    assert len(drawings) == 3
    names = [re.findall(r'id="([^"]+)-title"', text)[0] for text in drawings]
    assert len(set(names)) == 3
    assert "300 cm" in drawings[0]
    assert "holds by friction" in drawings[2]
