"""Pages: how the parts touch, as rows of a form and as a drawn network."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

from fastapi import APIRouter, Request
from fastapi.responses import HTMLResponse, RedirectResponse, Response
from markupsafe import Markup, escape

from leastwise.api.drawings.network import KINDS, Touch, network_drawing
from leastwise.api.drawings.network_legend import pictogram
from leastwise.api.http.state import adviser_of, store_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.pages.entry.check import check_draft, rows_of
from leastwise.api.pages.entry.said import errors_for
from leastwise.api.pages.entry.sketch import named_parts
from leastwise.api.pages.entry.undo import before_removal
from leastwise.api.pages.fields import read_fields
from leastwise.api.pages.forms import Form, keep_section
from leastwise.api.pages.page import environment, render
from leastwise.api.store import Document

__all__ = ["ACCESS", "router", "touches_in"]

router = APIRouter(tags=["pages"], include_in_schema=False)
ACCESS: Access = {
    "GET /cases/{case}/contacts": Action.READ_CASE,
    "POST /cases/{case}/contacts": Action.WRITE_CASE,
    "GET /cases/{case}/contacts/drawing": Action.READ_CASE,
    "GET /cases/{case}/contacts/table": Action.READ_CASE,
}
ORDERED = (
    "lies-on",
    "layered-under",
    "hangs-from",
    "enclosed-in",
    "woven-in",
    "painted-on",
    "threaded-through",
)
BARRIER_WORDS = (
    ("unknown", "unknown"),
    ("possible", "possible"),
    ("in-place", "in place"),
    ("impossible", "impossible"),
)
PARTING_WORDS = (
    ("unknown", "unknown"),
    ("possible", "possible"),
    ("done", "done"),
    ("impossible", "impossible"),
)
#: A wider drawing stands above the rows instead of beside them.
WIDEST_BESIDE = 640.0
#: What a row says as long as nobody has said otherwise.
BLANK = {"kind": "unknown", "barrier": "unknown", "parting": "unknown", "colour": "", "note": ""}


@dataclass(frozen=True, slots=True)
class Row:
    """A contact on the page; a draft may hold anything, so every value is a text."""

    number: int
    ends: tuple[str, str]
    kind: str
    barrier: str
    parting: str
    colour: str
    note: str
    said: str
    choices: tuple[Markup, Markup] = field(repr=False)

    @property
    def name(self) -> str:
        """Return how the names of its fields begin."""
        return f"contacts.{self.number}"

    @property
    def is_blank(self) -> bool:
        """Return whether no part is named in it."""
        return not any(self.ends)


@router.get("/cases/{case}/contacts")
def show(request: Request, case: str) -> HTMLResponse:
    """Show the contacts as a form, with the network beside it."""
    document = store_of(request).read(case, "case")
    adviser = adviser_of(request)
    parts = named_parts(document.body)
    names = dict(parts)
    stored = [
        _row(i, one, parts, names) for i, one in enumerate(rows_of(document.body, "contacts"))
    ]
    checked = check_draft(document.body, adviser.knowledge)
    touches, drawn = touches_in(document.body), _drawn(document)
    k = adviser.knowledge
    kinds = [
        (kind, k.label(f"contact:{kind}"), k.text(f"contact:{kind}", "skos:definition"))
        for kind in KINDS
    ]
    return render(
        request,
        "contacts.html",
        title="How the parts touch",
        step="contacts",
        document=document,
        removed=before_removal(store_of(request), document, ("contacts",)),
        parts=parts,
        rows=[*stored, _row(len(stored), {}, parts, names)],
        kinds=kinds,
        pictures={kind: Markup(pictogram(kind)) for kind in KINDS},  # noqa: S704 - ours
        barriers=BARRIER_WORDS,
        partings=PARTING_WORDS,
        ordered=ORDERED,
        errors=errors_for((*checked.wrong, *checked.missing), "contacts"),
        opened=request.query_params.get("open", ""),
        touches=touches,
        names=names,
        words=dict(KINDS),
        is_large=_width(drawn) > WIDEST_BESIDE,
        drawing=Markup(drawn),  # noqa: S704 - our own, with every name escaped
    )


@router.post("/cases/{case}/contacts")
def keep(request: Request, case: str, form: Form) -> Response:
    """Keep the contacts; a button may also ask to add, remove or turn one round."""
    given = read_fields(form).get("contacts")
    rows = (
        [_clean(one) for one in given if isinstance(one, dict)] if isinstance(given, list) else []
    )
    removed, turned = _asked(form.get("remove")), _asked(form.get("turn"))
    if turned is not None and turned < len(rows):
        rows[turned] = {**rows[turned], "between": rows[turned]["between"][::-1]}
    kept = [one for i, one in enumerate(rows) if i != removed and not _says_nothing(one)]
    answer = keep_section(request, case, form, {"contacts": kept}, "how parts touch")
    if isinstance(answer, RedirectResponse) and "next" not in form:
        to = answer.headers["location"].partition("#")[0]
        join = "&" if "?" in to else "?"
        if form.get("add"):
            answer.headers["location"] = (
                f"{to}{join}open={len(kept)}#contacts.{len(kept)}.between.0"
            )
        elif turned is not None:
            answer.headers["location"] = f"{to}{join}open={turned}#contact-{turned}"
    return answer


@router.get("/cases/{case}/contacts/drawing")
def drawing(request: Request, case: str) -> Response:
    """Give the network as SVG."""
    document = store_of(request).read(case, "case")
    headers = {"cache-control": "no-store"}
    return Response(_drawn(document), media_type="image/svg+xml", headers=headers)


@router.get("/cases/{case}/contacts/table")
def table(request: Request, case: str) -> HTMLResponse:
    """Give the network as a table, to be put into the page anew."""
    document = store_of(request).read(case, "case")
    said = environment().get_template("_network-table.html")
    return HTMLResponse(
        said.render(
            touches=touches_in(document.body),
            names=dict(named_parts(document.body)),
            words=dict(KINDS),
        ),
        headers={"cache-control": "no-store"},
    )


def touches_in(body: Mapping[str, Any]) -> tuple[Touch, ...]:
    """Return the contacts of a draft between two of its parts; the rest can't be drawn yet."""
    names = dict(named_parts(body))
    found = []
    for row in rows_of(body, "contacts"):
        first, second = _ends(row)
        if first in names and second in names and first != second:
            said = {key: _text(row, key) for key in ("kind", "barrier", "parting")}
            found.append(Touch(first, second, **said))
    return tuple(found)


