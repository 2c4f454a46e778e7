"""seed_data, shapes -> graph -> api: graph knows no door."""

from __future__ import annotations

import ast
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

import leastwise.graph

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


@cache
def nodes_of(module: Path) -> tuple[ast.AST, ...]:
    """Return what a module is made of, parsed once for all that is asked of it."""
    return tuple(ast.walk(ast.parse(module.read_text("utf-8"))))


@pytest.mark.parametrize("module", sorted((ROOT / "graph").rglob("*.py")), ids=lambda p: p.name)
def test_graph_knows_no_door(module: Path) -> None:
    nodes = nodes_of(module)
    names = {alias.name for node in nodes if isinstance(node, ast.Import) for alias in node.names}
    names |= {node.module or "" for node in nodes if isinstance(node, ast.ImportFrom)}

    assert not [n for n in names if any(n == f or n.startswith(f"{f}.") for f in FORBIDDEN)]


@pytest.mark.parametrize("module", sorted((ROOT / "graph").rglob("*.py")), ids=lambda p: p.name)
def test_graph_reads_no_environment_and_prints_nothing(module: Path) -> None:
    assert "os.environ" not in module.read_text("utf-8")
    assert not [n for n in nodes_of(module) if isinstance(n, ast.Name) and n.id == "print"]


def test_help_loads_none_of_what_makes_an_answer() -> None:
    program = "import sys, leastwise.api.cli.app; print(*sorted(sys.modules))"
    told = subprocess.run(  # noqa: S603 - a program of ours
        [sys.executable, "-c", program], capture_output=True, text=True, check=True
    )
    loaded = set(told.stdout.split())

    assert "typer" in loaded
    assert not loaded & {
        "numpy",
        "networkx",
        "pydantic",
        "rdflib",
        "scipy",
        "fastapi",
        "sqlalchemy",
    }


def test_the_package_gives_every_name_that_it_promises() -> None:
    assert [name for name in leastwise.graph.__all__ if not hasattr(leastwise.graph, name)] == []
    assert set(leastwise.graph.__all__) == set(leastwise.graph._HOME)
    with pytest.raises(AttributeError, match="no attribute 'advise'"):
        _ = leastwise.graph.advise  # type: ignore[attr-defined]
