"""Entering a case: object, parts and materials, damage, tests, significance with aim and means."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from copy import deepcopy
from dataclasses import dataclass
from typing import Any, Final

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, Response
from starlette.datastructures import FormData

from leastwise.api.http.state import adviser_of, store_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.pages.entry import find as entry_find
from leastwise.api.pages.entry import merge as entry_merge
from leastwise.api.pages.entry.checked import checked_of
from leastwise.api.pages.entry.fields import (
    AIM,
    DAMAGE,
    MEANS,
    NEED,
    OBJECT,
    PART,
    RECORD,
    SIGNIFICANCE,
    TEST,
    TITLE,
    WEIGHING,
)
from leastwise.api.pages.entry.rows import change_rows, follow_ids, keep_word, name_rows
from leastwise.api.pages.entry.said import errors_for, sentence
from leastwise.api.pages.entry.typed import Reader
from leastwise.api.pages.entry.undo import before_removal
from leastwise.api.pages.entry.view import damage_options, lines, part_options, pieces
from leastwise.api.pages.entry.words import place_in_words
from leastwise.api.pages.fields import read_fields
from leastwise.api.pages.forms import Form, check_version, keep_section
from leastwise.api.pages.page import check_form, render
from leastwise.api.pages.picture import picture_of
from leastwise.api.pages.told_apart import damage_looks, neighbouring_damages
from leastwise.api.store import Document
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["ACCESS", "SECTIONS", "router"]

#: Steps of the record that show the object's picture.
PICTURED = frozenset({"parts", "damages"})

Body = dict[str, Any]


@dataclass(frozen=True, slots=True)
class Section:
    """One page of the record: its step, title, the top-level fields it holds, and the next step."""

    step: str
    title: str
    template: str
    keys: tuple[str, ...]
    read: Callable[[Reader, Mapping[str, Any], Mapping[str, Any]], Body]
    after: tuple[str, str]


def _mapping(body: Mapping[str, Any], key: str) -> Mapping[str, Any]:
    value = body.get(key)
    return value if isinstance(value, dict) else {}


def _read_object(reader: Reader, given: Mapping[str, Any], body: Mapping[str, Any]) -> Body:
    return {
        **{
            key: value for key, value in reader.row((TITLE,), given, body).items() if key == "title"
        },
        "object": reader.row(OBJECT, _mapping(given, "object"), _mapping(body, "object")),
        "record": reader.row(RECORD, _mapping(given, "record"), _mapping(body, "record")),
    }


def _read_parts(reader: Reader, given: Mapping[str, Any], body: Mapping[str, Any]) -> Body:
    return {"parts": reader.rows(PART, given.get("parts"), body.get("parts"))}


def _read_damages(reader: Reader, given: Mapping[str, Any], body: Mapping[str, Any]) -> Body:
    return {
        key: reader.rows(entries, given.get(key), body.get(key))
        for key, entries in (("damages", DAMAGE), ("needs", NEED))
        if key in given or key == "damages"
    }


def _read_tests(reader: Reader, given: Mapping[str, Any], body: Mapping[str, Any]) -> Body:
    return {"tests": reader.rows(TEST, given.get("tests"), body.get("tests"))}


#: What stands on the page of the aim.
AIMS: Final = (
    ("significance", SIGNIFICANCE),
    ("aim", AIM),
    ("means", MEANS),
    ("weighing", WEIGHING),
)


def _read_aim(reader: Reader, given: Mapping[str, Any], body: Mapping[str, Any]) -> Body:
    return {
        key: reader.row(entries, _mapping(given, key), _mapping(body, key)) for key, entries in AIMS
    }


SECTIONS: Final[dict[str, Section]] = {
    one.step: one
    for one in (
        Section(
            "object",
            "Object and record",
            "entry-object.html",
            ("title", "object", "record"),
            _read_object,
            ("/parts", "parts and materials"),
        ),
        Section(
            "parts",
            "Parts and materials",
            "entry-parts.html",
            ("parts",),
            _read_parts,
            ("/contacts", "how parts touch"),
        ),
        Section(
            "damages",
            "Damage and needs",
            "entry-damages.html",
            ("damages", "needs"),
            _read_damages,
            ("/tests", "tests done"),
        ),
        Section(
            "tests",
            "Tests done",
            "entry-tests.html",
            ("tests",),
            _read_tests,
            ("/aim", "significance, aim and means"),
        ),
        Section(
            "aim",
            "Significance, aim and means",
            "entry-aim.html",
            tuple(key for key, _ in AIMS),
            _read_aim,
            ("", "the overview"),
        ),
    )
}

router = APIRouter(tags=["pages"], include_in_schema=False)
router.include_router(entry_find.router)
router.include_router(entry_merge.router)
ACCESS: Access = {
    **entry_find.ACCESS,
    **entry_merge.ACCESS,
    **{f"GET /cases/{{case}}/{step}": Action.READ_CASE for step in SECTIONS},
    **{f"POST /cases/{{case}}/{step}": Action.WRITE_CASE for step in SECTIONS},
}


def _page(step: str) -> Callable[[Request, str], HTMLResponse]:
    def page(request: Request, case: str) -> HTMLResponse:
        return show_section(request, store_of(request).read(case, "case"), SECTIONS[step])

    return page


def _keep(step: str) -> Callable[[Request, str, FormData], Response]:
    def keep(request: Request, case: str, form: Form) -> Response:
        return keep_page(request, case, form, SECTIONS[step])

    return keep


for _step in SECTIONS:
    router.get(f"/cases/{{case}}/{_step}", name=f"show {_step}")(_page(_step))
    router.post(f"/cases/{{case}}/{_step}", name=f"keep {_step}")(_keep(_step))


def show_section(request: Request, document: Document, section: Section) -> HTMLResponse:
    """Return the page of a section; what can't be read is told beside its field."""
    knowledge, body = adviser_of(request).knowledge, document.body
    wrong = [p for p in checked_of(request, document).wrong if _is_in(p.path, section.keys)]
    errors = errors_for(wrong)
    summary = [
        (name, place_in_words(one.path, body, knowledge), sentence(one))
        for one in wrong
        for name in errors_for([one])
    ]
    view = _view(section, body, knowledge, errors)
    return render(
        request,
        section.template,
        title=section.title,
        step=section.step,
        document=document,
        removed=before_removal(store_of(request), document, section.keys),
        picture=picture_of(request, document) if section.step in PICTURED else None,
        section=section,
        errors=errors,
        summary=summary,
        together=request.query_params.get("together", "")[:200],
        opened=request.query_params.get("open", ""),
        labels=lambda kind: entry_find.names_in(kind, knowledge).labels,
        **view,
    )


