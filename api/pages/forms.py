"""Forms of a case: what was sent, and keeping a section.

What a form holds is laid over the draft that it was made from; if somebody saved in between, the
two are put together, and where both changed the same place the person decides on the merge page.
"""

from __future__ import annotations

import re
from collections.abc import AsyncIterator, Mapping, Sequence
from copy import deepcopy
from typing import Annotated, Any
from urllib.parse import quote

from fastapi import Depends, HTTPException, Request
from fastapi.responses import JSONResponse, RedirectResponse, Response
from starlette.datastructures import FormData

from leastwise.api.http.state import store_of
from leastwise.api.identity.people import person_of
from leastwise.api.pages.entry.checked import checked_of
from leastwise.api.pages.entry.merge_page import merge_page
from leastwise.api.pages.entry.said import errors_for, field_name
from leastwise.api.pages.fields import clean
from leastwise.api.pages.page import check_form
from leastwise.api.pages.warmer import warm
from leastwise.api.store import Conflict, Document, Store
from leastwise.api.store.records.merge import Clash, merge

__all__ = [
    "Form",
    "check_version",
    "keep_body",
    "keep_section",
    "next_of",
    "read_form",
    "title_of",
    "version_of",
    "wants_json",
]

#: A case of 40 parts has some 800 fields; this many no record of the format can have.
MOST_FIELDS = 60_000


async def read_form(request: Request) -> AsyncIterator[FormData]:
    """Give the fields that a form sent; the guard has let the request pass before."""
    async with request.form(max_fields=MOST_FIELDS, max_files=50) as form:
        yield form  # files are closed after the answer


Form = Annotated[FormData, Depends(read_form)]


def keep_section(  # noqa: PLR0913 - what the answer is told by
    request: Request,
    case: str,
    form: FormData,
    section: Mapping[str, object],
    what: str,
    *,
    after: str = "",
) -> Response:
    """Keep a section of a case, and answer the browser or the script.

    *section* holds top-level fields of the record; they are laid over the draft in the version
    that the form was made from (hidden field ``version``). The answer is a redirect to ``next``
    (or *after*) or back to the section; for a script (``Accept: application/json``) it is JSON.
    Where somebody else changed the same place in between it is the merge page, with status 409.
    """
    check_form(request, form.get("form_token"))
    store = store_of(request)
    based_on = check_version(store, case, form)
    document, base = store.read(case, "case"), based_on.version
    mine = {**based_on.body, **deepcopy(dict(section))}
    place = after or next_of(request, form)
    return keep_body(request, document, base, mine, what, after=place, touched=tuple(section))


def keep_body(  # noqa: PLR0913 - what the answer is told by
    request: Request,
    document: Document,
    base: int,
    mine: dict[str, Any],
    what: str,
    *,
    after: str,
    touched: tuple[str, ...] = (),
    together: str = "",
) -> Response:
    """Keep a whole body that grew from version *base*; answer as :func:`keep_section` does."""
    store, who = store_of(request), person_of(request).account
    body, said = mine, what
    for _ in range(5):  # each round somebody else was quicker once more
        try:
            kept = store.save(document.id, base, body, who=who, what=said, title=title_of(body))
        except Conflict as conflict:
            merged = merge(conflict.base.body, conflict.theirs.body, body)
            if merged.clashes:
                return _clashing(request, conflict, merged.clashes) or merge_page(
                    request, conflict, merged.clashes, what, after
                )
            together = conflict.theirs.changed_by
            said = f"{what}, put together with the entries of {together}"
            body, base = merged.body, conflict.theirs.version
        else:
            warm(request, kept.id)
            return _kept(request, kept, after, touched, together=together, mine=mine)
    raise HTTPException(503, "Too many people save this case at this moment. Send it once more.")


def _clashing(request: Request, conflict: Conflict, clashes: Sequence[Clash]) -> Response | None:
    """Return the answer to a script; a browser gets the page on which to decide."""
    if not wants_json(request):
        return None
    detail = f"{conflict.theirs.changed_by} changed the same entries."
    places = [field_name(one.path) for one in clashes]
    return JSONResponse({"status": 409, "detail": detail, "places": places}, 409)


def _kept(  # noqa: PLR0913 - what the answer is told by
    request: Request,
    kept: Document,
    after: str,
    touched: tuple[str, ...],
    *,
    together: str,
    mine: Mapping[str, Any],
) -> Response:
    if not wants_json(request):
        if together:
            path, mark, place = after.partition("#")
            after = f"{path}{'&' if '?' in path else '?'}together={quote(together)}{mark}{place}"
        return RedirectResponse(after, 303)
    checked = checked_of(request, kept)
    anew = any(kept.body.get(key) != mine.get(key) for key in touched)
    return JSONResponse(
        {
            "version": kept.version,
            "saved_at": kept.changed.isoformat(),
            "errors": errors_for(checked.wrong, touched),
            "missing": len(checked.missing),
            "left": len(checked.missing) + len(checked.wrong),
            "together": together,
            "anew": anew,  # the page has to be loaded anew to show what they wrote in this section
        }
    )


def check_version(store: Store, case: str, form: FormData) -> Document:
    """Return the draft in the version that a form was made from.

    Raises:
        HTTPException: 422; the form doesn't say.
        NotStored: there is no such case or version.

    """
    base, document = version_of(form), store.read(case, "case")
    return document if base == document.version else store.as_of(case, version=base)


def version_of(form: FormData) -> int:
    """Return the version that a form was made from.

    Raises:
        HTTPException: 422; the form doesn't say.

    """
    given = form.get("version")
    if not isinstance(given, str) or not re.fullmatch(r"[0-9]{1,9}", given):
        raise HTTPException(422, "version: the form has to say which version it was made from.")
    return int(given)


def wants_json(request: Request) -> bool:
    """Return whether a script of ours asks."""
    return request.headers.get("accept", "").startswith("application/json")


def next_of(request: Request, form: FormData) -> str:
    """Return where to go on: a place of our own that the form names, or where the form stood."""
    given = form.get("next")
    if isinstance(given, str) and re.fullmatch(r"/(?![/\\])[^\s\\]*", given):
        return given
    return request.url.path


def title_of(body: Mapping[str, Any]) -> str:
    """Return the title under which a draft is listed; a draft may hold anything."""
    given = body.get("title")
    return clean(given).strip()[:200] if isinstance(given, str) else ""
