"""Whose judgement a claim, a grade or a working time is, and of which day.

What rests on a source is its author's. What is common practice or recalled is somebody's judgement:
of whoever it names (``dcterms:creator``, ``dcterms:created``), else of those that its basis names.
"""

from __future__ import annotations

from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["judged_by"]


def judged_by(one: str, knowledge: Knowledge) -> str:
    """Return who judged it and when, "" for what was read or says no basis.

    >>> from leastwise.graph import load_adviser
    >>> judged_by("technique:steam", load_adviser().knowledge)
    'the authors of Leastwise, from common practice, 2026-11-25'
    """
    basis = knowledge.object(one, "lw:basis")
    if basis is None:
        return ""
    said = (
        knowledge.text(one, predicate) or knowledge.text(basis, predicate)
        for predicate in ("dcterms:creator", "dcterms:created")
    )
    return ", ".join(part for part in said if part)
