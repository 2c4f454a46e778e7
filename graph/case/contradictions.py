"""What a record can't mean: each with its path and what would mend it.

What it may mean, but hardly does, is a question (:mod:`leastwise.graph.case.questions`).
"""

from __future__ import annotations

import difflib
from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator
from typing import Final

from leastwise.graph.case.names import find_concept, fold_name, name_table
from leastwise.graph.case.parts import HEADINGS
from leastwise.graph.case.record import Case, Constituent, Contact, Part, TestDone
from leastwise.graph.errors import Fault, Problem, missing
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["contradictions", "materials_meant"]

ALL_SHARES: Final = 1.001  # three thirds, rounded up
_ALIKE: Final = 0.8  # how alike a piece of equipment has to be spelled to be taken for another


def contradictions(case: Case, knowledge: Knowledge) -> Iterator[Problem]:
    """Yield what doesn't fit together in a case whose names are resolved."""
    yield from _loose_ends(case)
    yield from _object(case)
    yield from _headings(case)
    yield from _contacts(case)
    yield from _damages(case)
    yield from _colours(case)
    yield from _aim(case)
    yield from _equipment(case, knowledge)
    parts = {part.id: part for part in case.parts}
    for i, done in enumerate(case.tests):
        if done.part in parts:
            yield from _test(f"tests[{i}]", done, parts[done.part], knowledge)
    yield from _two_results(case)
    yield from _tried_on(case)


# -- names inside the record


def _loose_ends(case: Case) -> Iterator[Problem]:
    parts = {part.id for part in case.parts}
    listed = f" ({', '.join(sorted(parts))})" if len(parts) <= 12 else ""
    accepted = f"the id of a part in parts{listed}"
    for path, part in _named_parts(case):
        if part not in parts:
            yield Problem(path, repr(part), accepted)
    yield from _twice("parts", [part.id for part in case.parts])
    problems = [*(damage.id for damage in case.damages), *(need.id for need in case.needs)]
    yield from _twice("damages", problems[: len(case.damages)])
    for i, need in enumerate(case.needs):
        if need.id in problems[: len(case.damages) + i]:
            yield Problem(f"needs[{i}].id", repr(need.id), "an id that is used once")
    damages = {damage.id for damage in case.damages}
    for i, pack in enumerate(case.packs):
        if pack.damage not in damages:
            yield Problem(f"packs[{i}].damage", repr(pack.damage), "the id of a damage in damages")


def _named_parts(case: Case) -> Iterator[tuple[str, str]]:
    """Yield the path and the name of every mention of a part."""
    for i, contact in enumerate(case.contacts):
        yield from ((f"contacts[{i}].between[{j}]", end) for j, end in enumerate(contact.between))
    for i, damage in enumerate(case.damages):
        yield from ((f"damages[{i}].parts[{j}]", part) for j, part in enumerate(damage.parts))
    for i, need in enumerate(case.needs):
        yield from ((f"needs[{i}].parts[{j}]", part) for j, part in enumerate(need.parts))
    for i, test in enumerate(case.tests):
        yield f"tests[{i}].part", test.part
    for i, pack in enumerate(case.packs):
        for j, layer in enumerate(pack.stack.layers):
            if layer.part is not None:
                yield f"packs[{i}].stack.layers[{j}].part", layer.part


def _twice(listing: str, ids: list[str]) -> Iterator[Problem]:
    """Yield the ids of a list that were used before."""
    seen: set[str] = set()
    for i, one in enumerate(ids):
        if one in seen:
            yield Problem(f"{listing}[{i}].id", repr(one), "an id that is used once")
        seen.add(one)


# -- object, parts, contacts, damage, aim


def _object(case: Case) -> Iterator[Problem]:
    made_from, made_to = case.object.made_from, case.object.made_to
    if isinstance(made_from, int) and isinstance(made_to, int) and made_from > made_to:
        yield Problem("object.made_from", str(made_from), f"a year up to made_to, {made_to}")