def _drawn(document: Document) -> str:
    return network_drawing(named_parts(document.body), touches_in(document.body))


def _width(svg: str) -> float:
    """Return the width that a drawing of ours gives itself."""
    found = re.search(r' width="([0-9.]+)"', svg)
    return float(found[1]) if found else 0.0


def _asked(value: object) -> int | None:
    """Return the row that a button of the form names."""
    match = re.fullmatch(r"contacts\.(\d{1,5})", value) if isinstance(value, str) else None
    return int(match[1]) if match else None


def _clean(row: Mapping[str, Any]) -> dict[str, Any]:
    said: dict[str, Any] = {key: _text(row, key) for key in BLANK}
    return {"between": list(_ends(row)), **said}


def _says_nothing(row: Mapping[str, Any]) -> bool:
    return not any(row["between"]) and not row["note"].strip()


def _ends(row: Mapping[str, Any]) -> tuple[str, str]:
    given = row.get("between")
    ends = [one if isinstance(one, str) else "" for one in given] if isinstance(given, list) else []
    return tuple([*ends, "", ""][:2])  # type: ignore[return-value]


def _text(row: Mapping[str, Any], key: str) -> str:
    value = row.get(key)
    return value if isinstance(value, str) and (value or key == "note") else BLANK[key]


def _row(
    number: int, row: Mapping[str, Any], parts: list[tuple[str, str]], names: Mapping[str, str]
) -> Row:
    ends, kind = _ends(row), _text(row, "kind")
    first, second = (names.get(end, end) for end in ends)
    said = f"{first or '…'} {KINDS.get(kind, kind)} {second or '…'}" if any(ends) else ""
    choices = (_options(parts, ends[0]), _options(parts, ends[1]))
    barrier, parting = _text(row, "barrier"), _text(row, "parting")
    return Row(
        number,
        ends,
        kind,
        barrier,
        parting,
        _text(row, "colour"),
        _text(row, "note"),
        said,
        choices,
    )


def _options(parts: list[tuple[str, str]], chosen: str) -> Markup:
    """Return the parts to choose from; one that isn't in the record is kept, and told as such."""
    made = ['<option value="">Choose a part</option>']
    if chosen and chosen not in dict(parts):
        shown = escape(chosen)
        made.append(f'<option value="{shown}" selected>{shown} (not in the record)</option>')
    for part, name in parts:
        is_chosen = " selected" if part == chosen else ""
        made.append(f'<option value="{escape(part)}"{is_chosen}>{escape(name)}</option>')
    return Markup("".join(made))  # noqa: S704 - every value is escaped above
