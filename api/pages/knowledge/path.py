"""Pages: a way between two things in the knowledge, and the way of an agent within a case."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Annotated

from fastapi import APIRouter, Query, Request
from fastapi.responses import HTMLResponse

from leastwise.api.asking.weighty import Weighty, work
from leastwise.api.documents import words
from leastwise.api.identity.access import Access, Action
from leastwise.api.pages.knowledge.case_path import ways_asked
from leastwise.api.pages.knowledge.concept import knowledge_page
from leastwise.api.pages.knowledge.drawing import Thread, draw_threads
from leastwise.api.pages.knowledge.library import KINDS, Library, library_of
from leastwise.api.pages.opened import not_yet, open_document
from leastwise.graph.knowledge.concepts import Sensitivity
from leastwise.graph.reference.paths import Path, Tie
from leastwise.graph.reference.search import fold
from leastwise.graph.weighing.exposure import expected_harm

__all__ = ["ACCESS", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False, route_class=Weighty)
ACCESS: Access = {
    "GET /knowledge/path": Action.USE,
    "GET /cases/{case}/path": Action.READ_CASE,
}
EXAMPLES = (
    ("technique:steam", "material:gelatin-sequins", "How does steam reach a gelatin sequin?"),
    ("technique:immersion-washing", "material:weighted-silk", "Why not wash weighted silk?"),
    ("test:colourfastness-water", "material:silk", "What has a test of colour to do with silk?"),
    ("technique:laid-couching", "damage:embrittlement", "What can couching do for brittle silk?"),
    ("agent:light", "damage:shattering", "How does light come to shattered silk?"),
)
SHORT = {
    "brings": "brings", "harms": "harms", "harmless": "no harm known", "answers": "answers",
    "broader": "kind of", "needs": "asks for", "requires": "requires", "settles": "settles",
    "identifies": "identifies", "checks": "checks", "applies": "is made on",
    "lifted": "settled by", "names": "looks at", "before": "before", "rules out": "not before",
    "cautions": "caution", "together": "named together",
}  # fmt: skip
#: Kinds of thing that a way may begin or end at, as the fields suggest them.
ENDS = ("technique", "agent", "material", "damage", "test", "condition", "caution")


@dataclass(frozen=True, slots=True)
class End:
    """One end of a way: what was typed, what it stands for ("" if unclear), what it may mean."""

    typed: str
    id: str = ""
    fault: str = ""
    near: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Short:
    """What is known of an agent on a material, with the dose where a technique brings it."""

    agent: str
    dose: int  # 0 where no technique is asked about
    found: Sensitivity

    @property
    def expected(self) -> int:
        """Return the harm to expect at that dose; -1 unknown."""
        return expected_harm(self.found.harm, self.dose) if self.dose else self.found.harm


@router.get("/knowledge/path")
def path(
    request: Request,
    start: Annotated[str, Query(alias="from", max_length=200)] = "",
    end: Annotated[str, Query(alias="to", max_length=200)] = "",
) -> HTMLResponse:
    """Show the ways between two things, in sentences and as threads."""
    library = library_of(request)
    ends = [_resolved(library, start), _resolved(library, end)]
    errors = {name: e.fault for name, e in zip(("from", "to"), ends, strict=True) if e.fault}
    paths: tuple[Path, ...] = ()
    if all(one.id for one in ends):
        paths = library.paths.between(ends[0].id, ends[1].id)
    asked = bool(start.strip() and end.strip())
    return knowledge_page(
        request,
        "path.html",
        title="A way between two things",
        status=422 if errors else 200,
        ends=ends,
        asked=asked,
        errors=errors,
        paths=paths,
        short=list(_in_short(library, ends[0].id, ends[1].id)),
        drawing=_drawing(library, paths) if paths else "",
        examples=[e for e in EXAMPLES if e[0] in library.paths and e[1] in library.paths],
        suggestions=_suggestions(library),
        dose_words=words.DOSE,
    )


def _resolved(library: Library, typed: str) -> End:
    typed = " ".join(typed.split())
    if not typed:
        return End("")
    book = library.book
    if typed in library.paths or typed in book.entries:
        return End(library.label(typed), typed)
    asked = fold(typed)
    by_label = [e.id for e in book.entries.values() if fold(e.label) == asked]
    by_synonym = [e.id for e in book.entries.values() if asked in map(fold, e.also)]
    for found in (by_label, by_synonym):
        if len(found) == 1:
            return End(library.label(found[0]), found[0])
        if found:
            return End(typed, "", f"“{typed}” may mean several things; choose one.", tuple(found))
    near = tuple(
        hit.id for hit in library.index.nearest(typed, KINDS, 6) if hit.id in library.paths
    )
    what = f"Nothing is called “{typed}”." + (" Is it one of these?" if near else "")
    return End(typed, "", what, near)


def _suggestions(library: Library) -> list[str]:
    entries = library.book.entries.values()
    return sorted({e.label for e in entries if e.scheme in ENDS}, key=str.casefold)


def _in_short(library: Library, start: str, end: str) -> Iterator[Short]:
    """Yield what is known of each agent on the material, if that is what is asked."""
    catalogue = library.adviser.catalogue
    for one, material in ((start, end), (end, start)):
        if not material.startswith("material:"):
            continue
        if one in catalogue.agents:
            yield Short(one, 0, catalogue.sensitivity(material, one))
        elif one in catalogue.techniques:
            for use in catalogue.techniques[one].brings:
                yield Short(use.agent, use.dose, catalogue.sensitivity(material, use.agent))


def _drawing(library: Library, paths: tuple[Path, ...]) -> str:
    threads = [
        Thread(
            tuple(library.label(node) for node in found.nodes),
            tuple(_short(tie) for tie in found.ties),
            tuple(_tone(tie) for tie in found.ties),
        )
        for found in paths
    ]
    first, last = threads[0].nodes[0], threads[0].nodes[-1]
    return draw_threads(threads, f"Ways from {first} to {last}; the list below tells them.")


def _short(tie: Tie) -> str:
    word = SHORT[tie.kind]
    if tie.kind in ("harms", "brings"):
        return f"{word}, {'grade' if tie.kind == 'harms' else 'dose'} {tie.grade}"
    return word


def _tone(tie: Tie) -> str:
    if tie.kind == "harms":
        return "harm"
    return "loose" if tie.kind in ("together", "broader", "names", "cautions") else ""


@router.get("/cases/{case}/path")
def path_in_case(
    request: Request,
    case: str,
    start: Annotated[str, Query(alias="from", max_length=200)] = "",
    part: Annotated[str, Query(alias="to", max_length=80)] = "",
) -> HTMLResponse:
    """Show how the agents of an option reach one part of a case."""
    opened = open_document(request, case)
    title = "How it reaches a part"
    if opened.case is None:
        return not_yet(request, opened, "exposure", title)
    ways = work(request, ways_asked, opened.case, start, part, policy="")
    chosen, to, found = ways.chosen, ways.to, ways.found
    errors = {}
    if start and not chosen:
        errors["from"] = f"“{start}” is no option of this case; choose one."
    if part and not to:
        errors["to"] = f"This case has no part “{part}”; choose one."
    reached = [way for way in found if way.arrives or way.stopped]
    drawn = [
        Thread(
            (library_of(request).label(way.agent), *way.names),
            (f"dose {way.dose}, put here", *(step.short for step in way.steps)),
            ("", *("harm" if way.stopped else "" for _ in way.steps)),
        )
        for way in reached
    ]
    return knowledge_page(
        request,
        "path-case.html",
        title=title,
        status=422 if errors else 200,
        step="exposure",
        document=opened.document,
        ways=ways,
        chosen=chosen,
        to=to,
        found=found,
        errors=errors,
        drawings=[draw_threads([t], f"The way of {t.nodes[0]}") for t in drawn],
        drawn=reached,
        dose_words=words.DOSE,
    )
