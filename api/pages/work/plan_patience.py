"""Work that may take a second: the page waits for it a little while and is shown without it then.

The work goes on in the background and its result is put on the shelf, so that the part of the
page that is fetched afterwards finds it there, or waits for the same work and not for a second one.
"""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import TimeoutError as NotYet
from typing import Final, TypeVar

from fastapi import Request

from leastwise.api.pages.behind import Behind
from leastwise.api.pages.opened import Opened, answer_of, shelved
from leastwise.graph import Adviser, Case
from leastwise.graph.answer import Answer
from leastwise.graph.planning.make import make_plan
from leastwise.graph.planning.values import Plan

__all__ = ["PATIENCE_S", "patiently", "plan_of"]

T = TypeVar("T")
#: How long a page waits, so that it answers within 300 ms.
PATIENCE_S: Final = 0.15


def patiently(request: Request, make: Callable[[], T], seconds: float = PATIENCE_S) -> T | None:
    """Return what *make* gives if it is ready in *seconds*, else None; it then goes on alone.

    Where enough goes on already, the part that is fetched afterwards does it.
    What *make* raises in that time is raised here.
    """
    behind: Behind = request.app.state.behind
    begun = behind.begin(make)
    try:
        return None if begun is None else begun.result(timeout=seconds)
    except NotYet:
        return None


def plan_of(request: Request, opened: Opened, *, undecided: bool) -> Plan:
    """Return the plan of a case that can be weighed, made once for each content."""
    return shelved(
        request,
        opened,
        f"plan {undecided}",
        _planned,
        answer_of(request, opened),
        undecided,
    )


def _planned(adviser: Adviser, case: Case, answer: Answer, undecided: bool) -> Plan:
    return make_plan(case, adviser, undecided=undecided, answer=answer)
