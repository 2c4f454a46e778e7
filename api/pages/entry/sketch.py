"""Pages: the sketch plan. A ground is chosen, and a region drawn on it for each part."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import JSONResponse, RedirectResponse, Response
from markupsafe import Markup

from leastwise.api.drawings.places import Place
from leastwise.api.drawings.region_text import parse_region, region_text
from leastwise.api.drawings.regions import region_drawing
from leastwise.api.drawings.silhouettes import SILHOUETTES, Silhouette, silhouette_shapes
from leastwise.api.http.state import adviser_of, store_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.identity.people import person_of
from leastwise.api.pages.entry.check import rows_of
from leastwise.api.pages.entry.words import label_of
from leastwise.api.pages.fields import clean
from leastwise.api.pages.forms import Form, version_of, wants_json
from leastwise.api.pages.page import check_form, render
from leastwise.api.store import Conflict, Document, NotStored, Store
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["ACCESS", "named_parts", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False)
ACCESS: Access = {
    "GET /cases/{case}/sketch": Action.READ_CASE,
    "POST /cases/{case}/sketch": Action.WRITE_CASE,
    "GET /cases/{case}/sketch/{sketch}": Action.READ_CASE,
    "POST /cases/{case}/sketch/{sketch}": Action.WRITE_CASE,
    "GET /cases/{case}/sketch/{sketch}/drawing": Action.READ_CASE,
    "POST /cases/{case}/sketch/{sketch}/remove": Action.WRITE_CASE,
}
MOST_SKETCHES = 40


@dataclass(frozen=True, slots=True)
class Row:
    """A part on the page: its region as text, and what is wrong with what was typed."""

    number: int
    part: str
    name: str
    text: str
    error: str = ""

    @property
    def points(self) -> int:
        """Return how many points its region has."""
        return len(self.text.split())


def named_parts(body: Mapping[str, Any]) -> list[tuple[str, str]]:
    """Return ids and names of the parts of a draft, which may hold anything; each id once."""
    found: dict[str, str] = {}
    for row in rows_of(body, "parts"):
        part, name = row.get("id"), row.get("name")
        if isinstance(part, str) and part and part not in found:
            found[part] = name if isinstance(name, str) and name.strip() else part
    return list(found.items())


@router.get("/cases/{case}/sketch")
def first(request: Request, case: str) -> Response:
    """Go to the first sketch, or offer the grounds if there is none."""
    store = store_of(request)
    document = store.read(case, "case")
    sketches = store.of_case(case, "sketch")
    if sketches and "new" not in request.query_params:
        return RedirectResponse(f"/cases/{case}/sketch/{sketches[0].id}", 303)
    return _grounds(request, document, sketches)


@router.post("/cases/{case}/sketch")
def begin(request: Request, case: str, form: Form) -> Response:
    """Begin a sketch on a ground."""
    check_form(request, form.get("form_token"))
    store = store_of(request)
    document = store.read(case, "case")
    sketches = store.of_case(case, "sketch")
    ground, name = str(form.get("ground", "")), clean(str(form.get("name", ""))).strip()[:80]
    body, called = _ground_body(store, case, ground)
    if not body or len(sketches) >= MOST_SKETCHES:
        wrong = (
            "Choose a silhouette or one of the photographs."
            if not body
            else f"A case holds at most {MOST_SKETCHES} sketches; take one away first."
        )
        return _grounds(request, document, sketches, errors={"ground": wrong}, name=name)
    who = person_of(request).account
    made = store.create(
        "sketch", body, who=who, what="sketch begun", case=case, title=name or called
    )
    return RedirectResponse(f"/cases/{case}/sketch/{made.id}", 303)


@router.get("/cases/{case}/sketch/{sketch}")
def show(request: Request, case: str, sketch: str) -> Response:
    """Show a sketch with its regions."""
    store = store_of(request)
    return _page(request, store.read(case, "case"), _sketch(store, case, sketch))


@router.post("/cases/{case}/sketch/{sketch}")
def keep(request: Request, case: str, sketch: str, form: Form) -> Response:
    """Keep the regions that a form holds; what can't be read is told beside its field."""
    check_form(request, form.get("form_token"))
    store = store_of(request)
    document, stored = store.read(case, "case"), _sketch(store, case, sketch)
    base = version_of(form)
    based_on = stored if base == stored.version else store.as_of(sketch, version=base)
    rows = _typed(named_parts(document.body), form)
    wrong = [row for row in rows if row.error]
    regions = dict(_regions(based_on.body))
    for row in rows:
        if row.error:
            continue
        points = parse_region(row.text)[0]
        if points:
            regions[row.part] = points
        else:
            regions.pop(row.part, None)
    for part in form.getlist("drop"):
        regions.pop(str(part), None)
    title = clean(str(form.get("name", stored.title))).strip()[:80] or stored.title
    mine = {**based_on.body, "regions": regions}
    saved, both = _save(request, stored, base, mine, title)
    if wants_json(request):
        return JSONResponse(
            {
                "version": saved.version,
                "saved_at": saved.changed.isoformat(),
                "errors": {f"points.{row.number}": row.error for row in wrong},
                "missing": 0,
                "left": len(wrong),
                "together": "",
                "anew": False,
            }
        )
    if wrong or both:
        return _page(request, document, saved, rows=rows, both=both)
    return RedirectResponse(f"/cases/{case}/sketch/{sketch}", 303)