def _view(
    section: Section, body: Body, knowledge: Knowledge, errors: Mapping[str, str]
) -> dict[str, Any]:
    parts = part_options(body)
    if section.step == "object":
        return {
            "title_line": lines("", (TITLE,), body, knowledge)["title"],
            "thing": lines("object.", OBJECT, _mapping(body, "object"), knowledge),
            "record": lines("record.", RECORD, _mapping(body, "record"), knowledge),
        }
    if section.step == "aim":
        return {
            key: lines(f"{key}.", entries, _mapping(body, key), knowledge) for key, entries in AIMS
        }
    key = section.keys[0]
    entries = {"parts": PART, "damages": DAMAGE, "tests": TEST}[key]
    damages = damage_options(body, knowledge)
    found = pieces(key, entries, body, knowledge, parts=parts, damages=damages, errors=errors)
    if key != "damages":
        return {"pieces": found, "parts": parts}
    needs = pieces("needs", NEED, body, knowledge, parts=parts, errors=errors)
    return {
        "pieces": found,
        "parts": parts,
        "needs": needs,
        "looks_like": lambda said, place: damage_looks(said, place, knowledge),
        "neighbouring": lambda: neighbouring_damages(knowledge),
        "concept_link": lambda one: f"/concepts/{one}",
    }


def keep_page(request: Request, case: str, form: FormData, section: Section) -> Response:
    """Keep what the form of a section holds, with a row added, moved or removed if asked for."""
    check_form(request, form.get("form_token"))
    base = check_version(store_of(request), case, form).body
    given = read_fields(form)
    reader = Reader(adviser_of(request).knowledge)
    kept = section.read(reader, given, base)
    where = change_rows(kept, form, given) or keep_word(kept, form)
    if section.step in ("parts", "damages"):
        for key in section.keys:
            if key in kept:
                name_rows(kept, key, reader.knowledge, {**base, **kept})
    if section.step == "parts":
        kept |= follow_ids(base, kept, form)
    if where and not set(kept).issuperset({where.split(".", 1)[0]}):
        raise HTTPException(422, "add, remove, up, down: this form has no such list.")
    after = f"{request.url.path}?open={_opened(where)}#{where}" if where else ""
    return keep_section(request, case, form, deepcopy(kept), section.title, after=after)


def _opened(where: str) -> str:
    """Return the row to open: its place, with its list before it where the page has another."""
    rows, place = where.split(".")[:2]
    return f"needs.{place}" if rows == "needs" else place


def _is_in(path: str, keys: tuple[str, ...]) -> bool:
    return any(path == key or path.startswith((f"{key}.", f"{key}[")) for key in keys)
