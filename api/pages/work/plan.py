"""Pages: the plan of a case, with its order, hours, materials and limits to use."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import HTMLResponse

from leastwise.api.asking.weighty import Weighty
from leastwise.api.drawings.order import order_charts
from leastwise.api.http.state import adviser_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.pages.opened import Opened, answer_of, not_yet, open_document
from leastwise.api.pages.page import environment, render
from leastwise.api.pages.picture import picture_of
from leastwise.api.pages.work import plan_patience
from leastwise.api.pages.work.board import board_of
from leastwise.api.services.experience import experience_of
from leastwise.graph.case.record import Case
from leastwise.graph.meanings import Verdict
from leastwise.graph.planning.values import Material, Plan
from leastwise.graph.treatment.pace import Pace

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False, route_class=Weighty)
ACCESS: Access = {
    "GET /cases/{case}/plan": Action.READ_CASE,
    "GET /cases/{case}/plan/part": Action.READ_CASE,
}
TITLE = "Plan"

Undecided = Annotated[bool, Query(description="plan undecided options too")]


@dataclass(frozen=True, slots=True)
class Need:
    """One line of the list of materials: what, how much, for which step, and why so much."""

    item: str
    amount: str
    step: int
    because: str
    claims: tuple[str, ...]


@router.get("/cases/{case}/plan", response_class=HTMLResponse)
def show_plan(
    request: Request, case: str, undecided: Undecided = True, wait: bool = False
) -> Response:
    """Show the plan; if it takes its time, the page without it, and the part that fetches it."""
    opened = open_document(request, case)
    if opened.case is None:
        return not_yet(request, opened, "plan", TITLE)
    plan: Plan | None
    if wait:
        plan = plan_patience.plan_of(request, opened, undecided=undecided)
    else:
        plan = plan_patience.patiently(
            request,
            lambda: plan_patience.plan_of(request, opened, undecided=undecided),
            plan_patience.PATIENCE_S,
        )
    known = _known(request, opened) if plan is None else []
    return render(
        request,
        "plan.html",
        title=TITLE,
        step="plan",
        document=opened.document,
        case=opened.case,
        undecided=undecided,
        plan=plan,
        known=known,
        picture=picture_of(request, opened.document),
        part=f"/cases/{opened.id}/plan/part?undecided={str(undecided).lower()}",
        wait=f"/cases/{opened.id}/plan?undecided={str(undecided).lower()}&wait=true",
        **(_context(request, opened, plan) if plan is not None else {}),
    )


@router.get("/cases/{case}/plan/part", response_class=HTMLResponse)
def show_plan_part(request: Request, case: str, undecided: Undecided = True) -> Response:
    """Return the plan alone, for the page that was shown without it."""
    opened = open_document(request, case)
    if opened.case is None:
        return not_yet(request, opened, "plan", TITLE)
    plan = plan_patience.plan_of(request, opened, undecided=undecided)
    context = _context(request, opened, plan)
    text = environment().get_template("_plan.html").render(plan=plan, **context)
    return HTMLResponse(text)


def _known(request: Request, opened: Opened) -> list[tuple[str, str]]:
    """Return the damages by label with their parts: what is known before anything is chosen."""
    case = opened.case
    assert case is not None  # noqa: S101 - the caller has asked
    names = {part.id: part.name for part in case.parts}
    label = adviser_of(request).knowledge.label
    return [(d.in_words(label), ", ".join(names[p] for p in d.parts)) for d in case.damages]


def _context(request: Request, opened: Opened, plan: Plan) -> dict[str, Any]:
    """Return what the plan's template needs besides the plan."""
    case = opened.case
    assert case is not None  # noqa: S101 - the caller has asked
    return {
        "address": f"/cases/{opened.id}",
        "board": board_of(
            plan,
            answer_of(request, opened).damages,
            {d.id: number for number, d in enumerate(case.damages, 1)},
            {part.id: part.name for part in case.parts},
        ),
        "waits": any(step.verdict == Verdict.UNDECIDED for step in plan.steps),
        "charts": order_charts(plan.steps) if plan.steps else [],
        "needs": _needs(plan),
        "names": {part.id: part.name for part in case.parts},
        "hours_axis": _hours_axis(plan),
        "paces": _paces(request, case, plan),
    }


def _paces(request: Request, case: Case, plan: Plan) -> dict[int, tuple[Pace, tuple[float, float]]]:
    """Return by step how long its technique took here, and the hours of it that follow."""
    experience, found = experience_of(request), {}
    for step in plan.steps:
        pace = experience.pace_of(step.technique, case)
        if pace is not None and step.hours[0] > 0:
            found[step.number] = pace, pace.hours((step.hours[0], step.hours[1]))
    return found


def _needs(plan: Plan) -> list[Need]:
    return [
        Need(m.item, _amount(m), step.number, m.because, m.claims)
        for step in plan.steps
        for m in step.materials
    ]


def _amount(m: Material) -> str:
    if not m.amount:
        return "to be measured"
    unit = m.unit.replace("2", "²")
    low, high = m.amount
    return f"{low:g} to {high:g} {unit}" if high > low else f"{low:g} {unit}"


def _hours_axis(plan: Plan) -> dict[str, float]:
    """Return least, most and what is at hand as percent of one axis; -1 where not recorded."""
    at_hand = plan.means.hours
    known = at_hand if not isinstance(at_hand, str) else -1.0
    top = max(plan.hours[1], known, 1.0) * 1.04
    return {
        "low": round(100 * plan.hours[0] / top, 2),
        "high": round(100 * plan.hours[1] / top, 2),
        "at_hand": round(100 * known / top, 2) if known >= 0 else -1.0,
    }
