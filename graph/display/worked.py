"""The display of a case worked out, and the rows that a plan, a bench sheet and a proposal show."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace

from leastwise.graph.case.record import Case, DamageFound
from leastwise.graph.display.book import Book
from leastwise.graph.display.figure import on_figure
from leastwise.graph.display.hung import drop_of, drop_weight_n, hung
from leastwise.graph.display.slant import slants
from leastwise.graph.display.strain import bead_rows, grip_row, seam_rows
from leastwise.graph.display.supports import Candidate, Chooser, SupportAdvice
from leastwise.graph.display.values import HungPlan, OnFigure, Row, SlantPlan, WorkedDisplay
from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.physics.load import GRAVITY_M_S2
from leastwise.graph.sentences import sentence_case

__all__ = [
    "MOUNTINGS",
    "bench_rows",
    "carries_object",
    "display_for",
    "mount_rows",
    "support_details",
    "supports_for",
    "weight_n",
    "work_out",
]

COMPUTED = "computed"
#: A seam that gives carries nothing that can be told; what lies beside it carries the more.
SEAM_DAMAGE = ("damage:weak-seam", "damage:slit")


def weight_n(case: Case) -> float | None:
    """Return the weight of the object in N: as recorded, or of all its parts if all are known."""
    grams = case.object.size.weight_g
    if not isinstance(grams, str):
        return float(grams) / 1000 * GRAVITY_M_S2
    each = [p.size.weight_g for p in case.parts]
    known = [float(g) for g in each if not isinstance(g, str)]
    if each and len(known) == len(each):
        return sum(known) / 1000 * GRAVITY_M_S2
    return None


def work_out(
    case: Case, catalogue: Catalogue, mounting: str = "", technique: str = ""
) -> WorkedDisplay:
    """Return the display of a case worked out, for the mounting of its aim or another.

    *technique* is the one that makes it, where several ways of hanging would do.
    """
    book, mounting = Book(catalogue.knowledge), mounting or case.aim.mounting
    weight = weight_n(case)
    figure = on_figure(case, book, weight) if mounting == "on-figure" else None
    hanging = None
    if mounting == "hung":
        hanging = _hung(case, catalogue, weight, technique)
        weight = hanging.weight_n if hanging else weight
    slopes = slants(case, book, weight) if mounting == "slanted" else ()
    rows = (*_rows(figure, hanging, slopes), *_strain(case, book, weight, figure, hanging))
    claims = dict.fromkeys(c for row in rows for c in row.claims)
    unknown = tuple(dict.fromkeys(_unknown(case, book, mounting, weight, figure)))
    return WorkedDisplay(mounting, weight, figure, hanging, slopes, rows, unknown, tuple(claims))


def _hung(
    case: Case, catalogue: Catalogue, weight: float | None, technique: str
) -> HungPlan | None:
    size, book = case.object.size, Book(catalogue.knowledge)
    if weight is None and not isinstance(size.width_cm, str):
        weight = drop_weight_n(case, float(size.width_cm), drop_of(size))
    if weight is None:
        return None
    return hung(case, book, weight, Chooser(case, catalogue).thread(), technique)


def _rows(
    figure: OnFigure | None, hanging: HungPlan | None, slopes: Sequence[SlantPlan]
) -> Iterator[Row]:
    if figure is not None:
        yield from _figure_rows(figure)
    if hanging is not None:
        yield from _hung_rows(hanging)
    yield from (row for one in slopes for row in _slant_rows(one))


def _strain(
    case: Case, book: Book, weight: float | None, figure: OnFigure | None, hanging: HungPlan | None
) -> Iterator[Row]:
    """Yield what the loads do at seams, what is sewn on, and the grip of a waist tape."""
    if figure is not None:
        chosen = next((h for h in figure.helps if h.step == max(0, figure.chosen)), None)
        yield from seam_rows(chosen.loads if chosen else (), book)
        taped = [s for s in book.shares(figure.kind) if s.step > 0 and s.place == "waist"]
        for share in taped[:1]:
            yield from grip_row(figure.measures, weight, share.range, book)
    if hanging is not None:
        yield from _hung_seams(case, hanging, book)
    if figure is not None or hanging is not None:
        yield from bead_rows(case)


def _hung_seams(case: Case, hanging: HungPlan, book: Book) -> Iterator[Row]:
    """Yield what a seam across a hanging carries at most, or that it is not worked out.

    A seam right below the heading carries all that hangs from it, one lower down less; a seam
    that runs down carries next to nothing while both sides hang alike.
    """
    rows = tuple(seam_rows((replace(hanging.load, where="A seam across, at most"),), book))
    yield from rows
    if not rows:
        yield Row("Seams", "not worked out", "the load of the top edge is not known")
    elif any(damage.damage in SEAM_DAMAGE for damage in case.damages):
        yield Row(
            "Weak seams and slits", "not worked out: closed before it hangs", "common practice"
        )


def _figure_rows(found: OnFigure) -> Iterator[Row]:
    for level in found.levels:
        value = f"{level.form_cm[0]:g} to {level.form_cm[1]:g} cm"
        if level.padding_cm is not None:
            value += f", padding {level.padding_cm[0]:.1f} to {level.padding_cm[1]:.1f} cm thick"
        basis = f"garment {level.garment_cm:g} cm less ease; common practice"
        yield Row(f"Form, {level.label}", value, basis, ("claim:DP-001",))
    if found.levels:
        yield Row("Closing", found.closing, "girths recorded", ("claim:DP-002",))
    yield from load_rows(found)
    yield from underskirt_rows(found)
    yield from (*found.sleeves, *found.train)


def load_rows(found: OnFigure) -> Iterator[Row]:
    """Yield the loads as dressed and as proposed, and what mends them."""
    shown = [h for h in found.helps if h.step in (0, found.chosen)]
    for one in shown:
        for load in one.loads:
            what = f"{load.where}, {'as dressed' if one.step == 0 else 'as proposed'}"
            yield Row(what, load.says, f"{COMPUTED}; {one.words}; shares assumed", one.claims)
    yield Row("What carries it", found.mend, "common practice", ("claim:DP-010", "claim:S-182"))


def underskirt_rows(found: OnFigure) -> Iterator[Row]:
    """Yield the underskirt with its net."""
    skirt = found.underskirt
    if skirt is None:
        return
    yield Row("Underskirt", skirt.says, "common practice, by slope and weight", ("claim:S-176",))
    size = f"{skirt.length_cm:.0f} cm long, {skirt.hem_cm:.0f} cm round at its hem"
    net = f"; {skirt.net_m2[0]:g} to {skirt.net_m2[1]:g} m² of net" if skirt.layers else ""
    yield Row("Its size", size + net, "common practice: 5 cm shorter, hem 5 % narrower")


def _hung_rows(found: HungPlan) -> Iterator[Row]:
    yield Row("Load of the top edge", found.load.says, COMPUTED, ("claim:DP-009",))
    yield Row("Heading", found.mend, "common practice", ("claim:DP-009", "claim:S-160"))
    if found.stitches_per_m is not None:
        value = f"{found.stitches_per_m} on each metre"
        yield Row("Stitches", value, found.stitch_basis, ("claim:DP-004",))


def _slant_rows(found: SlantPlan) -> Iterator[Row]:
    on = "as tried" if found.cover == "as tried" else f"{found.cover} cover"
    claims = ("claim:S-146", "claim:S-147", "claim:DP-011")
    yield Row(f"Slope, {on}", f"{found.says} {found.mend}", "computed; friction practice", claims)


def _unknown(
    case: Case, book: Book, mounting: str, weight: float | None, figure: OnFigure | None
) -> Iterator[str]:
    if mounting in ("unknown", "boxed", "flat", "pressure-mounted"):
        yield f"Nothing is worked out for an object that is shown this way ({mounting})."
        return
    if weight is None:
        yield "The weight: weigh it in its tray."
    if not any(p.size.weight_per_area for p in case.parts):
        yield "The weight per area of the cloth."
    if figure is not None:
        names = {key: words[0] for key, words in book.names("lw:Measure").items()}
        wanted = (
            ["waist"] if figure.kind == "skirt" else ["neck", "shoulder-width", "bust", "waist"]
        )
        wanted += ["skirt-length", "hem", "hip"] if figure.kind != "coat" else []
        missing = [names[w] for w in wanted if w not in figure.measures]
        if missing:
            yield f"Measures of the garment: {', '.join(missing)}."
    if mounting == "hung" and isinstance(case.object.size.width_cm, str):
        yield "The width of the top edge."


MOUNTINGS = {"figure": "on-figure", "underskirt": "on-figure", "tape": "on-figure",
             "train": "on-figure", "hung": "hung", "slant": "slanted"}  # fmt: skip


def bench_rows(
    case: Case,
    catalogue: Catalogue,
    technique: str,
    parts: Sequence[str],
    damage: DamageFound | None = None,
) -> tuple[Row, ...]:
    """Return what is worked out for a technique on some parts: its mount, its supports; or ().

    Without *damage* the amount of the supports is left out.
    """
    return (
        *mount_rows(case, catalogue, technique),
        *supports_for(case, catalogue, technique, parts, damage),
    )


def mount_rows(case: Case, catalogue: Catalogue, technique: str) -> tuple[Row, ...]:
    """Return what is worked out of the mount that a technique makes."""
    worked = display_for(case, catalogue, technique)
    if worked is None:
        return ()
    measure = tuple(Row("To measure", one, "not recorded") for one in worked.unknown)
    return (*_mount_rows(worked, _worked_for(catalogue, technique)), *measure)


def supports_for(
    case: Case,
    catalogue: Catalogue,
    technique: str,
    parts: Sequence[str],
    damage: DamageFound | None,
) -> tuple[Row, ...]:
    """Return the supports that are proposed for a technique on some parts."""
    advice = Chooser(case, catalogue).advise(technique, parts, damage)
    if advice is None:
        return ()
    rows = tuple(support_rows(advice))
    return rows if damage is not None else rows[:-1]


def display_for(case: Case, catalogue: Catalogue, technique: str) -> WorkedDisplay | None:
    """Return the display that a technique makes, worked out; None for what is no such mount."""
    key = _worked_for(catalogue, technique)
    return work_out(case, catalogue, MOUNTINGS[key], technique) if key else None


def carries_object(catalogue: Catalogue, technique: str) -> bool:
    """Return whether a technique makes the mount that carries the whole object."""
    return _worked_for(catalogue, technique) in ("figure", "hung", "slant")


def _worked_for(catalogue: Catalogue, technique: str) -> str:
    k = catalogue.knowledge
    found = (one for one in k.instances("lw:WorkedMount") if technique in k.objects(one, "lw:for"))
    return next((k.text(one, "lw:key") for one in found), "")


def _mount_rows(worked: WorkedDisplay, key: str) -> Iterable[Row]:
    figure = worked.figure
    if figure is None:
        return worked.rows
    if key == "underskirt":
        return tuple(underskirt_rows(figure))
    if key == "tape":
        return tuple(load_rows(figure))
    return figure.train if key == "train" else worked.rows


def support_details(
    case: Case, catalogue: Catalogue, technique: str, parts: Sequence[str]
) -> tuple[Row, ...]:
    """Return for each support that is proposed what it is like: weight, colour, ageing, tests."""
    advice = Chooser(case, catalogue).advise(technique, parts)
    if advice is None:
        return ()
    return tuple(_detail(use, found[0]) for use, found in advice.choices)


def _detail(use: str, one: Candidate) -> Row:
    low, high = one.weight_g_m2 or (0.0, 0.0)
    said = [
        f"{low:g} to {high:g} g/m²" if high else "",
        f"breaks at {one.strength_n:.1f} N" if one.strength_n else "",
        f"Colour: {one.dyeing}" if one.dyeing else "",
        f"Ageing: {one.ageing}" if one.ageing else "",
        f"Against it: {'; '.join(one.against)}." if one.against else "",
        f"First: {', '.join(one.tests)}." if one.tests else "",
        *(f"{sentence_case(r.label)} {r.figures}: {r.says}." for r in one.reactivations),
    ]
    value = " ".join(f"{x}." if x[-1] not in ".:" else x for x in said if x)
    what = f"{use.replace('-', ' ').capitalize()}: {one.label}"
    return Row(what, value or "nothing more is recorded", one.basis, one.claims)


def support_rows(advice: SupportAdvice) -> Iterator[Row]:
    """Yield the supports that are proposed, the first with why, and the amount."""
    for use, candidates in advice.choices:
        first = candidates[0]
        others = ", ".join(c.label for c in candidates[1:])
        value = f"{first.label} ({'; '.join(first.why)})" if first.why else first.label
        value += f"; else {others}" if others else ""
        told = [*first.against, *(f"first {', '.join(first.tests)}" for _ in first.tests[:1])]
        ends = [f"{r.label} {r.figures}: {r.says}".replace(" :", ":") for r in first.reactivations]
        basis = "; ".join((first.basis, *told, *ends))
        yield Row(use.replace("-", " ").capitalize(), value, basis, first.claims)
    yield Row("Amount of support", advice.amount, advice.amount_basis)
