"""Pages: bench sheets, one printed page each."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import HTMLResponse

from leastwise.api.asking.weighty import Weighty
from leastwise.api.drawings.display import display_drawings
from leastwise.api.drawings.layers import layers_drawing
from leastwise.api.http.state import adviser_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.pages.opened import Opened, answer_of, not_yet, open_document, shelved
from leastwise.api.pages.page import environment, render
from leastwise.api.pages.picture import picture_of
from leastwise.api.pages.work import plan_patience, stations
from leastwise.api.pages.work.bench_fit import Fit, fitted
from leastwise.graph import Adviser, Case
from leastwise.graph.answer import Answer
from leastwise.graph.errors import UnknownOption
from leastwise.graph.ids import OptionId
from leastwise.graph.meanings import Verdict
from leastwise.graph.planning.bench_sheet import BenchSheet, bench_sheet
from leastwise.graph.planning.values import Plan
from leastwise.graph.stations.sheet import has_stations
from leastwise.graph.weighing.candidates import find_candidates

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False, route_class=Weighty)
router.include_router(stations.router)
ACCESS: Access = {
    "GET /cases/{case}/bench": Action.READ_CASE,
    "GET /cases/{case}/bench/part": Action.READ_CASE,
    **stations.ACCESS,
}
TITLE = "Bench sheet"
SHEETS_MOST = 60

Option = Annotated[list[str], Query(max_length=SHEETS_MOST)]
Undecided = Annotated[bool, Query(description="of the plan with undecided options")]


@dataclass(frozen=True, slots=True)
class Printed:
    """One sheet as it is set, with its drawing; *also* are further options that it is for.

    *display* are the drawings of a mount, which has a page of its own.
    """

    number: int
    fit: Fit
    drawing: str
    also: tuple[str, ...]
    display: tuple[str, ...]
    stations: bool  # whether a humidification is worked out
    step: int = 0  # of the plan; 0 where the sheet was asked for by its option


@dataclass(frozen=True, slots=True)
class Ready:
    """What the page shows: sheets, and in sentences what has none and why."""

    sheets: tuple[Printed, ...]
    without: tuple[str, ...]
    groups: tuple[tuple[str, tuple[tuple[str, str], ...]], ...]


@router.get("/cases/{case}/bench", response_class=HTMLResponse)
def show_bench(
    request: Request,
    case: str,
    option: Option = [],  # noqa: B006 - read only
    undecided: Undecided = True,
    wait: bool = False,
) -> Response:
    """Show the sheets of the options asked for, or of those of the plan."""
    opened = open_document(request, case)
    if opened.case is None:
        return not_yet(request, opened, "bench", TITLE)
    wanted = _wanted(request, opened, option)
    ready: Ready | None
    if wait:
        ready = _ready(request, opened, wanted, undecided=undecided)
    else:
        ready = plan_patience.patiently(
            request,
            lambda: _ready(request, opened, wanted, undecided=undecided),
            plan_patience.PATIENCE_S,
        )
    query = urlencode([("undecided", str(undecided).lower()), *(("option", o) for o in wanted)])
    return render(
        request,
        "bench.html",
        title=TITLE,
        step="bench",
        document=opened.document,
        ready=ready,
        picture=picture_of(request, opened.document),
        part=f"/cases/{opened.id}/bench/part?{query}",
        wait=f"/cases/{opened.id}/bench?{query}&wait=true",
        **_context(request, opened, wanted, undecided=undecided),
    )


@router.get("/cases/{case}/bench/part", response_class=HTMLResponse)
def show_bench_part(
    request: Request,
    case: str,
    option: Option = [],  # noqa: B006 - read only
    undecided: Undecided = True,
) -> Response:
    """Return the sheets alone, for the page that was shown without them."""
    opened = open_document(request, case)
    if opened.case is None:
        return not_yet(request, opened, "bench", TITLE)
    wanted = _wanted(request, opened, option)
    ready = _ready(request, opened, wanted, undecided=undecided)
    text = (
        environment()
        .get_template("_bench.html")
        .render(
            ready=ready,
            document=opened.document,
            stamp=adviser_of(request).knowledge.digest,
            **_context(request, opened, wanted, undecided=undecided),
        )
    )
    return HTMLResponse(text)


def _wanted(request: Request, opened: Opened, given: Sequence[str]) -> tuple[str, ...]:
    """Return the options asked for, each once.

    Raises:
        UnknownOption: the case has no such option; told before anything is worked out.

    """
    known = shelved(
        request,
        opened,
        "option ids",
        _option_ids,
    )
    wanted = tuple(dict.fromkeys(one for one in given if one))
    for one in wanted:
        if one not in known:
            raise UnknownOption("option", one, [])
    return wanted


def _option_ids(adviser: Adviser, case: Case) -> frozenset[str]:
    return frozenset(c.id for c in find_candidates(case, adviser.catalogue))


def _context(
    request: Request, opened: Opened, wanted: Sequence[str], *, undecided: bool
) -> dict[str, Any]:
    case = opened.case
    assert case is not None  # noqa: S101 - the caller has asked
    return {
        "case": case,
        "wanted": wanted,
        "undecided": undecided,
        "today": datetime.now(UTC).date().isoformat(),
        "digest": opened.digest,
        "rules": adviser_of(request).rules.digest,
    }


def _ready(request: Request, opened: Opened, wanted: tuple[str, ...], *, undecided: bool) -> Ready:
    """Return the sheets; the plan and the physics of packs may take a second at first."""
    what, answer = f"bench {undecided} {wanted}", answer_of(request, opened)
    plan = None if wanted else plan_patience.plan_of(request, opened, undecided=undecided)
    return shelved(request, opened, what, _made, answer, wanted, plan)


def _made(
    adviser: Adviser, case: Case, answer: Answer, wanted: tuple[str, ...], plan: Plan | None
) -> Ready:
    """Return the sheets of the options that are *wanted*, or of those of a plan."""
    without: list[str] = []
    place: dict[str, int] = {}
    if plan is not None:
        wanted, without = _of_plan(answer, plan)
        place = {o: step.number for step in plan.steps for o in step.options}
    printed: list[Printed] = []
    for number, (one, *also) in enumerate(_by_technique(wanted), 1):
        sheet = bench_sheet(adviser, case, answer, one, also)
        if sheet.verdict == Verdict.DEFEATED:
            without.append(f"{sheet.label}: defeated as the case stands. {sheet.against[0]}")
        else:
            in_stations = has_stations(adviser.knowledge, OptionId(one).technique)
            made = _printed(sheet, number, tuple(also), stations=in_stations)
            printed.append(replace(made, step=place.get(one, 0)))
    return Ready(tuple(printed), tuple(without), _groups(answer))


def _groups(answer: Answer) -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    return tuple(
        (
            f"{damage.label} ({damage.id})",
            tuple(
                (o.id, f"{o.label} ({o.verdict})")
                for o in damage.options
                if o.verdict != Verdict.DEFEATED
            ),
        )
        for damage in answer.damages
    )


def _by_technique(wanted: Sequence[str]) -> list[list[str]]:
    """Return the options of each technique together: one piece of work, and one sheet."""
    found: dict[str, list[str]] = {}
    for one in dict.fromkeys(wanted):
        found.setdefault(OptionId(one).technique, []).append(one)
    return list(found.values())


def _of_plan(answer: Answer, plan: Plan) -> tuple[tuple[str, ...], list[str]]:
    """Return the options of the plan's steps, and in words the steps that have no sheet.

    What only carries the object, on the way or shown another way, answers none of its problems,
    and has no sheet.
    """
    known = {o.id: d.id for d in answer.damages for o in d.options}
    wanted: list[str] = []
    without: list[str] = []
    for step in plan.steps[:SHEETS_MOST]:
        if known.get(step.options[0]) in step.damages:
            wanted += step.options
        else:
            without.append(f"Step {step.number}, {step.label}: {step.because}")
    if not plan.steps:
        without.append("The plan holds no work; what is left alone is recorded and watched.")
    return tuple(wanted), without


def _printed(sheet: BenchSheet, number: int, also: tuple[str, ...], *, stations: bool) -> Printed:
    drawing = ""
    if sheet.layers is not None:
        title = f"Layers for {sheet.label}"
        drawing = layers_drawing(sheet.layers, f"lw-layers-{number}", title)
    display = () if sheet.display is None else display_drawings(sheet.display, f"-{number}")
    return Printed(number, fitted(sheet, drawing), drawing, also, display, stations)
