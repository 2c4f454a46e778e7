"""Page: a humidification worked out, station by station, as one works from it."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import HTMLResponse

from leastwise.api.asking.weighty import Weighty, work
from leastwise.api.documents.bench_sheet import Edition, Ground, sheet_document, worked_step
from leastwise.api.documents.proposal_figures import as_address, photograph_of
from leastwise.api.documents.proposal_pdf import set_pdf
from leastwise.api.drawings.layers import layers_drawing
from leastwise.api.drawings.on_sketch import WHERE, section_on_sketch, stations_on_sketch
from leastwise.api.drawings.stations import BARS, stations_drawing
from leastwise.api.http.state import adviser_of, store_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.pages.opened import Opened, answer_of, not_yet, open_document, shelved
from leastwise.api.pages.page import render
from leastwise.graph import Adviser, Case
from leastwise.graph.answer import Answer
from leastwise.graph.errors import UnknownOption
from leastwise.graph.stations.sheet import (
    HumidificationSheet,
    has_stations,
    humidification_sheet,
)

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False, route_class=Weighty)
ACCESS: Access = {
    "GET /cases/{case}/stations": Action.READ_CASE,
    "GET /cases/{case}/bench/sheet.pdf": Action.READ_CASE,
}
TITLE = "Stations"

Option = Annotated[str, Query(max_length=200, description="an option that brings vapour")]
Also = Annotated[tuple[str, ...], Query(max_length=20, description="done in the same step")]


@router.get("/cases/{case}/stations", response_class=HTMLResponse)
def show_stations(request: Request, case: str, option: Option = "") -> Response:
    """Show the stations of an option; of the first that brings vapour if none is named."""
    opened = open_document(request, case)
    if opened.case is None:
        return not_yet(request, opened, "bench", TITLE)
    there = _there(request, opened)
    if option and option not in {id_ for id_, _ in there}:
        raise UnknownOption("option", option, [id_ for id_, _ in there][:3])
    chosen = option or (there[0][0] if there else "")
    sheet = _sheet(request, opened, chosen) if chosen else None
    return render(
        request,
        "stations.html",
        title=TITLE,
        step="bench",
        document=opened.document,
        chosen=chosen,
        there=there,
        sheet=sheet,
        captions={"order": BARS, "sketch": WHERE},
        **_drawings(request, opened, sheet),
    )


def _drawings(
    request: Request, opened: Opened, sheet: HumidificationSheet | None
) -> dict[str, Any]:
    if sheet is None:
        return {"drawing": "", "layers": {}, "on_sketch": "", "lit": {}}
    return work(request, _drawn, sheet, ground_of_case(request, opened))


def _drawn(sheet: HumidificationSheet, ground: Ground | None) -> dict[str, Any]:
    """Return the drawings: order, packs, and on the stored sketch all sections and each alone."""
    found = {"drawing": stations_drawing(sheet), "layers": _layers(sheet)}
    if ground is None:
        return {**found, "on_sketch": "", "lit": {}}
    given = ground.sketch, ground.picture_href
    lit = {one.number: section_on_sketch(one, *given) for one in sheet.sections}
    return {**found, "on_sketch": stations_on_sketch(sheet, *given), "lit": lit}


def ground_of_case(request: Request, opened: Opened) -> Ground | None:
    """Return the newest sketch of a case with the photograph that it lies on; None without one."""
    sketches = store_of(request).of_case(opened.id, "sketch")
    if not sketches or not sketches[-1].body.get("regions"):
        return None
    body = sketches[-1].body
    name = str(body.get("ground", "")).removeprefix("photograph:")
    listed = {one.id for one in store_of(request).pictures(opened.id)}
    if name not in listed:
        return Ground(body)
    return Ground(body, as_address(photograph_of(store_of(request).picture(opened.id, name))))


@router.get("/cases/{case}/bench/sheet.pdf")
def bench_pdf(request: Request, case: str, option: Option, also: Also = ()) -> Response:
    """Return the sheet of one option as PDF: all that the page holds, with its drawings.

    *also* are options for further problems that the same step of the plan answers.
    """
    opened = open_document(request, case)
    if opened.case is None:
        return not_yet(request, opened, "bench", TITLE)
    adviser, answer = adviser_of(request), answer_of(request, opened)
    stations = _sheet(request, opened, option)
    today = datetime.now(UTC).date().isoformat()
    edition = Edition(opened.digest, adviser.knowledge.digest, today)
    ground = ground_of_case(request, opened) if stations else None
    given = answer, option, also, stations, edition, ground
    name = f"{opened.case.id}-{option.replace('/', '-')}.pdf"
    return Response(
        work(request, _sheet_as_pdf, opened.case, *given, policy=""),
        media_type="application/pdf",
        headers={"content-disposition": f'inline; filename="{name}"'},
    )


def _sheet_as_pdf(  # noqa: PLR0913, PLR0917 - what a sheet is made of
    adviser: Adviser,
    case: Case,
    answer: Answer,
    option: str,
    also: tuple[str, ...],
    stations: HumidificationSheet | None,
    edition: Edition,
    ground: Ground | None,
) -> bytes:
    step = worked_step(adviser, case, answer, option, stations, also)
    made = sheet_document(case, step, edition, ground)
    return set_pdf("bench", made.plain, made.files, edition.date)


def _there(request: Request, opened: Opened) -> list[tuple[str, str]]:
    """Return the options that bring vapour and are not defeated, those that come first first."""
    k = adviser_of(request).knowledge
    found = [
        (option.rank, option.id, f"{option.label} for {damage.label} ({option.verdict})")
        for damage in answer_of(request, opened).damages
        for option in damage.options
        if option.verdict != "defeated" and has_stations(k, option.technique)
    ]
    return [(id_, label) for _, id_, label in sorted(found)]


def _sheet(request: Request, opened: Opened, option: str) -> HumidificationSheet | None:
    answer = answer_of(request, opened)
    return shelved(
        request,
        opened,
        f"stations {option}",
        humidification_sheet,
        answer,
        option,
    )


def _layers(sheet: HumidificationSheet) -> dict[int, Any]:
    return {
        one.number: layers_drawing(
            one.layers, f"lw-pack-{one.number}", f"Pack on the {one.names[0]}"
        )
        for one in sheet.sections
        if one.layers is not None
    }
