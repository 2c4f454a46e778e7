"""Pages: one option of a case, with its tree of reasons, its grades and its arguments."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Annotated, Any, Final, Literal

from fastapi import APIRouter, Query, Request, Response
from fastapi.responses import HTMLResponse

from leastwise.api.asking.weighty import Weighty
from leastwise.api.http.state import adviser_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.pages.log.precedents import rows_for
from leastwise.api.pages.opened import Opened, answer_of, held, not_yet, open_document, shelved
from leastwise.api.pages.options.view import aim_in_words, hours_in_words, technique_of
from leastwise.api.pages.page import render
from leastwise.api.services.experience import experience_of
from leastwise.api.services.questions import drawing_of, scores_of
from leastwise.graph import Adviser, Case
from leastwise.graph.answer import Answer, DamageAnswer, FindingView, OptionAnswer, Reason
from leastwise.graph.errors import UnknownOption
from leastwise.graph.ids import OptionId
from leastwise.graph.meanings import Verdict
from leastwise.graph.questions.acceptability import CaseShares
from leastwise.graph.questions.preferred import ArgumentsView, view_arguments
from leastwise.graph.questions.what_if import WhatWouldChange, what_would_change
from leastwise.graph.questions.why import Contrast, why
from leastwise.graph.weighing.scores import BENEFIT

__all__ = ["ACCESS", "ReasonGroup", "contrast_of", "find_here", "groups_of", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False, route_class=Weighty)
ACCESS: Access = {
    "GET /cases/{case}/options/{damage}/{technique}": Action.READ_CASE,
    "GET /cases/{case}/options/{damage}/{technique}/arguments.svg": Action.READ_CASE,
}
SKILLS: Final = ("", "an assistant", "a conservator", "a specialist")
CHANGE: Final = "what-would-change"

Policy = Annotated[str, Query(max_length=120)]
Ask = Annotated[Literal["", "what-would-change"], Query()]

#: Stance -> what a group of such reasons is called; in the order in which they are shown.
GROUPS: Final = {
    "for": "For it",
    "against": "Against it",
    "open": "Open",
    "although": "Answered",
    "care": "With care",
    "manner": "How it is worked",
    "burden": "What it burdens",
    "order": "In the order",
}
#: Verdict -> the group that decides it.
DECISIVE: Final = {Verdict.ACCEPTED: "for", Verdict.UNDECIDED: "open", Verdict.DEFEATED: "against"}


@dataclass(frozen=True, slots=True)
class Branch:
    """One reason with what its rule adds to it: cautions, and how often it was found."""

    reason: Reason
    cautions: tuple[str, ...]
    where: str
    times: int


@dataclass(frozen=True, slots=True)
class ReasonGroup:
    """The reasons of one stance; *decisive* says that the verdict comes from them."""

    stance: str
    title: str
    decisive: bool
    branches: tuple[Branch, ...]


@router.get("/cases/{case}/options/{damage}/{technique}", response_class=HTMLResponse)
def show_option(  # noqa: PLR0913, PLR0917 - the path and the query of one page
    request: Request, case: str, damage: str, technique: str, policy: Policy = "", ask: Ask = ""
) -> Response:
    """Show one option whole; the query may ask what would change its verdict."""
    opened = open_document(request, case)
    if opened.case is None:
        return not_yet(request, opened, "options", "Option")
    answer = answer_of(request, opened, policy)
    here, option = find_here(answer, damage, technique)
    return render(
        request,
        "option.html",
        title=option.label,
        step="options",
        document=opened.document,
        answer=answer,
        damage=here,
        policy=policy,
        groups=groups_of(option, answer),
        parts={part.id: part.name for part in opened.case.parts},
        change=_change(request, opened, policy, option.id, asked=ask == CHANGE),
        past=rows_for(experience_of(request), opened.case, here, option, adviser_of(request)),
        **_in_words(request, option),
        **_worked_out(request, opened, policy, option),
        **_beside_first(request, opened, policy, here.options[0], option),
    )


def _in_words(request: Request, option: OptionAnswer) -> dict[str, Any]:
    """Return an option with its figures in words."""
    skill = SKILLS[option.skill] if option.skill < len(SKILLS) else str(option.skill)
    return {
        "option": option,
        "technique": technique_of(option.id),
        "aim": aim_in_words(option),
        "hours": hours_in_words(option.hours),
        "skill": skill,
        "broader": [adviser_of(request).knowledge.label(group) for group in option.groups],
        "labels": _labels(request, option),
    }


def _worked_out(
    request: Request, opened: Opened, policy: str, option: OptionAnswer
) -> dict[str, Any]:
    """Return the arguments and the scores of an option, and its share of the ranks if known."""
    name = option.id
    arguments = shelved(request, opened, f"arguments {name}", _arguments, name)
    scores = shelved(request, opened, f"scores {name}", scores_of, name, policy=policy)
    return {
        "arguments": arguments,
        "grades": [*scores.burdens.items(), (BENEFIT, scores.benefit)],
        "share": _share(request, opened, policy, name),
    }


def _arguments(adviser: Adviser, case: Case, option: OptionId) -> ArgumentsView:
    return view_arguments(option, adviser.arguments(case, option))


def _why(adviser: Adviser, case: Case, one: OptionId, other: OptionId, answer: Answer) -> Contrast:
    return why(adviser, case, one, other, answer=answer)


def _beside_first(
    request: Request, opened: Opened, policy: str, first: OptionAnswer, option: OptionAnswer
) -> dict[str, Any]:
    """Return the first option of the damage, and why this one doesn't stand there."""
    return {
        "first": first,
        "first_technique": technique_of(first.id),
        "contrast": None
        if option.rank == 1
        else contrast_of(request, opened, policy, first, option),
    }


