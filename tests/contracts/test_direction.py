"""seed_data, shapes -> graph -> api: graph knows no door."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

FORBIDDEN = (
    "leastwise.api",
    "fastapi",
    "starlette",
    "uvicorn",
    "sqlalchemy",
    "jinja2",
    "typer",
    "rich",
)
ROOT = Path(__file__).parents[2]


@pytest.mark.parametrize("module", sorted((ROOT / "graph").rglob("*.py")), ids=lambda p: p.name)
def test_graph_knows_no_door(module: Path) -> None:
    nodes = list(ast.walk(ast.parse(module.read_text("utf-8"))))
    names = {alias.name for node in nodes if isinstance(node, ast.Import) for alias in node.names}
    names |= {node.module or "" for node in nodes if isinstance(node, ast.ImportFrom)}

    assert not [n for n in names if any(n == f or n.startswith(f"{f}.") for f in FORBIDDEN)]


@pytest.mark.parametrize("module", sorted((ROOT / "graph").rglob("*.py")), ids=lambda p: p.name)
def test_graph_reads_no_environment_and_prints_nothing(module: Path) -> None:
    source = module.read_text("utf-8")

    assert "os.environ" not in source
    assert not [
        n for n in ast.walk(ast.parse(source)) if isinstance(n, ast.Name) and n.id == "print"
    ]