def _headings(case: Case) -> Iterator[Problem]:
    for i, part in enumerate(case.parts):
        shares: dict[str, float] = {}
        for j, one in enumerate(part.materials):
            if one.choice and one.identified != "unknown" and one.choice not in shares:
                path = f"parts[{i}].materials[{j}].identified"
                accepted = "unknown, as long as it is one of several"
                yield Problem(path, repr(one.identified), accepted)
            if one.choice:
                share = 0.0 if isinstance(one.share, str) else one.share
                shares[one.choice] = shares.get(one.choice, 0.0) + share
        for total in shares.values():
            if total > ALL_SHARES:
                yield Problem(f"parts[{i}]", f"shares of {total:g} in all", "shares of at most 1")


def none_and_named(part: dict[str, object], path: str) -> Iterator[Problem]:
    """Yield the headings of a part that are stated to be none and named all the same."""
    entries = part.get("materials")
    named = (
        {e.get("heading") for e in entries if isinstance(e, dict)}
        if isinstance(entries, list)
        else set()
    )
    for heading in HEADINGS:
        if part.get(heading) == "none" and heading in named:
            yield Problem(f"{path}.{heading}", "none beside a name", "none, or what it is")


def _contacts(case: Case) -> Iterator[Problem]:
    pairs: dict[frozenset[str], list[tuple[int, Contact]]] = defaultdict(list)
    for i, contact in enumerate(case.contacts):
        if contact.between[0] == contact.between[1]:
            yield Problem(f"contacts[{i}].between", repr(contact.between[0]), "two different parts")
        pairs[frozenset(contact.between)].append((i, contact))
    for rows in pairs.values():
        for k, (i, second) in enumerate(rows):
            for j, first in rows[:k]:
                yield from _two_contacts(j, first, i, second)


def _two_contacts(j: int, first: Contact, i: int, second: Contact) -> Iterator[Problem]:
    """Yield what two contacts of the same two parts say against each other."""
    if {first.parting, second.parting} == {"done", "impossible"}:
        said = f"{second.parting}, where contacts[{j}] says {first.parting}"
        yield Problem(f"contacts[{i}].parting", said, "one of the two for the same parts")
    if {first.barrier, second.barrier} == {"in-place", "impossible"}:
        said = f"{second.barrier}, where contacts[{j}] says {first.barrier}"
        yield Problem(f"contacts[{i}].barrier", said, "one of the two for the same parts")


def _damages(case: Case) -> Iterator[Problem]:
    rows = [
        *((f"damages[{i}]", one.parts) for i, one in enumerate(case.damages)),
        *((f"needs[{i}]", one.parts) for i, one in enumerate(case.needs)),
    ]
    for path, parts in rows:
        for part, times in Counter(parts).items():
            if times > 1:
                yield Problem(f"{path}.parts", repr(part), "each part once")


def _aim(case: Case) -> Iterator[Problem]:
    aim = case.aim
    for purpose, times in Counter(aim.purposes).items():
        if times > 1:
            yield Problem("aim.also", repr(purpose), "each purpose once")
    if aim.also and "unknown" in aim.purposes:
        yield Problem("aim.also", "unknown beside a purpose", "the purposes that are known")


def _equipment(case: Case, knowledge: Knowledge) -> Iterator[Problem]:
    """Yield equipment that is spelled nearly like a piece that techniques ask for."""
    if isinstance(case.means.equipment, str):
        return
    for i, given in enumerate(case.means.equipment):
        if find_concept(given, "equipment", knowledge) is not None:
            continue  # to look for what is spelled alike takes much longer
        table = name_table(knowledge, "equipment")
        near = difflib.get_close_matches(fold_name(given), table, n=1, cutoff=_ALIKE)
        if near:
            meant = knowledge.label(table[near[0]])
            yield Problem(f"means.equipment[{i}]", repr(given), f"equipment; near to it: {meant}")


# -- tests


def _test(path: str, done: TestDone, part: Part, knowledge: Knowledge) -> Iterator[Problem]:
    yield from _agent_of_test(path, done, knowledge)
    if done.result == "not-judged" and not (done.identified or done.reading or done.effect):
        accepted = "good, bad or inconclusive, or identified, a reading, an effect"
        yield missing(f"{path}.result", accepted)
    yield from _material_of_test(path, done, part, knowledge)


