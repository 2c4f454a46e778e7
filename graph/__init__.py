"""The thinking of Leastwise: a case in, ranked options with reasons out.

Each name is loaded when it is first asked for, so that a command that needs none of them is quick.

>>> from leastwise.graph import load_adviser, read_demo
>>> adviser = load_adviser()
>>> answer = adviser.weigh(read_demo("furnishing-panel", adviser.knowledge))
>>> answer.damages[0].options[0].technique
'technique:hand-realignment'
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from leastwise.graph.answer import Answer
    from leastwise.graph.case.demo import demo_names, read_demo
    from leastwise.graph.case.reading import case_schema, parse_case, read_case
    from leastwise.graph.case.record import Case
    from leastwise.graph.errors import CaseError, KnowledgeError, LeastwiseError, NotFound
    from leastwise.graph.knowledge.knowledge import Knowledge, load_knowledge
    from leastwise.graph.load import load_adviser, weigh
    from leastwise.graph.shacl import check
    from leastwise.graph.weighing.advise import Adviser

__all__ = [
    "Adviser",
    "Answer",
    "Case",
    "CaseError",
    "Knowledge",
    "KnowledgeError",
    "LeastwiseError",
    "NotFound",
    "case_schema",
    "check",
    "demo_names",
    "load_adviser",
    "load_knowledge",
    "parse_case",
    "read_case",
    "read_demo",
    "weigh",
]

#: Module -> the names that it gives to the package.
_HOMES = {
    "answer": "Answer",
    "case.demo": "demo_names read_demo",
    "case.reading": "case_schema parse_case read_case",
    "case.record": "Case",
    "errors": "CaseError KnowledgeError LeastwiseError NotFound",
    "knowledge.knowledge": "Knowledge load_knowledge",
    "load": "load_adviser weigh",
    "shacl": "check",
    "weighing.advise": "Adviser",
}
_HOME = {name: module for module, names in _HOMES.items() for name in names.split()}


def __getattr__(name: str) -> object:
    """Load a name of the package when it is first asked for (PEP 562)."""
    if name not in _HOME:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value: object = getattr(import_module(f"{__name__}.{_HOME[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    """Return the names of the package."""
    return sorted({*globals(), *_HOME})