@router.get("/cases/{case}/options/{damage}/{technique}/arguments.svg")
def show_drawing(request: Request, case: str, damage: str, technique: str) -> Response:
    """Return the arguments on one option as a drawing."""
    opened = open_document(request, case)
    if opened.case is None:
        return not_yet(request, opened, "options", "Option")
    name = f"{damage}/{technique}"
    find_here(answer_of(request, opened), damage, technique)
    drawing = shelved(request, opened, f"drawing {name}", drawing_of, name)
    return Response(drawing, media_type="image/svg+xml")


def find_here(answer: Answer, damage: str, technique: str) -> tuple[DamageAnswer, OptionAnswer]:
    """Return an option of a case with its damage.

    Raises:
        UnknownOption: the case has no such option.

    """
    for here in answer.damages:
        for option in here.options:
            if option.id == f"{damage}/{technique}":
                return here, option
    raise UnknownOption("option", f"{damage}/{technique}", [])


def contrast_of(
    request: Request, opened: Opened, policy: str, one: OptionAnswer, other: OptionAnswer
) -> Contrast:
    """Return why one option of a damage stands above another."""
    answer = answer_of(request, opened, policy)
    given = one.id, other.id, answer
    return shelved(request, opened, f"why {one.id} {other.id}", _why, *given, policy=policy)


def _change(
    request: Request, opened: Opened, policy: str, option: str, *, asked: bool
) -> WhatWouldChange | None:
    what = f"{CHANGE} {option}"
    if not asked:
        found: WhatWouldChange | None = held(request, opened, what, policy)
        return found
    return shelved(request, opened, what, what_would_change, option, policy=policy)


def _share(request: Request, opened: Opened, policy: str, option: str) -> tuple[float, ...] | None:
    """Return an option's share of each rank, if the shares have been worked out."""
    found: CaseShares | None = held(request, opened, "shares", policy)
    if found is None:
        return None
    every = (one for damage in found.damages for one in damage.options)
    return next((one.shares for one in every if one.option == option), None)


def groups_of(option: OptionAnswer, answer: Answer) -> list[ReasonGroup]:
    """Return the reasons of an option by stance; the deciding ones come first."""
    by_rule = {(f.rule, f.message): f for f in option.findings}
    decisive = DECISIVE[option.verdict]
    found: dict[str, list[Branch]] = {}
    for reason in option.reasons.reasons:
        finding = by_rule.get((reason.rule, reason.text))
        found.setdefault(reason.stance, []).append(_branch(reason, finding, answer.cautions))
    order = sorted(GROUPS, key=lambda stance: stance != decisive)
    return [
        ReasonGroup(
            stance,
            GROUPS.get(stance, stance.capitalize()),
            stance == decisive,
            tuple(found[stance]),
        )
        for stance in [*order, *(s for s in found if s not in GROUPS)]
        if stance in found
    ]


def _branch(reason: Reason, finding: FindingView | None, cautions: Mapping[str, str]) -> Branch:
    if finding is None:
        return Branch(reason, (), "", 1)
    said = [cautions[name] for name in finding.cautions if cautions.get(name)]
    return Branch(reason, tuple(said), finding.part, finding.times)


def _labels(request: Request, option: OptionAnswer) -> dict[str, str]:
    """Return the labels of the axes and of whatever the findings are about."""
    k = adviser_of(request).knowledge
    named: Iterable[Any] = (x for f in option.findings for x in (f.material, f.agent) if x)
    return {one: k.label(one) for one in [*option.burdens, *named]}