def _agent_of_test(path: str, done: TestDone, knowledge: Knowledge) -> Iterator[Problem]:
    agents = knowledge.objects(done.test, "lw:testsAgent")
    labels = ", ".join(agents)
    if done.agent is None and knowledge.is_true(done.test, "lw:oneAgentAtATime"):
        yield Problem(f"{path}.agent", "no agent", f"the agent tried: {labels}", kind=Fault.EMPTY)
    elif done.damage is not None and done.effect and done.agent is None:
        accepted = f"the agent that was tried: {labels or 'an agent'}"
        yield Problem(f"{path}.agent", "no agent beside an effect on a damage", accepted)
    if done.agent is not None and done.agent not in agents and done.test != "test:other":
        shows = f"an agent that the test shows: {labels}" if agents else "no agent for this test"
        yield Problem(f"{path}.agent", repr(done.agent), shows)


def _material_of_test(
    path: str, done: TestDone, part: Part, knowledge: Knowledge
) -> Iterator[Problem]:
    meant = materials_meant(done, part, knowledge)
    listed = ", ".join(dict.fromkeys(one.material for one in part.named)) or "none is named"
    if done.material is not None and not meant:
        accepted = f"a material that {part.id} holds ({listed}), or none for the whole part"
        yield Problem(f"{path}.material", repr(done.material), accepted)
    elif done.material is not None and done.result == "good" and len(_kinds(meant)) > 1:
        which = ", ".join(sorted(_kinds(meant)))
        yield Problem(f"{path}.material", repr(done.material), f"which of them is good: {which}")


def materials_meant(done: TestDone, part: Part, knowledge: Knowledge) -> list[Constituent]:
    """Return what of a part a test speaks of: all of it, or what its material and colour name.

    A group (dye) stands for every narrower material that the part holds.
    """
    meant = []
    for one in part.materials:
        fits = done.material in (None, *knowledge.broader(one.material))
        if fits and one.is_meant_by(done.colour):
            meant.append(one)
    return meant


def _kinds(entries: list[Constituent]) -> set[str]:
    return {f"{one.material} {one.look}".strip() for one in entries}


def _has(parts: Iterable[Part], colour: str) -> bool:
    return any(one.is_meant_by(colour) for part in parts for one in part.materials)


def _colours(case: Case) -> Iterator[Problem]:
    """Yield the colours that damage, contacts and tests name and their parts don't hold."""
    parts = {part.id: part for part in case.parts}
    rows = [
        *((f"damages[{i}]", one.colour, one.parts) for i, one in enumerate(case.damages)),
        *((f"contacts[{i}]", one.colour, one.between) for i, one in enumerate(case.contacts)),
        *((f"tests[{i}]", one.colour, [one.part]) for i, one in enumerate(case.tests)),
    ]
    for path, colour, named in rows:
        there = [parts[one] for one in named if one in parts]
        if colour and not _has(there, colour):
            looks = [one.look or one.material for part in there for one in part.under("colour")]
            listed = ", ".join(dict.fromkeys(looks)) or "none is named there"
            on = " or ".join(named)
            yield Problem(f"{path}.colour", repr(colour), f"a colour of {on}: {listed}")


def _tried_on(case: Case) -> Iterator[Problem]:
    """Yield the tests made on a damage that the record doesn't list, or not on their part."""
    damages = {damage.id: damage for damage in case.damages}
    for i, done in enumerate(case.tests):
        if done.damage is None:
            continue
        damage = damages.get(done.damage)
        if damage is None or done.part not in damage.parts:
            there = [one.id for one in case.damages if done.part in one.parts]
            accepted = (
                f"the id of a damage on {done.part}: {', '.join(there) or 'none is recorded'}"
            )
            yield Problem(f"tests[{i}].damage", repr(done.damage), accepted)


def _two_results(case: Case) -> Iterator[Problem]:
    """Yield a good and a bad result of the very same test on the same day."""
    seen: dict[tuple[object, ...], tuple[int, str]] = {}
    for i, done in enumerate(case.tests):
        if done.result not in ("good", "bad"):
            continue
        key = (
            *(done.test, done.other, done.part, done.material, done.colour),
            *(done.agent, done.damage, done.date),
        )
        j, before = seen.setdefault(key, (i, done.result))
        if before != done.result:
            given = f"{done.result}, where tests[{j}] says {before} of the same test"
            yield Problem(f"tests[{i}].result", given, "one of the two, or the dates of both")
