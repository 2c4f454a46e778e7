"""The home page: the cases, a new one, an invented one, an imported one."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Annotated, Any, Final

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from starlette.datastructures import FormData, UploadFile

from leastwise.api.http.state import adviser_of, store_of
from leastwise.api.identity.access import ALLOWED, Access, Action
from leastwise.api.identity.people import person_of
from leastwise.api.pages.cards import cards_of, demo_cards
from leastwise.api.pages.entry import case as entry_case
from leastwise.api.pages.entry.check import check_draft
from leastwise.api.pages.entry.plain import plain_body
from leastwise.api.pages.entry.said import sentence
from leastwise.api.pages.entry.typed import slug
from leastwise.api.pages.entry.words import place_in_words
from leastwise.api.pages.fields import clean
from leastwise.api.pages.forms import Form, title_of
from leastwise.api.pages.page import check_form, render
from leastwise.graph.case.demo import demo_sketch, read_demo
from leastwise.graph.case.reading import load_text
from leastwise.graph.case.record import FORM
from leastwise.graph.case.written import carried_over
from leastwise.graph.errors import CaseError, NotFound, Problem
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False)
router.include_router(entry_case.router)
ACCESS: Access = {
    **entry_case.ACCESS,
    "GET /": Action.LIST_CASES,
    "POST /cases": Action.CREATE_CASE,
    "POST /cases/from-demo": Action.CREATE_CASE,
    "POST /cases/import": Action.CREATE_CASE,
}

PAGE: Final = 50


@dataclass(frozen=True, slots=True)
class Typed:
    """What the forms of the home page hold when it is shown again, and what is wrong with it."""

    errors: Mapping[str, str] = field(default_factory=dict)
    title: str = ""
    name: str = ""
    text: str = ""
    found: tuple[tuple[str, str, str], ...] = ()  # path, place in words, sentence
    may_draft: bool = False


@router.get("/")
def home(
    request: Request,
    q: Annotated[str, Query(max_length=200)] = "",
    page: Annotated[int, Query(ge=1, le=100_000)] = 1,
) -> HTMLResponse:
    """Show the cases, newest change first."""
    return _home(request, q=clean(q), page=page)


@router.post("/cases")
def begin(request: Request, form: Form) -> Response:
    """Begin a case from a title and the name of the object."""
    check_form(request, form.get("form_token"))
    title, name = (_text(form, key).strip() for key in ("title", "name"))
    errors = {
        key: f"Still missing: {what}."
        for key, what, said in (
            ("title", "a title under which you find the case again", title),
            ("name", "what the object is", name),
        )
        if not said
    } | {
        key: f"At most 200 characters; these are {len(said)}."
        for key, said in (("title", title), ("name", name))
        if len(said) > 200
    }
    if errors:
        return _home(request, Typed(errors, title, name), status=422)
    body = {
        "leastwise_case": FORM,
        "id": slug(title) or "case",
        "title": title,
        "demo": False,
        "object": {"name": name},
        "parts": [],
        "damages": [],
        "tests": [],
        "aim": {},
    }
    return _created(request, body, "begun", "/object")


@router.post("/cases/from-demo")
def from_demo(request: Request, form: Form) -> Response:
    """Begin a case as a copy of an invented one."""
    check_form(request, form.get("form_token"))
    try:
        name = _text(form, "demo")
        case = read_demo(name, adviser_of(request).knowledge)
    except NotFound as error:
        return _home(request, Typed({"demo": str(error)}), status=422)
    body = carried_over(case.model_dump(mode="json")).data
    return _created(request, body, "begun from an invented case", sketch=demo_sketch(name))


@router.post("/cases/import")
def take_in(request: Request, form: Form) -> Response:
    """Begin a case from a file or from pasted text, JSON or YAML."""
    check_form(request, form.get("form_token"))
    text, problem = _given_text(form)
    if problem:
        return _home(request, Typed({"file": problem}, text=text), status=422)
    try:
        data = load_text(text, is_json=text.lstrip()[:1] == "{")
    except CaseError as error:
        found = _in_words(error.problems, {}, adviser_of(request).knowledge)
        typed = Typed({"text": "This is no record yet; see below."}, text=text, found=found)
        return _home(request, typed, status=422)
    if not isinstance(data, dict):
        said = "A record is a mapping of fields to values, such as title: Evening gown."
        return _home(request, Typed({"text": said}, text=text), status=422)
    body, knowledge = plain_body(data), adviser_of(request).knowledge
    checked = check_draft(body, knowledge)
    problems = (*checked.wrong, *checked.missing)
    if problems and form.get("as_draft") != "yes":
        typed = Typed(text=text, found=_in_words(problems, body, knowledge), may_draft=True)
        return _home(request, typed, status=422)
    kept = carried_over(body).data
    return _created(request, kept, "imported as a draft" if problems else "imported")


def _home(
    request: Request, typed: Typed | None = None, *, q: str = "", page: int = 1, status: int = 200
) -> HTMLResponse:
    person = person_of(request)
    account = None if person.sees_all else person.account
    knowledge = adviser_of(request).knowledge
    rows, total = store_of(request).cases(
        account=account, query=q, limit=PAGE, offset=PAGE * (page - 1)
    )
    return render(
        request,
        "home.html",
        title="Cases",
        step="home",
        status=status,
        rows=rows,
        cards=cards_of(store_of(request), rows, knowledge),
        total=total,
        q=q,
        page=page,
        pages=max(1, -(-total // PAGE)),
        typed=typed or Typed(),
        may_begin=Action.CREATE_CASE in ALLOWED[person.role],
        demos=demo_cards(knowledge),
    )


def _created(
    request: Request,
    body: dict[str, Any],
    what: str,
    step: str = "",
    sketch: Mapping[str, object] | None = None,
) -> Response:
    who, store = person_of(request).account, store_of(request)
    kept = store.create("case", body, who=who, what=what, title=title_of(body))
    if sketch:
        plan = dict(sketch)
        store.create("sketch", plan, who=who, what=what, case=kept.id, title="Sketch plan")
    return RedirectResponse(f"/cases/{kept.id}{step}", 303)


def _given_text(form: FormData) -> tuple[str, str]:
    """Return the text to import, and what is wrong with the file if something is."""
    pasted, upload = _text(form, "text"), form.get("file")
    if not isinstance(upload, UploadFile) or not upload.filename:
        return pasted, "" if pasted.strip() else "Choose a file, or paste the record below."
    try:
        return clean(upload.file.read().decode("utf-8-sig")), ""
    except UnicodeDecodeError:
        return pasted, f"{upload.filename[:80]!r} is not UTF-8 text; expected JSON or YAML."


def _in_words(
    problems: tuple[Problem, ...], body: dict[str, Any], knowledge: Knowledge
) -> tuple[tuple[str, str, str], ...]:
    return tuple(
        (one.path, place_in_words(one.path, body, knowledge) if body else "", sentence(one))
        for one in problems
    )


def _text(form: FormData, key: str) -> str:
    value = form.get(key)
    return clean(value) if isinstance(value, str) else ""
