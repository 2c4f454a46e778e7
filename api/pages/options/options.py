"""Pages: the options of a case, ranked damage by damage, with weights that can be moved."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Annotated, Any, Final, Literal
from urllib.parse import urlencode

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import HTMLResponse, JSONResponse

from leastwise.api.asking.weighty import Weighty
from leastwise.api.http.state import adviser_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.pages.opened import Opened, answer_of, held, not_yet, open_document, shelved
from leastwise.api.pages.options import compare as options_compare
from leastwise.api.pages.options import keep as options_keep
from leastwise.api.pages.options import one as options_one
from leastwise.api.pages.options.first import boxes, people_of, previewed
from leastwise.api.pages.options.plot import RULER, plot_of
from leastwise.api.pages.options.view import data_for_script, hours_in_words, sections
from leastwise.api.pages.options.weights import (
    FIELD,
    MOST_POINTS,
    Moved,
    OwnWeights,
    WrongWeights,
    points_of,
    read_weights,
    reordered,
)
from leastwise.api.pages.page import environment, render
from leastwise.api.pages.picture import picture_of
from leastwise.api.pages.work.plan_patience import patiently
from leastwise.graph.answer import Answer, FindingView
from leastwise.graph.case.record import Case
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.meanings import Verdict
from leastwise.graph.questions.acceptability import CaseShares, case_shares
from leastwise.graph.questions.preview import Preview
from leastwise.graph.sentences import listed
from leastwise.graph.weighing.said_once import said_once

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False, route_class=Weighty)
ACCESS: Access = {
    "GET /cases/{case}/options": Action.READ_CASE,
    "GET /cases/{case}/options/shares": Action.READ_CASE,
    **options_one.ACCESS,
    **options_compare.ACCESS,
    **options_keep.ACCESS,
}
TITLE = "Options"
#: How long the page waits for an answer that has yet to be worked out.
PATIENCE_S: Final = 0.18

Policy = Annotated[str, Query(max_length=120)]
Only = Annotated[Verdict | Literal[""], Query()]
Ticked = Annotated[tuple[str, ...], Query(alias="try", max_length=20)]


@dataclass(frozen=True, slots=True)
class Slider:
    """One burden axis on the panel of weights."""

    axis: str
    name: str  # the field in the form
    label: str
    about: str
    points: int


@router.get("/cases/{case}/options", response_class=HTMLResponse)
def show_options(  # noqa: PLR0913, PLR0917 - the query of one page
    request: Request,
    case: str,
    policy: Policy = "",
    verdict: Only = "",
    shares: bool = False,
    wait: bool = False,
    ticked: Ticked = (),
) -> Response:
    """Show the ranked options; the query may choose the policy, weights and one verdict.

    What is *ticked* is supposed to have come out well, and the case weighed again; none is kept.

    A service that weighs in the background shows a page that fetches this one if the answer is
    not ready at once; with *wait* it is waited for.
    """
    opened = open_document(request, case)
    if opened.case is None:
        return not_yet(request, opened, "options", TITLE)
    answer = _answer(request, opened, policy, wait=wait)
    if answer is None:
        return _wait(request, opened)
    recorded, supposed = answer, previewed(request, opened, policy, ticked)
    answer = supposed.answer if supposed else answer
    standard = points_of(answer.policy.weights)
    own, wrong, moved = _own_weights(request, standard)
    shown: Answer = answer
    if own is not None:
        shown, moved = reordered(answer, own.weights)
    titles, ranked = _ranked(request, opened, shown, verdict)
    return render(
        request,
        "options.html",
        title=TITLE,
        status=422 if wrong else 200,
        step="options",
        document=opened.document,
        answer=shown,
        counts=_counts(answer),
        verdict=verdict,
        own=own,
        wrong=wrong,
        moved=moved,
        only_defeated=not moved and ids_of(shown) != ids_of(answer),
        shares=_shares(request, opened, policy, wanted=shares),
        script={
            **data_for_script(answer, standard, titles),
            "own": own.points if own else None,
            "tail": f"?{urlencode({'policy': policy})}" if policy else "",
        },
        q_of=lambda name: urlencode({**_query(policy, name, own), "try": ticked}, doseq=True),
        titles=titles,
        **_supposed(opened, recorded, supposed, ticked),
        **ranked,
        **_weighed(request, opened, policy, standard, own),
    )


def _supposed(
    opened: Opened, recorded: Answer, supposed: Preview | None, ticked: Sequence[str]
) -> dict[str, Any]:
    """Return what may be ticked, by what is open in the record, and what comes of it."""
    assert opened.case is not None  # noqa: S101 - the caller has asked
    shown = boxes(opened.case, recorded, ticked)
    return {"boxes": shown, "ticked": ticked, "supposed": supposed}


def _wait(request: Request, opened: Opened) -> Response:
    """Return the page that fetches this one again when the answer is ready."""
    address = f"{request.url.path}?{request.url.include_query_params(wait='true').query}"
    return render(
        request,
        "options-wait.html",
        title=TITLE,
        step="options",
        document=opened.document,
        address=address,
    )


def _ranked(
    request: Request, opened: Opened, shown: Answer, verdict: str
) -> tuple[dict[str, str], dict[str, Any]]:
    """Return the titles of the problems, and what the page says of the options in order."""
    case, k = opened.case, adviser_of(request).knowledge
    assert case is not None  # noqa: S101 - the caller has asked
    names = {part.id: part.name for part in case.parts}
    found = sections(shown, names, verdict)
    people = said_once(people_of(shown), names)
    return {s.damage.id: f"{s.damage.label}, {s.parts}" for s in found}, {
        "sections": found,
        "picture": picture_of(request, opened.document),
        "problem_parts": {d.id: d.parts for d in shown.damages},
        "numbers": {d.id: number for number, d in enumerate(case.damages, 1)},
        "problems": {s.damage.id: s.damage.label for s in found},
        "record": said_once(shown.record, names),
        "people": people,
        "other_people": _others(said_once(shown.people_first, names), people),
        "plots": {d.id: plot_of(d, shown.policy.residual_allowed) for d in shown.damages},
        "ruler": RULER,
        "axes": [(axis, k.label(axis)) for axis in shown.policy.weights],
        "hours": hours_in_words,
        "names_of": lambda views: listed(list(dict.fromkeys(one.label for one in views))),
        "labels": {t.material: k.label(t.material) for t in shown.tests_first if t.material},
    }


def _weighed(
    request: Request, opened: Opened, policy: str, standard: dict[str, int], own: OwnWeights | None
) -> dict[str, Any]:
    """Return what the panel of weights shows, and what the case keeps."""
    case, adviser = opened.case, adviser_of(request)
    assert case is not None  # noqa: S101 - the caller has asked
    return {
        "policy": policy,
        "policies": _policies(adviser.knowledge),
        "kept": case.weighing,
        "kept_as": adviser.policy_of(case).label,
        "standing": _standing(case, policy, standard),
        "sliders": _sliders(request, own.points if own else standard),
        "most_points": MOST_POINTS,
    }


@router.get("/cases/{case}/options/shares")
def show_shares(request: Request, case: str, policy: Policy = "") -> Response:
    """Return the rank shares of every option as pieces of the page, for the script."""
    opened = open_document(request, case)
    if opened.case is None:
        return JSONResponse({"options": {}})
    found = _shares(request, opened, policy, wanted=True)
    macro: Any = environment().get_template("_option-parts.html").module
    pieces = {one: str(macro.shares_text(share)) for one, share in (found or {}).items()}
    return JSONResponse({"options": pieces})


router.include_router(options_one.router)
router.include_router(options_compare.router)
router.include_router(options_keep.router)


def _answer(request: Request, opened: Opened, policy: str, *, wait: bool) -> Answer | None:
    """Return the answer, or None if it is not ready soon and may be waited for elsewhere."""
    found: Answer | None = held(request, opened, "answer", policy)
    if found is not None:
        return found
    if wait or not hasattr(request.app.state, "warmer"):
        return answer_of(request, opened, policy)
    return patiently(request, lambda: answer_of(request, opened, policy), PATIENCE_S)


def ids_of(answer: Answer) -> list[str]:
    """Return the ids of the options in order."""
    return [option.id for option in answer.options()]


def _own_weights(
    request: Request, standard: dict[str, int]
) -> tuple[OwnWeights | None, WrongWeights | None, list[Moved]]:
    try:
        return read_weights(request.query_params, standard), None, []
    except WrongWeights as error:
        return None, error, []


def _counts(answer: Answer) -> dict[str, int]:
    found = dict.fromkeys(map(str, Verdict), 0)
    for option in answer.options():
        found[option.verdict] += 1
    return found


def _standing(case: Case, policy: str, points: Mapping[str, int]) -> str:
    """Return the weights that the case keeps as the address would carry them, "" for none."""
    if policy or not case.weighing.weights:
        return ""
    return OwnWeights(points, {}).text


def _policies(k: Knowledge) -> list[tuple[str, str, str]]:
    """Return (name, label, definition) of the policies, the default first."""
    there = sorted(k.instances("lw:Policy"), key=lambda p: (not k.is_true(p, "lw:isDefault"), p))
    return [(p, k.label(p), k.text(p, "skos:definition")) for p in there]


def _sliders(request: Request, points: Mapping[str, int]) -> list[Slider]:
    k = adviser_of(request).knowledge
    found = []
    for axis, number in points.items():
        name = axis.partition(":")[2]
        typed = request.query_params.get(FIELD + name, "")
        given = int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 4 else number
        about = k.text(axis, "skos:definition")
        found.append(Slider(axis, FIELD + name, k.label(axis), about, min(given, MOST_POINTS)))
    return found


def _others(all_of: list[FindingView], told: list[FindingView]) -> list[FindingView]:
    """Return what protects people in options that don't come first."""
    said = {one.message for one in told}
    return [one for one in all_of if one.message not in said]


def _shares(
    request: Request, opened: Opened, policy: str, *, wanted: bool
) -> dict[str, dict[str, Any]] | None:
    """Return the rank shares by option: those on the shelf, or worked out if they are wanted."""
    found: CaseShares | None = (
        shelved(request, opened, "shares", case_shares, policy=policy)
        if wanted
        else held(request, opened, "shares", policy)
    )
    if found is None:
        return None
    return {
        one.option: {**asdict(one), "draws": found.draws, "error": found.standard_error}
        for damage in found.damages
        for one in damage.options
    }


def _query(policy: str, verdict: str, own: OwnWeights | None) -> dict[str, str]:
    given = {"policy": policy, "verdict": verdict, "weights": own.text if own else ""}
    return {name: value for name, value in given.items() if value}
