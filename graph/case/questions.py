"""What a record may mean but hardly does: questions to whoever wrote it, with path and mend.

A question stops nothing. What can't be meant is an error
(:mod:`leastwise.graph.case.contradictions`).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from leastwise.graph.case.contradictions import materials_meant
from leastwise.graph.case.names import find_concept
from leastwise.graph.case.record import Case, TestDone
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["Question", "questions"]

#: The slopes that a way of mounting can have, where it says so itself.
_SLOPE_OF: Final = {"flat": (90,), "hung": (0,), "on-figure": ()}
#: Contacts that say which of the two is above: whether it is the first.
_FIRST_ABOVE: Final = {"lies-on": True, "layered-under": False}


@dataclass(frozen=True, slots=True)
class Question:
    """Something odd in a record: where it stands, what is odd, what to do about it.

    >>> str(Question("contacts", "no contact is recorded.", "Say how the parts touch."))
    'contacts: no contact is recorded. Say how the parts touch.'
    """

    path: str
    says: str
    mend: str
    line: int = 0  # from 1, in the text that was read

    def __str__(self) -> str:
        place = f"line {self.line}, {self.path}" if self.line else self.path
        return f"{place}: {self.says} {self.mend}"


def questions(case: Case, knowledge: Knowledge) -> list[Question]:
    """Return what a case leaves one wondering about, in the order of the record."""
    return [
        *_contacts(case),
        *_damages(case),
        *_tests(case, knowledge),
        *_handling(case),
        *_aim(case),
        *_equipment(case, knowledge),
    ]


def _contacts(case: Case) -> Iterator[Question]:
    touching = {end for contact in case.contacts for end in contact.between}
    alone = [part.id for part in case.parts if part.id not in touching]
    if len(case.parts) > 1 and alone:
        given = (
            "no contact is recorded" if not case.contacts else f"nothing touches {', '.join(alone)}"
        )
        yield Question(
            "contacts",
            f"{given}, so what reaches one part is unknown on the others.",
            "Say how the parts touch; unknown is a kind too, and so is apart.",
        )
    kinds: dict[frozenset[str], set[str]] = defaultdict(set)
    for i, contact in enumerate(case.contacts):
        pair = frozenset(contact.between)
        others = kinds[pair] - {contact.kind}
        if others and not _FIRST_ABOVE.keys() >= {contact.kind, *others}:
            yield Question(
                f"contacts[{i}].kind",
                f"{' and '.join(contact.between)} touch in two ways: "
                f"{', '.join(sorted(others))} and {contact.kind}.",
                "Leave both if both are so; the closer one counts.",
            )
        kinds[pair].add(contact.kind)
    yield from _above_and_below(case)


def _above_and_below(case: Case) -> Iterator[Question]:
    above: dict[frozenset[str], tuple[str, int]] = {}
    for i, contact in enumerate(case.contacts):
        if contact.kind not in _FIRST_ABOVE:
            continue
        first, second = contact.between
        upper = first if _FIRST_ABOVE[contact.kind] else second
        before, j = above.setdefault(frozenset(contact.between), (upper, i))
        if before != upper:
            yield Question(
                f"contacts[{i}]",
                f"{upper} lies above, where contacts[{j}] has {before} above.",
                "Leave both if both are so, as in a fold; else turn one round.",
            )


def _damages(case: Case) -> Iterator[Question]:
    seen: dict[tuple[str, str, str], str] = {}
    for i, damage in enumerate(case.damages):
        for j, part in enumerate(damage.parts):
            key = (damage.damage, part, damage.where)
            before = seen.setdefault(key, damage.id)
            if before != damage.id and not damage.other:
                yield Question(
                    f"damages[{i}].parts[{j}]",
                    f"{before} and {damage.id} are the same damage on {part}.",
                    "Put them together, or say where each is.",
                )


def _tests(case: Case, knowledge: Knowledge) -> Iterator[Question]:
    parts = {part.id: part for part in case.parts}
    seen: dict[tuple[object, ...], tuple[int, str]] = {}
    for i, done in enumerate(case.tests):
        yield from _changed_result(i, done, seen)
        yield from _nothing_on_what(i, done, case)
        part = parts.get(done.part)
        if part is None or done.identified is None:
            continue
        meant = materials_meant(done, part, knowledge)
        names = {up for one in part.materials for up in knowledge.broader(one.material)}
        if done.identified.startswith("material:") and done.identified not in names:
            named = ", ".join(one.material for one in meant if not one.implied) or "nothing"
            yield Question(
                f"tests[{i}].identified",
                f"the test showed {done.identified} on {done.part}, which the part doesn't name "
                f"(it names {named}).",
                "It is weighed as found; write it into the part, as certain.",
            )


def _nothing_on_what(i: int, done: TestDone, case: Case) -> Iterator[Question]:
    """Ask on which damage an agent did nothing; without it no technique loses its effect."""
    there = [one.id for one in case.damages if done.part in one.parts]
    if done.effect == "nothing" and done.agent and done.damage is None and there:
        yield Question(
            f"tests[{i}].damage",
            f"{done.agent} did nothing on {done.part}, and nobody says to which damage.",
            f"Say which ({', '.join(there)}); if it only did no harm, the result is good.",
        )


def _changed_result(
    place: int, done: TestDone, seen: dict[tuple[object, ...], tuple[int, str]]
) -> Iterator[Question]:
    if done.result not in ("good", "bad"):
        return
    key = (done.test, done.other, done.part, done.material, done.colour, done.agent, done.damage)
    j, before = seen.setdefault(key, (place, done.result))
    if before != done.result:
        yield Question(
            f"tests[{place}].result",
            f"{done.result}, where tests[{j}] says {before} of the same test.",
            "The bad one counts; take out the one that no longer holds.",
        )


def _handling(case: Case) -> Iterator[Question]:
    fields = {"test:handling-strength": "bears_handling", "test:needle-prick": "bears_needle"}
    places = {part.id: i for i, part in enumerate(case.parts)}
    for j, done in enumerate(case.tests):
        name, i = fields.get(done.test), places.get(done.part)
        if name is None or i is None:
            continue
        said = getattr(case.parts[i], name)
        if (said, done.result) in (("yes", "bad"), ("no", "good")):
            yield Question(
                f"parts[{i}].{name}",
                f"{said}, where tests[{j}] came out {done.result}.",
                "The test counts; make the field say the same.",
            )


def _aim(case: Case) -> Iterator[Question]:
    aim = case.aim
    flat = case.object.kind in ("flat-textile", "furnishing") or case.object.form == "flat"
    if aim.mounting == "on-figure" and flat:
        yield Question(
            "aim.mounting",
            f"a {case.object.kind.replace('-', ' ')} on a figure.",
            "Say hung, slanted or flat, unless it is draped on one.",
        )
    slope, wanted = aim.degrees_from_vertical, _SLOPE_OF.get(aim.mounting)
    if wanted is not None and not isinstance(slope, str) and slope not in wanted:
        yield Question(
            "aim.degrees_from_vertical",
            f"{slope:g} degrees from the vertical, mounted {aim.mounting.replace('-', ' ')}.",
            "0 degrees hangs, 90 lies flat, a figure has none (not-applicable).",
        )
    if aim.travels == "no" and set(aim.purposes) & {"loan", "transport"}:
        yield Question("aim.travels", "no, for an object that is lent or carried.", "Say yes.")


def _equipment(case: Case, knowledge: Knowledge) -> Iterator[Question]:
    if isinstance(case.means.equipment, str):
        return
    for i, given in enumerate(case.means.equipment):
        if find_concept(given, "equipment", knowledge) is None:
            yield Question(
                f"means.equipment[{i}]",
                f"{given!r} is no equipment that a technique asks for.",
                "It does no harm; search the names if a technique should ask for it.",
            )
