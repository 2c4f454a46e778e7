"""What is frozen stays as it is: its fields are tuples and mappings, and what it keeps is its own.

A frozen value may keep what it has worked out. Where it does, the field is private, and stands
neither in ``repr`` nor in ``==``: two values with the same answer kept or not are the same value.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

ROOT = Path(__file__).parents[2]
PATHS = sorted([*ROOT.glob("graph/**/*.py"), *ROOT.glob("api/**/*.py")])
MUTABLE = {"list", "dict", "set", "deque", "defaultdict", "bytearray"}


def frozen() -> Iterator[tuple[str, ast.ClassDef, str]]:
    """Yield every frozen dataclass: its file, its tree and the words of its decorator."""
    for path in PATHS:
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.ClassDef):
                words = " ".join(ast.unparse(one) for one in node.decorator_list)
                if "dataclass" in words and "frozen=True" in words:
                    yield str(path.relative_to(ROOT)), node, words


def is_mutable(annotation: ast.expr) -> bool:
    return any(isinstance(one, ast.Name) and one.id in MUTABLE for one in ast.walk(annotation))


def is_kept_apart(field: ast.AnnAssign, decorator: str) -> bool:
    """Return whether a field is private and outside of ``repr`` and ``==``."""
    said = "" if field.value is None else ast.unparse(field.value)
    compared = "compare=False" not in said and "eq=False" not in decorator
    return ast.unparse(field.target).startswith("_") and "repr=False" in said and not compared


def test_a_frozen_value_holds_nothing_that_can_be_changed() -> None:
    found = [
        f"{file}:{field.lineno} {node.name}.{ast.unparse(field)}"
        for file, node, decorator in frozen()
        for field in node.body
        if isinstance(field, ast.AnnAssign)
        and is_mutable(field.annotation)
        and not is_kept_apart(field, decorator)
    ]

    assert len(list(frozen())) > 300
    assert found == []


def test_nothing_is_put_into_an_object_past_its_fields() -> None:
    found = [
        f"{path.relative_to(ROOT)}:{node.lineno}"
        for path in PATHS
        for node in ast.walk(ast.parse(path.read_text("utf-8")))
        if isinstance(node, ast.Attribute) and node.attr in ("__dict__", "__setattr__")
    ]

    assert found == []
