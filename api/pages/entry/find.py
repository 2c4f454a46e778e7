"""Search as you type: materials, damages, tests, agents and equipment by label and synonym."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Annotated, Any, Final

from fastapi import APIRouter, HTTPException, Query, Request
from fastapi.responses import JSONResponse

from leastwise.api.http.state import adviser_of
from leastwise.api.identity.access import Access, Action
from leastwise.graph.case.reading import UNIDENTIFIED, fold_name
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.knowledge.lookup import look_up
from leastwise.graph.shacl.terms import split_literal

__all__ = ["ACCESS", "KINDS", "SCHEMES_OF", "Found", "Names", "names_in", "router"]

router = APIRouter(tags=["pages"], include_in_schema=False)
ACCESS: Access = {"GET /find": Action.USE}

#: Kind -> class and prefix of its concepts.
KINDS: Final = {
    "material": ("skos:Concept", "material:"),
    "damage": ("lw:Damage", "damage:"),
    "test": ("lw:Test", "test:"),
    "agent": ("lw:Agent", "agent:"),
    "need": ("skos:Concept", "need:"),
    "finding": ("skos:Concept", ""),
    "policy": ("lw:Policy", "policy:"),
    "equipment": ("", ""),
}
#: What a test may show is one of several schemes.
SCHEMES_OF: Final = {"finding": ("material", "damage")}
MOST, LONGEST, ABOUT = 12, 80, 110
#: What is offered last, for what has no entry of its own.
OTHER: Final = {
    "material": UNIDENTIFIED,
    "damage": "damage:other",
    "test": "test:other",
    "need": "need:other",
}
_LEAST = 3  # letters before meaning is looked for


@dataclass(frozen=True, slots=True)
class Found:
    """One thing that a name may stand for; *matched* is the synonym that fitted, if one did.

    *near* marks a guess: no name holds what was asked for, and this one is spelled nearly so.
    """

    id: str
    label: str
    about: str
    matched: str = ""
    near: bool = False


@dataclass(frozen=True, slots=True)
class _Name:
    folded: str
    said: str
    place: int  # of the thing that it names


class Names:
    """The names of one kind, ready to be searched."""

    def __init__(self, kind: str, knowledge: Knowledge) -> None:
        self._kind, self._knowledge = kind, knowledge
        self.things = _equipment(knowledge) if kind == "equipment" else _concepts(kind, knowledge)
        self.labels = tuple(sorted({one.label for one in self.things}, key=str.casefold))
        self._names: list[_Name] = []
        for place, one in enumerate(self.things):
            said = [one.label]
            if kind != "equipment":
                said += [*_labels(one.id, knowledge), one.id.partition(":")[2]]
            self._names += [_Name(fold_name(s), s, place) for s in dict.fromkeys(said)]

    def find(self, asked: str, most: int = MOST) -> tuple[list[Found], int]:
        """Return the things that fit, best first, and how many there are in all.

        The order: the very name, a name that begins so, a word of a name that begins so, a name
        that holds it; then what words in another order or form, a definition or a broader term
        speak of. A word that is only spelled nearly so is marked as near. Of one thing its best
        name counts; a group that can't be entered gives its kinds.
        """
        wanted = fold_name(asked[:LONGEST])
        if not wanted:
            return self._alphabetical()[:most], len(self.things)
        best: dict[int, tuple[int, int, str]] = {}
        for name in self._names:
            rank = _rank(name.folded, wanted)
            if rank is not None:
                key = (rank, len(name.folded), name.said)
                best[name.place] = min(best.get(name.place, key), key)
        order = sorted(best, key=lambda place: (*best[place][:2], self.things[place].label))
        found = [self._as_found(place, best[place][2]) for place in order]
        found += self._by_meaning(asked, {one.id for one in found})
        return found[:most], len(found)

    def _by_meaning(self, asked: str, known: set[str]) -> list[Found]:
        """Return what the words mean and no name holds as they stand."""
        if len(fold_name(asked)) < _LEAST:
            return []
        there = {one.id if ":" in one.id else f"{self._kind}:{one.id}": one for one in self.things}
        found: dict[str, Found] = {}
        for match in look_up(asked, SCHEMES_OF.get(self._kind, (self._kind,)), self._knowledge):
            for name in (match.id,) if match.id in there else match.kinds:
                one = there.get(name)
                if one is not None and one.id not in known:
                    by = match.by if name == match.id else match.label
                    found.setdefault(one.id, replace(one, matched=by, near=match.slip))
        return list(found.values())

    def _alphabetical(self) -> list[Found]:
        return sorted(self.things, key=lambda one: one.label.casefold())

    def _as_found(self, place: int, said: str) -> Found:
        one = self.things[place]
        same = fold_name(said) in (fold_name(one.label), fold_name(one.id.partition(":")[2]))
        return replace(one, matched="" if same else said)


def names_in(kind: str, knowledge: Knowledge) -> Names:
    """Return the names of a kind, made once for each knowledge and language."""
    return knowledge.made(("names to find", kind), lambda k, key: Names(key[1], k))


@router.get("/find")
def find(
    request: Request,
    kind: Annotated[str, Query(max_length=20)] = "material",
    q: Annotated[str, Query(max_length=400)] = "",
) -> JSONResponse:
    """Return what a few letters may stand for, best first."""
    if kind not in KINDS:
        raise HTTPException(422, f"kind: got {kind!r}; expected one of {', '.join(KINDS)}.")
    found, total = names_in(kind, adviser_of(request).knowledge).find(q)
    return JSONResponse(
        {
            "total": total,
            "matches": [_as_data(one) for one in found],
            "other": _other(kind, q, found, adviser_of(request).knowledge),
        }
    )


def _other(
    kind: str, asked: str, found: list[Found], knowledge: Knowledge
) -> dict[str, Any] | None:
    """Return what may be entered where nothing of the name is known; None where it is."""
    other = OTHER.get(kind)
    known = any(fold_name(asked) in (fold_name(f.label), fold_name(f.matched)) for f in found)
    if other is None or known or not asked.strip():
        return None
    there = (one for one in names_in(kind, knowledge).things if one.id == other)
    one = next(there, None)
    return _as_data(one) if one else None


def _as_data(one: Found) -> dict[str, Any]:
    return {
        "id": one.id,
        "label": one.label,
        "matched": one.matched,
        "about": one.about,
        "near": one.near,
    }


def _rank(name: str, wanted: str) -> int | None:
    if name == wanted:
        return 0
    if name.startswith(wanted):
        return 1
    if f" {wanted}" in f" {name}".replace("(", " ").replace(",", " "):
        return 2
    return 3 if len(wanted) > 2 and wanted in name else None


def _labels(concept: str, knowledge: Knowledge) -> Iterator[str]:
    """Yield the labels of a concept in every language, as a record may name it by any of them."""
    for predicate in ("skos:hiddenLabel", "skos:altLabel", "skos:prefLabel"):
        for label in knowledge.objects(concept, predicate):
            if label[:1] == '"':
                yield split_literal(label)[0]


def _concepts(kind: str, knowledge: Knowledge) -> tuple[Found, ...]:
    if kind in SCHEMES_OF:
        return tuple(one for part in SCHEMES_OF[kind] for one in _concepts(part, knowledge))
    of_class, prefix = KINDS[kind]
    return tuple(
        Found(one, knowledge.label(one), _short(knowledge.text(one, "skos:definition")))
        for one in knowledge.instances(of_class)
        if one.startswith(prefix)
    )


def _equipment(knowledge: Knowledge) -> tuple[Found, ...]:
    """Return the equipment that techniques can't do without, by the key a record names it by."""
    needed: dict[str, list[str]] = {}
    for kind in ("lw:Technique", "lw:Condition"):
        for one in knowledge.instances(kind):
            for key in knowledge.texts(one, "lw:equipmentKey"):
                needed.setdefault(key, []).append(knowledge.label(one))
    return tuple(
        Found(key, key.replace("-", " "), _short(f"needed for {', '.join(sorted(needed[key]))}"))
        for key in sorted(needed)
    )


def _short(text: str) -> str:
    return text if len(text) <= ABOUT else text[:ABOUT].rsplit(" ", 1)[0].rstrip(",;:") + " …"
