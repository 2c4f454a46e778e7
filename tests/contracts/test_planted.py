"""Faults that would be costly are noticed by the tests beside the step that they stand in."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
FAULTS = tomllib.loads((ROOT / "bench/planted.toml").read_text("utf-8"))["fault"]


@pytest.mark.parametrize("fault", FAULTS, ids=lambda fault: str(fault["what"]))
def test_a_planted_fault_still_has_its_place(fault: dict[str, str]) -> None:
    source = (ROOT / "graph" / f"{fault['module']}.py").read_text("utf-8")

    assert source.count(fault["was"]) == 1
    assert source.replace(fault["was"], fault["becomes"]) != source


@pytest.mark.slow
def test_each_planted_fault_is_noticed() -> None:
    command = [sys.executable, str(ROOT / "bench/mutants.py"), "--planted"]
    done = subprocess.run(  # noqa: S603 - our own interpreter and script
        command, cwd=ROOT, capture_output=True, text=True, check=False
    )

    assert done.returncode == 0, done.stdout + done.stderr
    assert f"{len(FAULTS)} of {len(FAULTS)} faults noticed" in done.stdout
