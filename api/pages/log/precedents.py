"""Pages: what came of past treatments, as counts with intervals, and past cases like this one."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Form, HTTPException, Query, Request, UploadFile
from fastapi.responses import RedirectResponse, Response

from leastwise.api.asking.weighty import Weighty
from leastwise.api.http.state import adviser_of, store_of
from leastwise.api.identity.access import ALLOWED, Access, Action
from leastwise.api.identity.people import person_of
from leastwise.api.pages.opened import answer_of, not_yet, open_document
from leastwise.api.pages.page import check_form, render
from leastwise.api.services.experience import SHARED, Experience, experience_of
from leastwise.api.store.records.visible import origin_of
from leastwise.graph import Adviser, Case
from leastwise.graph.answer import Answer, DamageAnswer, OptionAnswer
from leastwise.graph.meanings import Verdict
from leastwise.graph.treatment.outcome_file import (
    OutcomeFile,
    OutcomeFileError,
    parse_outcomes,
    share_outcomes,
)
from leastwise.graph.treatment.precedents import Grouping, Precedent

__all__ = ["ACCESS", "router", "rows_for"]

router = APIRouter(tags=["pages"], include_in_schema=False, route_class=Weighty)
ACCESS: Access = {
    "GET /precedents": Action.USE,
    "GET /precedents/outcomes.json": Action.CREATE_CASE,
    "POST /precedents/shared": Action.REVIEW_ALL,
    "POST /precedents/shared/{record}/remove": Action.REVIEW_ALL,
    "GET /cases/{case}/precedents": Action.READ_CASE,
}
MOST_BYTES = 4 * 1024 * 1024


@dataclass(frozen=True, slots=True)
class Row:
    """One line of counts, with labels; *here* is how many of them were recorded here."""

    technique: str
    damage: str
    group: str
    precedent: Precedent
    here: int


def _rows(found: list[Precedent], experience: Experience, adviser: Adviser) -> list[Row]:
    label, here = adviser.knowledge.label, experience.here
    return [
        Row(label(p.technique), label(p.damage), label(p.group), p, here.get(p.key, 0))
        for p in found
    ]


@router.get("/precedents")
def precedents(
    request: Request, technique: Annotated[str, Query()] = "", damage: Annotated[str, Query()] = ""
) -> Response:
    """Show the counts, those of one technique or damage if asked for."""
    return _page(request, technique=technique, damage=damage)


def _page(
    request: Request, *, technique: str = "", damage: str = "", error: str = "", status: int = 200
) -> Response:
    experience, adviser = experience_of(request), adviser_of(request)
    every = experience.precedents
    chosen = [p for p in every if technique in ("", p.technique) and damage in ("", p.damage)]
    label = adviser.knowledge.label
    return render(
        request,
        "precedents.html",
        title="Precedents",
        status=status,
        step="precedents",
        rows=_rows(chosen, experience, adviser),
        techniques=_choices({p.technique for p in every}, label),
        damages=_choices({p.damage for p in every}, label),
        technique=technique,
        damage=damage,
        experience=experience,
        paces=[(label(one), pace) for (one, _), pace in experience.paces.items()],
        to_give=len(experience.to_give(_giving(request))),
        may_bring=Action.REVIEW_ALL in ALLOWED[person_of(request).role],
        error=error,
    )


def _choices(names: set[str], label: Callable[[str], str]) -> list[tuple[str, str]]:
    return [("", "all"), *sorted(((n, label(n)) for n in names), key=lambda pair: pair[1])]


@router.get("/precedents/outcomes.json")
def outcomes(request: Request, collection: Annotated[str, Query(max_length=200)] = "") -> Response:
    """Return the outcomes of one's own cases as a file to share, without whose they were."""
    own = experience_of(request).to_give(_giving(request))
    giver = origin_of(store_of(request))
    text = share_outcomes(own, adviser_of(request).knowledge, collection, giver)
    headers = {"content-disposition": 'attachment; filename="leastwise-outcomes.json"'}
    return Response(text, media_type="application/json", headers=headers)


def _giving(request: Request) -> str | None:
    """Return whose cases a person may give outcomes of: one's own, or all where there is one."""
    person = person_of(request)
    return None if person.sees_all else person.account


