"""Pages: the photographs of a case, and the files themselves."""

from __future__ import annotations

from collections.abc import AsyncIterator
from typing import Annotated
from urllib.parse import quote

from fastapi import APIRouter, Depends, Request
from fastapi.responses import RedirectResponse, Response
from starlette.datastructures import FormData, UploadFile

from leastwise.api.http.state import store_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.identity.people import person_of
from leastwise.api.pages.page import check_form, render
from leastwise.api.services.photographs import (
    MOST_BYTES,
    STAGES,
    PhotographError,
    checked_photograph,
    name_of,
    small_picture,
)
from leastwise.api.shelf import Shelf
from leastwise.api.store import NotStored, Picture, Store

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False)
ACCESS: Access = {
    "GET /cases/{case}/photographs": Action.READ_CASE,
    "POST /cases/{case}/photographs": Action.WRITE_CASE,
    "GET /cases/{case}/photographs/{picture}": Action.READ_CASE,
    "GET /cases/{case}/photographs/{picture}/small": Action.READ_CASE,
    "POST /cases/{case}/photographs/{picture}/remove": Action.WRITE_CASE,
}
MOST_FILES = 40
STAGE_WORDS = (
    ("before", "before treatment"),
    ("during", "during treatment"),
    ("after", "after treatment"),
)
#: A picture never changes under its id, so its small copy is worked out once.
_SMALL = Shelf(most=240)


async def _sent(request: Request) -> AsyncIterator[FormData]:
    """Give the form; it is read after the guard has let the request pass, large files to disk."""
    async with request.form(max_files=MOST_FILES, max_fields=20) as form:
        yield form


@router.get("/cases/{case}/photographs")
def show(request: Request, case: str) -> Response:
    """Show the photographs of a case."""
    return _page(request, case)


@router.post("/cases/{case}/photographs")
def add(request: Request, case: str, form: Annotated[FormData, Depends(_sent)]) -> Response:
    """Keep the good files of an upload and say what is wrong with the others."""
    check_form(request, form.get("form_token"))
    store = store_of(request)
    store.read(case, "case")
    files = [
        one for one in form.getlist("photographs") if isinstance(one, UploadFile) and one.filename
    ]
    stage, caption = str(form.get("stage", "")), str(form.get("caption", ""))
    errors: dict[str, str] = {}
    if stage not in STAGES:
        errors["stage"] = "Say when they were taken: before, during or after treatment."
    if not files:
        errors["photographs"] = "Choose at least one JPEG, PNG or WebP file."
    if errors:
        return _page(request, case, errors=errors, stage=stage, caption=caption)
    refused: list[PhotographError] = []
    kept = 0
    for number, one in enumerate(files, 1):
        try:
            _keep(request, case, one, (caption, number if len(files) > 1 else 0), stage)
            kept += 1
        except PhotographError as error:
            refused.append(error)
    if refused:
        errors["photographs"] = " ".join(
            f"{one.name}: {one.wrong}. Expected {one.accepted}." for one in refused
        )
        return _page(
            request,
            case,
            errors=errors,
            refused=refused,
            kept=kept,
            stage=stage,
            caption=caption,
        )
    return RedirectResponse(f"/cases/{case}/photographs?kept={kept}", 303)


@router.get("/cases/{case}/photographs/{picture}")
def file(request: Request, case: str, picture: str) -> Response:
    """Give a photograph."""
    _known(store_of(request), case, picture)
    headers = _headers(picture)
    if request.headers.get("if-none-match") == headers["etag"]:
        return Response(None, 304, headers)
    found = store_of(request).picture(case, picture)
    headers["content-disposition"] = f"inline; filename*=UTF-8''{quote(_file_name(found))}"
    return Response(found.data, headers=headers, media_type=found.media_type)


@router.get("/cases/{case}/photographs/{picture}/small")
def small(request: Request, case: str, picture: str) -> Response:
    """Give a photograph at most 480 pixels wide and high."""
    store = store_of(request)
    known = _known(store, case, picture)
    headers = _headers(f"{picture}-small")
    if request.headers.get("if-none-match") == headers["etag"]:
        return Response(None, 304, headers)
    data = _SMALL.get(
        (picture, known.added), lambda: small_picture(store.picture(case, picture).data)
    )
    headers["content-disposition"] = "inline"
    return Response(data, headers=headers, media_type="image/jpeg")


@router.post("/cases/{case}/photographs/{picture}/remove")
def remove(
    request: Request, case: str, picture: str, form: Annotated[FormData, Depends(_sent)]
) -> Response:
    """Take a photograph away."""
    check_form(request, form.get("form_token"))
    store_of(request).remove_picture(case, picture, who=person_of(request).account)
    return RedirectResponse(f"/cases/{case}/photographs?removed=1", 303)


def _page(  # noqa: PLR0913 - what was typed and what is wrong with it
    request: Request,
    case: str,
    *,
    errors: dict[str, str] | None = None,
    refused: list[PhotographError] | None = None,
    kept: int = 0,
    stage: str = "before",
    caption: str = "",
) -> Response:
    store = store_of(request)
    document = store.read(case, "case")
    grounds: dict[str, list[str]] = {}
    for sketch in store.of_case(case, "sketch"):
        ground = str(sketch.body.get("ground", ""))
        if ground.startswith("photograph:"):
            grounds.setdefault(ground.removeprefix("photograph:"), []).append(sketch.title)
    return render(
        request,
        "photographs.html",
        title="Photographs",
        status=422 if errors or refused else 200,
        step="sketch",
        document=document,
        pictures=store.pictures(case),
        grounds=grounds,
        stages=STAGE_WORDS,
        stage=stage,
        caption=caption,
        errors=errors or {},
        refused=refused or [],
        kept=kept,
    )


def _keep(
    request: Request, case: str, one: UploadFile, called: tuple[str, int], stage: str
) -> None:
    file_name = name_of(one.filename or "")
    data = one.file.read(MOST_BYTES + 1)  # one byte more tells that it is too large
    checked = checked_photograph(file_name, data)
    store_of(request).add_picture(
        case,
        checked.data,
        name=name_of(one.filename or "", *called),
        media_type=checked.media_type,
        size=(checked.width, checked.height),
        who=person_of(request).account,
        stage=stage,
    )


def _known(store: Store, case: str, picture: str) -> Picture:
    """Return a photograph without its data."""
    for one in store.pictures(case):
        if one.id == picture:
            return one
    raise NotStored("photograph", picture)


def _headers(tag: str) -> dict[str, str]:
    return {
        "cache-control": "private, max-age=86400",
        "etag": f'"{quote(tag)}"',
        "x-content-type-options": "nosniff",
    }


def _file_name(picture: Picture) -> str:
    ending = "png" if picture.media_type == "image/png" else "jpg"
    stem, dot, given = picture.name.rpartition(".")
    is_ended = dot and given.lower() in ("jpg", "jpeg", "png", "webp")
    return f"{stem if is_ended else picture.name}.{ending}"
