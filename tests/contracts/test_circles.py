"""No module imports itself by a detour, in graph or in api; imports inside functions count."""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

import networkx
import pytest

ROOT = Path(__file__).parents[2]


def imports_of(folder: str) -> Iterator[tuple[str, str]]:
    """Yield (module, module that it imports) within ``leastwise.<folder>``."""
    top = f"leastwise.{folder}"
    modules = {
        ".".join((top, *path.relative_to(ROOT / folder).with_suffix("").parts)): path
        for path in (ROOT / folder).rglob("*.py")
        if path.name != "__init__.py"
    }
    for module, path in modules.items():
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module:
                full = [f"{node.module}.{alias.name}" for alias in node.names]
                yield from ((module, name) for name in (node.module, *full) if name in modules)


@pytest.mark.parametrize("folder", ["graph", "api"])
def test_no_imports_go_in_a_circle(folder: str) -> None:
    edges = list(imports_of(folder))
    circles = networkx.strongly_connected_components(networkx.DiGraph(edges))

    assert len(edges) > 100
    assert [sorted(circle) for circle in circles if len(circle) > 1] == []