@router.get("/cases/{case}/sketch/{sketch}/drawing")
def drawing(request: Request, case: str, sketch: str) -> Response:
    """Give the drawing of a sketch as SVG."""
    store = store_of(request)
    document, stored = store.read(case, "case"), _sketch(store, case, sketch)
    svg = _drawn(request, document, stored)
    return Response(svg, media_type="image/svg+xml", headers={"cache-control": "no-store"})


@router.post("/cases/{case}/sketch/{sketch}/remove")
def remove(request: Request, case: str, sketch: str, form: Form) -> Response:
    """Take a sketch out of sight; its history stays."""
    check_form(request, form.get("form_token"))
    store = store_of(request)
    stored = _sketch(store, case, sketch)
    store.remove(stored.id, who=person_of(request).account, what="sketch removed")
    return RedirectResponse(f"/cases/{case}/sketch", 303)


# -- reading


def _sketch(store: Store, case: str, name: str) -> Document:
    found = store.read(name, "sketch")
    if found.case != case:
        raise NotStored("sketch", name)
    return found


def _regions(body: Mapping[str, Any]) -> dict[str, Any]:
    found = body.get("regions")
    return found if isinstance(found, dict) else {}


def _ground_body(store: Store, case: str, ground: str) -> tuple[dict[str, Any], str]:
    """Return the body of a new sketch on a ground, and what the ground is called."""
    kind, _, key = ground.partition(":")
    if kind == "silhouette" and key in SILHOUETTES:
        return {"ground": ground, "regions": {}}, SILHOUETTES[key].label
    picture = next((one for one in store.pictures(case) if one.id == key), None)
    if kind == "photograph" and picture is not None:
        size = [picture.width, picture.height]
        return {"ground": ground, "size": size, "regions": {}}, picture.name[:80]
    return {}, ""


def _typed(parts: list[tuple[str, str]], form: Form) -> list[Row]:
    """Return each part with what was typed for it."""
    names = dict(parts)
    rows: list[Row] = []
    for field, value in form.multi_items():
        number = re.fullmatch(r"part\.([0-9]{1,5})", field)
        if number is None or not isinstance(value, str) or value not in names:
            continue
        text = " ".join(clean(str(form.get(f"points.{number[1]}", ""))).split())
        rows.append(
            Row(int(number[1]), value, names[value], text[:20_000], parse_region(text[:20_000])[1])
        )
    return rows


def _save(
    request: Request, stored: Document, base: int, mine: dict[str, Any], title: str
) -> tuple[Document, list[str]]:
    """Keep a sketch; where somebody saved in between, put regions together part by part.

    Also returns the parts that both drew; there, what is kept is the region saved last (mine).
    """
    store, who = store_of(request), person_of(request).account
    for _ in range(3):
        try:
            kept = store.save(stored.id, base, mine, who=who, what="sketch drawn", title=title)
        except Conflict as conflict:
            before, theirs = _regions(conflict.base.body), _regions(conflict.theirs.body)
            ours = _regions(mine)
            changed = {p for p in before.keys() | ours.keys() if before.get(p) != ours.get(p)}
            both = [p for p in changed if theirs.get(p) not in (before.get(p), ours.get(p))]
            merged = {part: points for part, points in theirs.items() if part not in changed}
            merged |= {part: ours[part] for part in changed if part in ours}
            mine, base = {**conflict.theirs.body, "regions": merged}, conflict.theirs.version
            if both:
                over = "sketch drawn over another's"
                kept = store.save(stored.id, base, mine, who=who, what=over, title=title)
                return kept, sorted(both)
        else:
            return kept, []
    raise HTTPException(409, "Others save this sketch at the same time; send it again.")


