"""The bench sheet of a step on the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner

from leastwise.api.cli.app import app
from leastwise.graph.setups.stack_file import parse_stack

DANCER, PACK = "demo:festival-dancer", "crushed-tiers/membrane-pack-suspended"


def test_the_sheet_is_printed_drawn_and_its_packs_are_written(tmp_path: Path) -> None:
    svg, packs = tmp_path / "stations.svg", tmp_path / "packs"

    done = CliRunner().invoke(
        app, ["bench", DANCER, PACK, "--draw", str(svg), "--stacks", str(packs)]
    )

    assert done.exit_code == 0, done.output
    assert "If a station goes wrong" in done.output
    assert "top tier of the overskirt" in svg.read_text("utf-8")
    written = sorted(packs.glob("*.json"))
    assert len(written) == 3
    for file in written:
        assert parse_stack(file.read_text("utf-8"), is_json=True).demo


def test_a_step_by_its_number_as_json() -> None:
    done = CliRunner().invoke(app, ["bench", DANCER, "1", "--json"])

    told = json.loads(done.stdout)
    assert told["sheet"]["option"].startswith("loose-sequins/")
    assert told["stations"] is None


def test_what_there_is_not_is_told_with_what_there_is() -> None:
    for asked, said in (
        (["99"], "steps 1 to"),
        (["crushed-tiers/nothing"], "crushed-tiers/nothing"),
        (["1", "--draw", "x.svg"], "neither stations nor a display"),
        (["1", "--out", "x.txt"], "name it .pdf"),
    ):
        wrong = CliRunner().invoke(app, ["bench", DANCER, *asked])
        assert wrong.exit_code == 2
        assert said in wrong.output
        assert not Path("x.svg").exists()


@pytest.mark.parametrize(("option", "name"), [
    ("--draw", "x.svg"), ("--out", "x.pdf"), ("--stacks", "x"),
])  # fmt: skip
def test_a_file_that_cannot_be_written_is_told(tmp_path: Path, option: str, name: str) -> None:
    kept = tmp_path / "kept"
    kept.write_text("", "utf-8")

    wrong = CliRunner().invoke(app, ["bench", DANCER, PACK, option, str(kept / name)])

    assert wrong.exit_code == 2
    assert "expected a file that can be written" in wrong.output


def test_the_sheet_of_a_mount_has_its_sizes_and_loads_and_is_written_as_pdf(tmp_path: Path) -> None:
    pdf, svg = tmp_path / "sheet.pdf", tmp_path / "slope.svg"

    done = CliRunner().invoke(
        app,
        ["bench", "demo:guild-banner", "splits/slant-board", "--out", str(pdf), "--draw", str(svg)],
    )

    assert done.exit_code == 0, done.output
    assert "Slope, smooth cover" in done.output
    assert pdf.read_bytes().startswith(b"%PDF-1.7")
    assert "from the vertical" in svg.read_text("utf-8")
