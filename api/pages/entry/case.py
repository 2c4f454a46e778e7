"""A case as a whole: what the record says, what it lacks, its export, copy, name and removal."""

from __future__ import annotations

import json

import yaml
from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response

from leastwise.api.http.state import adviser_of, store_of
from leastwise.api.identity.access import ALLOWED, Access, Action
from leastwise.api.identity.people import person_of
from leastwise.api.pages.entry.checked import checked_of
from leastwise.api.pages.entry.overview import overview_of
from leastwise.api.pages.entry.typed import slug
from leastwise.api.pages.fields import clean
from leastwise.api.pages.forms import Form, check_version, keep_section
from leastwise.api.pages.page import check_form, render
from leastwise.api.pages.picture import picture_of
from leastwise.api.services.setting_aside import aside_of
from leastwise.api.store import Document

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False)
ACCESS: Access = {
    "GET /cases/{case}": Action.READ_CASE,
    "GET /cases/{case}/record.json": Action.READ_CASE,
    "GET /cases/{case}/record.yaml": Action.READ_CASE,
    "POST /cases/{case}/copy": Action.READ_CASE,  # and CREATE_CASE, asked for below
    "POST /cases/{case}/rename": Action.WRITE_CASE,
    "GET /cases/{case}/remove": Action.MANAGE_CASE,
    "POST /cases/{case}/remove": Action.MANAGE_CASE,
}


@router.get("/cases/{case}")
def overview(request: Request, case: str) -> HTMLResponse:
    """Show what the record says and what it lacks."""
    document = store_of(request).read(case, "case")
    return _shown(request, document)


def _shown(
    request: Request, document: Document, errors: dict[str, str] | None = None, status: int = 200
) -> HTMLResponse:
    person = person_of(request)
    return render(
        request,
        "case.html",
        title=document.title or "Untitled case",
        status=status,
        document=document,
        view=overview_of(document, checked_of(request, document), adviser_of(request).knowledge),
        picture=picture_of(request, document),
        errors=errors or {},
        together=request.query_params.get("together", "")[:200],
        may_write=Action.WRITE_CASE in ALLOWED[person.role],
        asides=aside_of(
            store_of(request), document.id, None if person.sees_all else person.account
        ),
    )


# -- export, copy, name, removal


@router.get("/cases/{case}/record.json")
def as_json(request: Request, case: str) -> Response:
    """Return the record as JSON, as it stands."""
    document = store_of(request).read(case, "case")
    text = json.dumps(document.body, ensure_ascii=False, indent=2) + "\n"
    return _file(document, text, "json", "application/json")


@router.get("/cases/{case}/record.yaml")
def as_yaml(request: Request, case: str) -> Response:
    """Return the record as YAML, as it stands."""
    document = store_of(request).read(case, "case")
    text = yaml.safe_dump(document.body, allow_unicode=True, sort_keys=False, width=96)
    return _file(document, text, "yaml", "application/yaml")


def _file(document: Document, text: str, ending: str, media: str) -> Response:
    name = f"{slug(document.title) or document.id}.{ending}"
    return Response(
        text, media_type=media, headers={"content-disposition": f'attachment; filename="{name}"'}
    )


@router.post("/cases/{case}/copy")
def copy(request: Request, case: str, form: Form) -> Response:
    """Begin a case as a copy of another."""
    check_form(request, form.get("form_token"))
    person = person_of(request)
    if Action.CREATE_CASE not in ALLOWED[person.role]:
        raise HTTPException(403, f"The role {person.role} may not: {Action.CREATE_CASE}.")
    document = store_of(request).read(case, "case")
    title = f"{(document.title or 'Untitled case')[:190]} (copy)"
    kept = store_of(request).create(
        "case",
        {**document.body, "title": title},
        who=person.account,
        what=f"copied from {document.title or document.id}, version {document.version}",
        title=title,
    )
    return RedirectResponse(f"/cases/{kept.id}", 303)


@router.post("/cases/{case}/rename")
def rename(request: Request, case: str, form: Form) -> Response:
    """Give a case another title."""
    check_form(request, form.get("form_token"))
    given = form.get("title")
    title = clean(given).strip() if isinstance(given, str) else ""
    if not title or len(title) > 200:
        said = (
            "Still missing: a title."
            if not title
            else f"At most 200 characters; these are {len(title)}."
        )
        document = store_of(request).read(case, "case")
        return _shown(request, document, {"title": said}, status=422)
    check_version(store_of(request), case, form)
    return keep_section(request, case, form, {"title": title}, "Title", after=f"/cases/{case}")


@router.get("/cases/{case}/remove")
def ask_removal(request: Request, case: str) -> HTMLResponse:
    """Ask before a case is removed."""
    document = store_of(request).read(case, "case")
    return render(request, "_case-remove.html", title="Remove this case?", document=document)


@router.post("/cases/{case}/remove")
def remove(request: Request, case: str, form: Form) -> Response:
    """Take a case out of sight; its history stays in the store."""
    check_form(request, form.get("form_token"))
    store_of(request).remove(case, who=person_of(request).account)
    return RedirectResponse("/", 303)