# -- showing


def _places(body: Mapping[str, Any], knowledge: Knowledge) -> list[Place]:
    """Return the damages of a draft that say where on the sketch they are."""
    found = []
    for i, row in enumerate(rows_of(body, "damages")):
        at = row.get("place")
        x, y = (at.get("x"), at.get("y")) if isinstance(at, dict) else (None, None)
        if isinstance(x, int | float) and isinstance(y, int | float) and 0 <= x <= 1 >= y >= 0:
            kind = label_of(row.get("damage"), knowledge, "damage")
            name = str(row.get("other") or kind or "damage")
            found.append(Place(i + 1, name, float(x), float(y)))
    return found


def _drawn(request: Request, document: Document, sketch: Document) -> str:
    """Return the drawing of a sketch; places of damage are meant on the first one of a case."""
    store, knowledge = store_of(request), adviser_of(request).knowledge
    pictures, sketches = store.pictures(document.id), store.of_case(document.id, "sketch")
    is_first = bool(sketches) and sketches[0].id == sketch.id
    parts = named_parts(document.body)
    ground = str(sketch.body.get("ground", ""))
    key = ground.removeprefix("photograph:")
    has_picture = ground.startswith("photograph:") and any(one.id == key for one in pictures)
    return region_drawing(
        parts,
        sketch.body,
        f"/cases/{document.id}/photographs/{key}" if has_picture else None,
        title=f"Sketch plan: {sketch.title}",
        hrefs={part: f"#part-{i}" for i, (part, _) in enumerate(parts)},
        places=_places(document.body, knowledge) if is_first else (),
    )


def _page(
    request: Request,
    document: Document,
    sketch: Document,
    *,
    rows: list[Row] | None = None,
    both: list[str] | None = None,
) -> Response:
    store = store_of(request)
    parts, regions = named_parts(document.body), _regions(sketch.body)
    typed = {row.part: row for row in rows or ()}
    shown = [
        typed.get(part, Row(i, part, name, region_text(regions.get(part))))
        for i, (part, name) in enumerate(parts)
    ]
    sketches = store.of_case(document.id, "sketch")
    names = dict(parts)
    return render(
        request,
        "sketch.html",
        title="Sketch plan",
        status=422 if any(row.error for row in shown) else 409 if both else 200,
        step="sketch",
        document=document,
        sketch=sketch,
        sketches=sketches,
        rows=shown,
        both=[names.get(part, part) for part in both or ()],
        lost=[part for part in regions if part not in names],
        elsewhere=_elsewhere(sketches, sketch.id, names),
        drawing=Markup(_drawn(request, document, sketch)),  # noqa: S704 - ours
    )


def _elsewhere(sketches: list[Document], here: str, names: Mapping[str, str]) -> dict[str, str]:
    """Return part -> title of another sketch on which it is drawn."""
    found: dict[str, str] = {}
    for one in sketches:
        if one.id != here:
            for part in _regions(one.body):
                if part in names:
                    found.setdefault(part, one.title)
    return found


def _grounds(
    request: Request,
    document: Document,
    sketches: list[Document],
    *,
    errors: dict[str, str] | None = None,
    name: str = "",
) -> Response:
    return render(
        request,
        "sketch-grounds.html",
        title="Choose a ground" if sketches else "Sketch plan",
        status=422 if errors else 200,
        step="sketch",
        document=document,
        sketches=sketches,
        pictures=store_of(request).pictures(document.id),
        silhouettes=[(one, _blank(one)) for one in SILHOUETTES.values()],
        errors=errors or {},
        name=name,
    )


def _blank(one: Silhouette) -> Markup:
    """Return a silhouette as a small drawing; its words stand beside it."""
    box = f"0 0 {one.width:g} {one.height:g}"
    return Markup(  # noqa: S704 - made of our own shapes
        f'<svg class="sketch blank" viewBox="{box}" width="{one.width:g}" height="{one.height:g}" '
        f'aria-hidden="true">{silhouette_shapes(one)}</svg>'
    )
