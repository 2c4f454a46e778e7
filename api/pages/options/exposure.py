"""Pages: the exposure picture, the path of an agent through the contacts of a case."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import HTMLResponse

from leastwise.api.asking.weighty import Weighty, work
from leastwise.api.drawings.network import Mark, Touch, network_drawing
from leastwise.api.http.state import adviser_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.pages.opened import Opened, not_yet, open_document, shelved
from leastwise.api.pages.page import render
from leastwise.api.pages.work import plan_patience
from leastwise.graph import Adviser, Case
from leastwise.graph.ids import OptionId
from leastwise.graph.questions.exposure_picture import Doses, exposure_picture, first_option
from leastwise.graph.questions.exposure_values import (
    AgentPath,
    ExposurePicture,
    PartReached,
    Supposed,
)

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False, route_class=Weighty)
ACCESS: Access = {"GET /cases/{case}/exposure": Action.READ_CASE}
TITLE = "What reaches what"
TESTED = {
    "good": "tested: good",
    "bad": "tested: bad",
    "inconclusive": "tested: inconclusive",
    "untested": "not tested",
}
PARTS_MOST = 24  # drawn at once, unless all are asked for

Numbers = Annotated[list[int], Query(max_length=2000)]


@dataclass(frozen=True, slots=True)
class Group:
    """The options of one damage, as a select offers them."""

    label: str
    options: tuple[tuple[str, str], ...]


@router.get("/cases/{case}/exposure", response_class=HTMLResponse)
def show_exposure(  # noqa: PLR0913, PLR0917 - the fields of the address
    request: Request,
    case: str,
    option: str = "",
    agent: str = "",
    barrier: Numbers = [],  # noqa: B006 - read only
    parting: Numbers = [],  # noqa: B006 - read only
    whole: bool = False,
    wait: bool = False,
) -> Response:
    """Show the path of an agent of an option, and what supposed barriers would change."""
    opened = open_document(request, case)
    if opened.case is None:
        return not_yet(request, opened, "exposure", TITLE)
    doses = _doses(request, opened, wait=wait)
    if doses is None:
        return _pending(request, opened)
    chosen = option or shelved(request, opened, "exposure first", first_option)
    supposed = Supposed(tuple(sorted(set(barrier))), tuple(sorted(set(parting))))
    picture, changed_agent = _picture(request, opened, (chosen, agent), supposed, doses)
    return render(
        request,
        "exposure.html",
        title=TITLE,
        step="exposure",
        document=opened.document,
        case=opened.case,
        pending="",
        groups=shelved(request, opened, "exposure options", _groups),
        chosen=chosen,
        picture=picture,
        changed_agent=changed_agent,
        supposed=supposed,
        shown=_shown(picture),
        whole=whole,
        **work(request, _drawn, opened.case, picture, supposed, whole),
        tested=TESTED,
    )


def _doses(request: Request, opened: Opened, *, wait: bool) -> Doses | None:
    """Return the computed doses of planned packs, or None while they are being computed."""

    def make() -> Doses:
        return shelved(request, opened, "pack doses", _computed)

    if wait or not (opened.case and opened.case.packs):
        return make()
    return plan_patience.patiently(request, make, plan_patience.PATIENCE_S)


def _computed(adviser: Adviser, case: Case) -> Doses:
    return adviser.steps(case).computed


def _pending(request: Request, opened: Opened) -> Response:
    """Return the page without its picture, which the script fetches or a link leads to."""
    return render(
        request,
        "exposure.html",
        title=TITLE,
        step="exposure",
        document=opened.document,
        pending=str(request.url.include_query_params(wait="true").replace(scheme="", netloc="")),
    )


def _groups(adviser: Adviser, case: Case) -> tuple[Group, ...]:
    """Return the options by damage; leaving alone brings nothing and comes last."""
    found: dict[str, list[tuple[str, str]]] = {}
    for c in sorted(adviser.steps(case).candidates, key=lambda c: c.is_baseline):
        found.setdefault(c.damage.id, []).append((c.id, c.technique.label))
    return tuple(
        Group(f"{d.in_words(adviser.knowledge.label)} ({d.id})", tuple(found.get(d.id, ())))
        for d in case.damages
    )


def _picture(
    request: Request, opened: Opened, asked: tuple[str, str], supposed: Supposed, doses: Doses
) -> tuple[ExposurePicture | None, bool]:
    """Return the picture of an option and agent, and whether another agent had to be taken."""
    option, agent = asked
    if not option:
        return None, False
    technique = OptionId(option).technique
    known = adviser_of(request).catalogue.techniques.get(technique)
    brings = {use.agent for use in known.brings} if known else set()
    changed = bool(agent) and agent not in brings
    taken = "" if changed else agent

    given = option, taken, supposed, doses
    if supposed and opened.case is not None:
        # So many could be supposed that they would push everything else off the shelf.
        return work(request, _pictured, opened.case, *given, policy=""), changed
    return shelved(request, opened, f"exposure {option} {taken}", _pictured, *given), changed


def _pictured(  # noqa: PLR0913, PLR0917 - what a picture is made of
    adviser: Adviser, case: Case, option: str, agent: str, supposed: Supposed, doses: Doses
) -> ExposurePicture:
    return exposure_picture(adviser, case, option, agent, supposed, computed=doses)


def _shown(picture: ExposurePicture | None) -> AgentPath | None:
    """Return the path that is drawn: as it would be where something is supposed."""
    if picture is None:
        return None
    return picture.would_be.path if picture.would_be else picture.path


def _drawn(
    case: Case, picture: ExposurePicture | None, supposed: Supposed, whole: bool
) -> dict[str, Any]:
    """Return the drawing, and how many parts out of the way it leaves out."""
    path = _shown(picture)
    if path is None:
        return {"drawing": "", "left_out": 0}
    touches = [
        Touch(
            *one.between,
            one.kind,
            "in-place" if number in supposed.barriers else one.barrier,
            "done" if number in supposed.partings else one.parting,
        )
        for number, one in enumerate(case.contacts, 1)
    ]
    near = _near(case, path) if len(case.parts) > PARTS_MOST and not whole else None
    parts = [(part.id, part.name) for part in case.parts if near is None or part.id in near]
    marked = {part: Mark(style="dim") for part, _ in parts}
    marked |= {one.part: _mark(one) for one in path.reached}
    lines = {i: Mark(style="dim") for i in range(len(touches))} | _lines(path.reached)
    drawing = network_drawing(
        parts,
        touches,
        name="exposure",
        title=f"The path of {path.label}",
        marked_parts=marked,
        marked_touches=lines,
    )
    return {"drawing": drawing, "left_out": len(case.parts) - len(parts)}


def _near(case: Case, path: AgentPath) -> set[str]:
    """Return the parts on the ways, and those that touch them."""
    on_way = {part for one in path.reached for part in one.way}
    beside = {p for one in case.contacts if on_way & set(one.between) for p in one.between}
    return on_way | beside


def _mark(one: PartReached) -> Mark:
    if one.on_target:
        return Mark(f"put here, dose {one.dose}", "source")
    if one.stopped:
        return Mark("nothing arrives", "stopped")
    worst = max((m.severity for m in one.materials), default=0)
    unknown = any(m.severity < 0 for m in one.materials)
    harm = f", severity {worst}" if worst > 0 else ""
    return Mark(f"dose {one.dose}{harm}{', not all known' if unknown else ''}", "reached")


def _lines(reached: Iterable[PartReached]) -> dict[int, Mark]:
    """Return the marks of the contacts on the ways; what lies behind a stop stays pale."""
    found: dict[int, Mark] = {}
    for one in reached:
        for crossing in one.crossings:
            if crossing.stop:
                what = "barrier" if crossing.stop == "barrier" else "taken apart"
                words = f"{crossing.number}: {what}"
                found.setdefault(crossing.number - 1, Mark(words, "stopped"))
                break
            found[crossing.number - 1] = Mark(str(crossing.number), "reached", crossing.end)
    return found
