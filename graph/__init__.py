"""The thinking of Leastwise: a case in, ranked options with reasons out.

>>> from leastwise.graph import load_adviser, read_demo
>>> adviser = load_adviser()
>>> answer = adviser.weigh(read_demo("furnishing-panel", adviser.knowledge))
>>> answer.damages[0].options[0].technique
'technique:hand-realignment'
"""

from __future__ import annotations

from functools import cache

from leastwise.graph.answer import Answer
from leastwise.graph.case.demo import demo_names, read_demo
from leastwise.graph.case.reading import case_schema, parse_case, read_case
from leastwise.graph.case.record import Case
from leastwise.graph.errors import CaseError, KnowledgeError, LeastwiseError, NotFound
from leastwise.graph.knowledge.knowledge import Knowledge, load_knowledge
from leastwise.graph.load import load_adviser
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


@cache
def _shipped_adviser() -> Adviser:
    return load_adviser()


def weigh(case: Case, adviser: Adviser | None = None) -> Answer:
    """Return the options of a case, least burden that meets the aim first, with reasons.

    Without an *adviser* the shipped knowledge is loaded on the first call. Read the case with
    :func:`read_case` or :func:`parse_case`, which tie its names to the knowledge.
    """
    return (adviser or _shipped_adviser()).weigh(case)
