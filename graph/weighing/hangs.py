"""How a condition is read, and what its answer hangs on: pieces of the record, part, problem.

Both follow from the knowledge alone, but for the tests that were made, and are looked up once for
each condition.
"""

from __future__ import annotations

from typing import NamedTuple

from leastwise.graph.case.record import Tri
from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["PIECE", "TOGETHER", "WHOLE", "Asks", "HangsOn", "asks", "hangs_on"]

#: How conditions are put together from others.
TOGETHER = ("lw:allOf", "lw:anyOf", "lw:noneOf")
#: What is read from the damage or need that a condition is asked of.
OF_THE_PROBLEM = frozenset(
    (
        "lw:whenProblem",
        "lw:whenKindIsTold",
        "lw:whenSeverity",
        "lw:whenActivity",
        "lw:extentAtMost",
        "lw:damageField",
    )
)
#: The pieces of a record that a reading looks at; the problem comes besides.
READ_FROM = {
    "lw:partField": ("parts",),
    "lw:readFromContacts": ("contacts",),
    "lw:contactIs": ("contacts",),
    "lw:significanceField": ("significance",),
    "lw:aimField": ("aim",),
    "lw:equipmentKey": ("means",),
    "lw:partMaterial": ("parts",),
    "lw:partNamed": ("parts",),
    "lw:whenDamage": ("damages",),
    "lw:whenMounted": ("aim",),
    "lw:whenPurpose": ("aim",),
    "lw:whenObjectKind": ("object",),
    "lw:whenObjectForm": ("object",),
    "lw:degreesAtLeast": ("aim",),
    "lw:madeSince": ("object",),
    "lw:whenPastTreatment": ("object",),
    "lw:readFromBarriers": ("contacts",),
    "lw:objectAreaOver": ("object",),
}
#: What is read at a part itself, and what is read over the scope of a condition.
AT_A_PART = frozenset(("lw:readFromContacts", "lw:contactIs", "lw:readFromBarriers"))
OVER_A_SCOPE = frozenset(("lw:partField", "lw:partMaterial", "lw:partNamed", "lw:whenDamage"))
#: The scopes of what is asked of all parts, and of all that are joined to one piece.
WHOLE, PIECE = "object", "piece"


class Asks(NamedTuple):
    """How a condition is read: its scope, what silence means, and what it is put together from."""

    scope: str
    silent: Tri
    all_of: tuple[str, ...]
    any_of: tuple[str, ...]
    none_of: tuple[str, ...]


def asks(condition: str, k: Knowledge) -> Asks:
    """Return how a condition is read."""
    return k.made(("asks", condition), _asks)


def _asks(k: Knowledge, key: tuple[str, str]) -> Asks:
    silent = (k.object(key[1], "lw:whenSilent") or "lw:unknown").removeprefix("lw:")
    every, one_of, none = (tuple(k.objects(key[1], name)) for name in TOGETHER)
    return Asks(k.text(key[1], "lw:scope"), Tri(silent), every, one_of, none)


class HangsOn(NamedTuple):
    """What the answer to a condition hangs on; *deciding* are tests that would be read for it.

    Where it doesn't hang on the part it is the same for all parts: it is read from the aim, the
    object, the problem, or from all parts together.
    """

    on_part: bool
    on_problem: bool
    on_technique: bool
    pieces: frozenset[str]
    deciding: frozenset[str]


def hangs_on(condition: str, catalogue: Catalogue, made: frozenset[str]) -> HangsOn:
    """Return what an answer hangs on where the tests *made* have a result."""
    untested = catalogue.knowledge.made(
        ("hangs on", condition), lambda _, key: _hangs_on(key[1], catalogue, frozenset())
    )
    if made.isdisjoint(untested.deciding):
        return untested
    return _hangs_on(condition, catalogue, made)


def _hangs_on(condition: str, catalogue: Catalogue, made: frozenset[str]) -> HangsOn:
    k = catalogue.knowledge
    said, scope, checked = k.predicates(condition), asks(condition, k).scope, catalogue.checked_by
    mine = frozenset(checked.get(condition, ()))
    tried = not made.isdisjoint(mine)
    inner = [hangs_on(one, catalogue, made) for name in TOGETHER for one in said.get(name, ())]
    pieces = frozenset(piece for name in said for piece in READ_FROM.get(name, ()))
    if scope:
        pieces |= {"parts", "contacts"}
    here = not AT_A_PART.isdisjoint(said)
    over = scope != WHOLE and (tried or not OVER_A_SCOPE.isdisjoint(said))
    problem = tried or not OF_THE_PROBLEM.isdisjoint(said)
    if problem:
        pieces |= {"damages", "needs"}
    if tried:
        pieces |= {"tests", "parts", "contacts"}  # it may be made on what carries the part
    return HangsOn(
        here or over or any(one.on_part for one in inner),
        problem or any(one.on_problem for one in inner),
        tried or any(one.on_technique for one in inner),
        pieces.union(*(one.pieces for one in inner)),
        mine.union(*(one.deciding for one in inner)),
    )
