"""Pages: two options of one damage side by side."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Final

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import HTMLResponse

from leastwise.api.asking.weighty import Weighty
from leastwise.api.http.state import adviser_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.pages.opened import Opened, answer_of, not_yet, open_document
from leastwise.api.pages.options.one import contrast_of
from leastwise.api.pages.options.view import aim_in_words, hours_in_words, technique_of
from leastwise.api.pages.page import render
from leastwise.graph.answer import Answer, FindingView, OptionAnswer
from leastwise.graph.ids import OptionId

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False, route_class=Weighty)
ACCESS: Access = {"GET /cases/{case}/compare": Action.READ_CASE}
TITLE: Final = "Compare two options"

Name = Annotated[str, Query(max_length=200)]


@dataclass(frozen=True, slots=True)
class Side:
    """One of the two options, with what is said of it and not of the other."""

    option: OptionAnswer
    technique: str
    aim: str
    hours: str
    only: tuple[FindingView, ...]


@dataclass(frozen=True, slots=True)
class AxisPair:
    """One burden axis with both grades, and the difference in words."""

    label: str
    weight: float
    one: int
    other: int
    words: str


@router.get("/cases/{case}/compare", response_class=HTMLResponse)
def show_comparison(
    request: Request, case: str, one: Name = "", other: Name = "", policy: Name = ""
) -> Response:
    """Show two options side by side; without both of them, the form to choose them."""
    opened = open_document(request, case)
    if opened.case is None:
        return not_yet(request, opened, "options", TITLE)
    answer = answer_of(request, opened, policy)
    named: dict[str, OptionAnswer] = {o.id: o for o in answer.options()}
    errors = _errors(one, other, named)
    both = bool(one and other) and not errors
    return render(
        request,
        "compare.html",
        title=TITLE,
        status=422 if errors else 200,
        step="options",
        document=opened.document,
        answer=answer,
        policy=policy,
        one=one,
        other=other,
        errors=errors,
        **(_pair(request, opened, policy, answer, named[one], named[other]) if both else NOTHING),
    )


NOTHING: Final[dict[str, object]] = {
    "sides": (), "axes": (), "contrast": None, "alike": 0, "ahead": (), "damage": None
}  # fmt: skip


def _errors(one: str, other: str, named: dict[str, OptionAnswer]) -> dict[str, str]:
    """Return what is wrong with the choice, by field."""
    errors = {
        field: f"{given!r} is no option of this case; choose one of the list."
        for field, given in (("one", one), ("other", other))
        if given and given not in named
    }
    if errors or not (one and other):
        return errors
    if one == other:
        return {"other": "This is the same option; choose another one of the same damage."}
    if OptionId(one).problem != OptionId(other).problem:
        return {"other": "This option answers another damage; options are ranked within theirs."}
    return {}


def _pair(  # noqa: PLR0913, PLR0917 - what a comparison is made of
    request: Request,
    opened: Opened,
    policy: str,
    answer: Answer,
    one: OptionAnswer,
    other: OptionAnswer,
) -> dict[str, object]:
    contrast = contrast_of(request, opened, policy, *sorted((one, other), key=lambda o: o.rank))
    ahead = contrast.ahead_share
    k = adviser_of(request).knowledge
    said = {f.message for f in one.findings} & {f.message for f in other.findings}
    return {
        "sides": [_side(o, said) for o in (one, other)],
        "axes": [
            AxisPair(
                k.label(axis),
                answer.policy.weights[axis],
                grade,
                other.burdens[axis],
                _difference(grade, other.burdens[axis]),
            )
            for axis, grade in one.burdens.items()
        ],
        "contrast": contrast,
        "alike": len(said),
        "ahead": (ahead, 1 - ahead) if contrast.above == one.id else (1 - ahead, ahead),
        "damage": next(d for d in answer.damages if d.id == one.id.problem),
    }


def _side(o: OptionAnswer, said: set[str]) -> Side:
    only = [f for f in o.findings if f.message not in said]
    return Side(o, technique_of(o.id), aim_in_words(o), hours_in_words(o.hours), tuple(only))


def _difference(one: int, other: int) -> str:
    if one == other:
        return "equal"
    grades = abs(one - other)
    return f"{'first' if one < other else 'second'} burdens less by {grades}"
