"""The invented cases that come with the package."""

from __future__ import annotations

from collections.abc import Mapping
from importlib import resources
from pathlib import Path

from leastwise.graph.case.reading import load_text, read_case
from leastwise.graph.case.record import Case
from leastwise.graph.errors import NotFound
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["demo_names", "demo_path", "demo_sketch", "read_demo"]


def demo_names() -> list[str]:
    """Return the names of the demo cases, in alphabetical order."""
    return sorted(path.stem for path in _folder().glob("*.yaml"))


def demo_path(name: str) -> Path:
    """Return the file of a demo case.

    Raises:
        NotFound: no demo case is called so; the names there are stand in the message.

    """
    path = _folder() / f"{name}.yaml"
    if name not in demo_names():
        raise NotFound("demo case", name, demo_names())
    return path


def read_demo(name: str, knowledge: Knowledge) -> Case:
    """Return a demo case by name."""
    return read_case(demo_path(name), knowledge)


def demo_sketch(name: str) -> Mapping[str, object]:
    """Return the invented sketch plan of a demo case: its ground, and the regions of its parts.

    Points are shares of the width from the left and of the height from the top.

    Raises:
        NotFound: no demo case is called so.

    """
    path = demo_path(name).parent / "sketches" / f"{name}.yaml"
    found = load_text(path.read_text("utf-8"), is_json=False)
    return found if isinstance(found, dict) else {}


def _folder() -> Path:
    return Path(str(resources.files("leastwise.seed_data"))) / "demo"
