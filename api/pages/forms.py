"""Forms of a case: field names and nested data, errors beside fields, keeping a section.

A field is named after its place in the record: ``parts.0.materials.1.material``. What a form holds
is laid over the draft that it was made from; if somebody saved in between, the two are put
together, and where both changed the same place the person decides on the merge page.
"""

from __future__ import annotations

import re
from collections.abc import AsyncIterator, Iterable, Iterator, Mapping, Sequence
from copy import deepcopy
from typing import Annotated, Any, cast
from urllib.parse import quote

from fastapi import Depends, HTTPException, Request
from fastapi.responses import JSONResponse, RedirectResponse, Response
from starlette.datastructures import FormData

from leastwise.api.pages.entry_check import Checked, check_draft
from leastwise.api.pages.page import check_form
from leastwise.api.pages.warm import warm
from leastwise.api.people import person_of
from leastwise.api.state import adviser_of, shelf_of, store_of
from leastwise.api.store import Conflict, Document, Store
from leastwise.api.store.merge import Clash, merge
from leastwise.graph.errors import Problem

__all__ = [
    "Form",
    "check_version",
    "checked_of",
    "clean",
    "errors_for",
    "field_name",
    "keep_body",
    "keep_section",
    "next_of",
    "read_fields",
    "read_form",
    "sentence",
    "title_of",
    "version_of",
    "wants_json",
    "write_fields",
]

#: A case of 40 parts has some 800 fields; this many no record of the format can have.
MOST_FIELDS = 60_000
DEEPEST = 12
_NUMBER = re.compile(r"[0-9]{1,6}")
_CONTROL = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f\ud800-\udfff]")

Leaf = str
Nested = dict[str, Any]


async def read_form(request: Request) -> AsyncIterator[FormData]:
    """Give the fields that a form sent; the guard has let the request pass before."""
    async with request.form(max_fields=MOST_FIELDS, max_files=50) as form:
        yield form  # files are closed after the answer


Form = Annotated[FormData, Depends(read_form)]


# -- names and nested data


def read_fields(form: Mapping[str, Any] | Iterable[tuple[str, Any]]) -> Nested:
    """Return flat fields as nested data: a step that is a number makes a list.

    Gaps in a list close up, in the order of the numbers. A name that ends with ``[]`` gathers all
    its values that aren't empty into a list, so that boxes may be ticked. Files are left out.

    >>> read_fields({"parts.0.name": "hem", "parts.4.name": "train"})
    {'parts': [{'name': 'hem'}, {'name': 'train'}]}
    >>> read_fields([("parts[]", ""), ("parts[]", "hem")])
    {'parts': ['hem']}
    """
    root: Nested = {}
    for name, value in _pairs(form):
        if not isinstance(value, str):
            continue
        many = name.endswith("[]")
        steps = name.removesuffix("[]").split(".")
        if not all(steps) or len(steps) > DEEPEST:
            continue
        here = root
        for step in steps[:-1]:
            inner = here.get(step)
            if not isinstance(inner, dict):  # a leaf and a branch of one name: the branch counts
                inner = here[step] = {}
            here = inner
        last = steps[-1]
        if many:
            gathered = here.setdefault(last, [])
            if isinstance(gathered, list) and value:
                gathered.append(clean(value))
        elif not isinstance(here.get(last), dict):
            here[last] = clean(value)
    return cast(Nested, _listed(root, top=True))


def write_fields(data: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Return nested data as flat fields, in order; the way back of :func:`read_fields`.

    >>> write_fields({"parts": [{"name": "hem"}], "keep": []})
    [('parts.0.name', 'hem'), ('keep[]', '')]
    """
    return list(_flat("", data))


def clean(text: str) -> str:
    """Return text with plain line ends and without characters that no store can hold."""
    return _CONTROL.sub("", text.replace("\r\n", "\n").replace("\r", "\n"))


def _pairs(form: Mapping[str, Any] | Iterable[tuple[str, Any]]) -> Iterable[tuple[str, Any]]:
    if isinstance(form, FormData):
        return form.multi_items()
    return form.items() if isinstance(form, Mapping) else form


def _listed(value: object, *, top: bool = False) -> object:
    if not isinstance(value, dict):
        return value
    inner = {key: _listed(one) for key, one in value.items()}
    if not top and inner and all(_NUMBER.fullmatch(key) for key in inner):
        return [inner[key] for key in sorted(inner, key=lambda key: (int(key), key))]
    return inner


def _flat(name: str, value: object) -> Iterator[tuple[str, str]]:
    before = f"{name}." if name else ""
    if isinstance(value, Mapping):
        for key, one in value.items():
            yield from _flat(f"{before}{key}", one)
    elif isinstance(value, list | tuple):
        for i, one in enumerate(value):
            yield from _flat(f"{before}{i}", one)
        if not value:
            yield f"{name}[]", ""
    else:
        yield name, "" if value is None else str(value)


# -- errors beside fields


def field_name(path: str) -> str:
    """Return the field that a path of the record stands for.

    >>> field_name("parts[0].materials[1].material")
    'parts.0.materials.1.material'
    """
    return re.sub(r"\[(\d+)\]", r".\1", path).lstrip(".")


def errors_for(problems: Iterable[Problem], prefix: str | Sequence[str] = "") -> dict[str, str]:
    """Return field name -> sentence, for the problems whose field begins with *prefix*."""
    wanted = (prefix,) if isinstance(prefix, str) else tuple(prefix)
    found: dict[str, list[str]] = {}
    for one in problems:
        name = field_name(one.path)
        if any(not p or name == p or name.startswith(f"{p}.") for p in wanted):
            found.setdefault(name, []).append(sentence(one))
    return {name: " ".join(dict.fromkeys(said)) for name, said in found.items()}


def sentence(problem: Problem) -> str:
    """Return a problem as a sentence beside its field: what was given, what is accepted."""
    accepted = _plainly(problem.accepted)
    if problem.given in ("''", "[]", "None", "no agent", "a missing field"):
        return f"Still missing: {accepted}."
    if problem.given == "an unknown field":
        return "The format has no such field."
    return f"Given is {problem.given}; accepted is {accepted}."


def _plainly(accepted: str) -> str:
    said = re.sub(r"String should have at least 1 characters?", "a text", accepted)
    said = re.sub(r"String should have at most (\d+) \w+", r"a text of at most \1 characters", said)
    said = re.sub(r", (unable to parse|input is|month|day)[^,;]*?(?= or one of|$)", "", said)
    for stiff, plain in (
        ("a valid ", "a "),
        ("a integer", "a whole number"),
        ("a date or datetime", "a date (YYYY-MM-DD)"),
        ("one of 'unknown'", "unknown"),
        ("one of 'not-applicable'", "not applicable"),
        ("a value for this field", "an entry"),
    ):
        said = said.replace(stiff, plain)
    return said.rstrip(".")


# -- keeping


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
    from leastwise.api.pages.entry_merge import merge_page  # noqa: PLC0415 - it imports this module

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


def checked_of(request: Request, document: Document) -> Checked:
    """Return what a draft lacks, and what in it can't be read; worked out once a version."""
    knowledge = adviser_of(request).knowledge
    key = ("checked", document.id, document.version, knowledge.digest)
    return shelf_of(request).get(key, lambda: check_draft(document.body, knowledge))


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