@router.post("/precedents/shared")
def bring_in(
    request: Request, file: UploadFile, form_token: Annotated[str, Form()] = ""
) -> Response:
    """Keep a file that others shared."""
    check_form(request, form_token)
    data = file.file.read(MOST_BYTES + 1)
    if len(data) > MOST_BYTES:
        return _page(request, error="The file is over 4 MiB; share it in parts.", status=422)
    try:
        found = parse_outcomes(data.decode("utf-8", "replace"), adviser_of(request).knowledge)
    except OutcomeFileError as error:
        return _page(request, error=str(error), status=422)
    if refusal := _known_already(request, found):
        return _page(request, error=refusal, status=409)
    title = found.collection or file.filename or "shared outcomes"
    store_of(request).create(
        SHARED,
        found.model_dump(mode="json"),
        who=person_of(request).account,
        what=f"brought in {len(found.outcomes)} outcomes that were shared",
        title=title[:200],
    )
    return RedirectResponse("/precedents", 303)


def _known_already(request: Request, found: OutcomeFile) -> str:
    """Return why a file would be counted twice, or nothing if it would not."""
    if found.giver and found.giver == origin_of(store_of(request)):
        return "This file was given out here: its outcomes are counted already."
    for document, file in experience_of(request).shared:
        said = f"{document.title!r}, brought in by {document.owner} on {document.created:%Y-%m-%d}"
        if file.content == found.content:
            return f"The same outcomes are there already: {said}."
        if found.giver and file.giver == found.giver:
            return (
                f"A file of the same place is there already: {said}. A newer file holds the older "
                "outcomes too; take the older out first, then bring this one in."
            )
    return ""


@router.post("/precedents/shared/{record}/remove")
def take_out(request: Request, record: str, form_token: Annotated[str, Form()] = "") -> Response:
    """Count a shared file no longer."""
    check_form(request, form_token)
    store, person = store_of(request), person_of(request)
    document = store.read(record, SHARED)
    if not person.sees_all and document.owner != person.account:
        raise HTTPException(403, f"Only {document.owner}, who brought it in, may take it out.")
    store.remove(record, who=person.account, what="shared outcomes taken out")
    return RedirectResponse("/precedents", 303)


@dataclass(frozen=True, slots=True)
class OptionRow:
    """An option of this case with what past treatments tell of it."""

    option: OptionAnswer
    damage: str
    rows: tuple[Row, ...]


def option_rows(
    experience: Experience, case: Case, answer: Answer, adviser: Adviser
) -> list[OptionRow]:
    """Return the options of a case for which there are precedents on its materials."""
    found = []
    for damage in answer.damages:
        for option in damage.options:
            told = rows_for(experience, case, damage, option, adviser)
            if told:
                found.append(OptionRow(option, damage.label, tuple(told)))
    return sorted(found, key=lambda row: row.option.verdict == Verdict.DEFEATED)


def rows_for(
    experience: Experience, case: Case, damage: DamageAnswer, option: OptionAnswer, adviser: Adviser
) -> list[Row]:
    """Return what past treatments tell of an option on the materials that it would meet."""
    if not experience.precedents:
        return []
    parts = {part.id: part for part in case.parts}
    materials = [c.material for p in damage.parts if p in parts for c in parts[p].materials]
    groups = Grouping(adviser.knowledge).groups(materials)
    told = experience.of_technique(option.technique, damage.damage, groups)
    return _rows(told, experience, adviser)


@router.get("/cases/{case}/precedents")
def of_case(request: Request, case: str) -> Response:
    """Show past cases like this one, and what came of the options that it has."""
    opened = open_document(request, case)
    if opened.case is None:
        return not_yet(request, opened, "past", "Precedents")
    experience, adviser = experience_of(request), adviser_of(request)
    answer = answer_of(request, opened)
    return render(
        request,
        "case-precedents.html",
        title="Precedents",
        step="past",
        document=opened.document,
        options=option_rows(experience, opened.case, answer, adviser),
        alike=experience.alike(opened.case, opened.id, adviser),
        past={past.id: past for past in experience.past},
    )
