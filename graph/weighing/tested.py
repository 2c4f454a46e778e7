"""What the record and its tests have settled: the case as it is weighed once they are believed.

An object whose kind is not recorded is what its name says. A test that *identified* something
makes it certain: the material of the part, what a damage is, or what a deposit is of. A *reading*
beyond a limit of the knowledge (``lw:readingMeans``) counts as the result, or shows the material,
that the limit says. Each is told with its reason. The record itself stays as it was written.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from leastwise.graph.case.called import as_called, word_in
from leastwise.graph.case.implied import heading_of
from leastwise.graph.case.names import fold_name
from leastwise.graph.case.record import (
    Case,
    Constituent,
    DamageFound,
    ObjectRecord,
    Part,
    Reading,
    TestDone,
)
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.sentences import sentence_case

__all__ = ["AsTested", "Settled", "as_tested", "means_of_reading"]

UNIDENTIFIED: Final = "lw:unidentified"
#: Headings under which one uncertain entry is all there is to be found out.
ONE_KIND: Final = ("fibre", "colour")


@dataclass(frozen=True, slots=True)
class Settled:
    """What a test has settled: where it stands in the record, and in words."""

    path: str
    says: str

    def __str__(self) -> str:
        return f"{self.path}: {self.says}"


@dataclass(frozen=True, slots=True)
class AsTested:
    """A case with what its tests found written into it; the case itself where they found nothing.

    *settled* says what was changed, in the order of the tests.
    """

    case: Case
    settled: tuple[Settled, ...] = ()


@dataclass(frozen=True, slots=True)
class ReadingMeans:
    """What a reading comes to: a result, what it shows the part to be of, or both."""

    result: str = ""
    shows: str = ""
    rests_on: tuple[str, ...] = ()


def as_tested(case: Case, knowledge: Knowledge) -> AsTested:
    """Return the case as its name and its tests tell it, and what each of them settled.

    A part, material or damage that a test does not speak of stays as recorded. What is certain
    already is never overwritten: another thing found on the same part is added to it.
    """
    thing = as_called(case.object, knowledge)
    if thing is case.object:
        return _Believing(case, knowledge).all()
    told = _Believing(case.model_copy(update={"object": thing}), knowledge).all()
    return AsTested(told.case, (_called(case, thing, knowledge), *told.settled))


def _called(case: Case, thing: ObjectRecord, knowledge: Knowledge) -> Settled:
    kind = thing.kind.replace("-", " ")
    form = "" if thing.form in (thing.kind, "unknown") else f" ({thing.form})"
    word = word_in(thing.name, knowledge)
    return Settled(
        "object.kind" if thing.kind != case.object.kind else "object.form",
        f"The object is taken as {kind}{form}, since the record calls it “{word}”.",
    )


def means_of_reading(done: TestDone, knowledge: Knowledge) -> ReadingMeans:
    """Return what the reading of a test means; nothing where no limit speaks of it.

    A reading whose uncertainty spans a limit is within none of the two sides.
    """
    if done.reading is None:
        return ReadingMeans()
    for node in knowledge.objects(done.test, "lw:readingMeans"):
        units = {fold_name(one) for one in knowledge.texts(node, "lw:inUnit")}
        if fold_name(done.reading.unit) in units and _is_within(done.reading, node, knowledge):
            return ReadingMeans(
                knowledge.text(node, "lw:resultIs"),
                knowledge.object(node, "lw:shows") or "",
                tuple(knowledge.objects(node, "lw:restsOn")),
            )
    return ReadingMeans()


def _is_within(reading: Reading, node: str, knowledge: Knowledge) -> bool:
    off = 0.0 if isinstance(reading.plus_minus, str) else reading.plus_minus
    least, most = (knowledge.number(node, name) for name in ("lw:atLeast", "lw:atMost"))
    low, high = reading.value - off, reading.value + off
    return (least is None or low >= least) and (most is None or high <= most)


class _Believing:
    """Writes into a case what its tests found, one test after another."""

    def __init__(self, case: Case, knowledge: Knowledge) -> None:
        self._case, self._k = case, knowledge
        self._parts = {part.id: part for part in case.parts}
        self._damages = {damage.id: damage for damage in case.damages}
        self._settled: list[Settled] = []

    def all(self) -> AsTested:
        tests = [self._read(i, done) for i, done in enumerate(self._case.tests)]
        for i, done in enumerate(tests):
            if done.identified is not None and done.part in self._parts:
                self._believe(i, done, done.identified)
        if not self._settled:
            return AsTested(self._case)
        case = self._case.model_copy(
            update={
                "parts": list(self._parts.values()),
                "damages": list(self._damages.values()),
                "tests": tests,
            }
        )
        return AsTested(case, tuple(self._settled))

    # -- readings

    def _read(self, i: int, done: TestDone) -> TestDone:
        """Return a test with the result that its reading comes to, if nobody has judged it."""
        means = means_of_reading(done, self._k)
        new: dict[str, str] = {}
        if means.result and done.result == "not-judged":
            new["result"] = means.result
        if means.shows and done.identified is None:
            new["identified"] = means.shows
        if not new or done.reading is None:
            return done
        comes = new.get("result") or f"a sign of {self._k.label(means.shows)}"
        read = f"{done.reading.value:g} {done.reading.unit}"
        why = f" ({', '.join(means.rests_on)})" if means.rests_on else ""
        self._tell(i, f"{self._name(done)} on {self._on(done)} read {read}: {comes}{why}.")
        return done.model_copy(update=new)

    # -- what was identified

    def _believe(self, i: int, done: TestDone, found: str) -> None:
        if found.startswith("damage:"):
            self._is_damage(i, done, found)
            return
        if self._is_deposit(i, done, found):
            return
        part = self._parts[done.part]
        entries, was = _with_found(part, done, found, self._k)
        if entries is None:
            return
        self._parts[part.id] = part.model_copy(update={"materials": entries})
        before = f", recorded as {self._k.label(was)}" if was and was != found else ""
        self._tell(
            i,
            f"{self._name(done)} showed {self._k.label(found)} on {self._on(done)}{before}: "
            "weighed as certain.",
        )

    def _is_damage(self, i: int, done: TestDone, found: str) -> None:
        """Let the damage that was tested, or the one of a broader kind, be what was found."""
        above = set(self._k.broader(found))

        def fits(damage: DamageFound) -> bool:
            return damage.damage in above or _may_be(damage.damage, above, self._k)

        for damage in self._tested(done, fits):
            if damage.damage == found:
                continue
            self._damages[damage.id] = damage.model_copy(update={"damage": found})
            self._tell(
                i,
                f"{self._name(done)} showed that {self._k.label(damage.damage)} on "
                f"{self._on(done)} is {self._k.label(found)}.",
            )

    def _is_deposit(self, i: int, done: TestDone, found: str) -> bool:
        """Let a deposit be of what was found, where the part itself isn't made of it."""
        kinds = (self._k.text(one, "lw:asDeposit") for one in self._k.broader(found))
        kind = next(filter(None, kinds), "")
        if not kind:
            return False

        def fits(damage: DamageFound) -> bool:
            return self._k.is_true(damage.damage, "lw:hasDeposit")

        tested = self._tested(done, fits)
        for damage in tested:
            if damage.deposit == "unknown":
                self._damages[damage.id] = damage.model_copy(update={"deposit": kind})
                said = f"{self._k.label(damage.damage)} on {self._on(done)}"
                self._tell(i, f"{self._name(done)} showed {said} to be {kind.replace('-', ' ')}.")
        return bool(tested)

    def _tested(self, done: TestDone, fits: Callable[[DamageFound], bool]) -> Sequence[DamageFound]:
        """Return the damage that a test names; else the one on its part that fits, if one does."""
        if done.damage is not None:
            return [one for one in (self._damages.get(done.damage),) if one is not None]
        mine = [d for d in self._damages.values() if done.part in d.parts and fits(d)]
        return mine if len(mine) == 1 else []

    # -- words

    def _name(self, done: TestDone) -> str:
        return sentence_case(done.other or self._k.label(done.test))

    def _on(self, done: TestDone) -> str:
        part = self._parts.get(done.part)
        return part.name if part else done.part

    def _tell(self, i: int, says: str) -> None:
        self._settled.append(Settled(f"tests[{i}]", says))


def _with_found(
    part: Part, done: TestDone, found: str, k: Knowledge
) -> tuple[list[Constituent] | None, str]:
    """Return the entries of a part with what was found as certain, and what it was recorded as.

    None for the entries if it was certain already.
    """
    heading = heading_of(found, k)
    mine = [one for one in part.materials if one.heading == heading and _is_meant(one, done, k)]
    same = [one for one in mine if one.material == found]
    if any(one.identified == "certain" for one in same):
        return None, ""
    slot = next(iter(same), None) or _unsettled(mine, done, found, heading, k)
    certain = {"material": found, "identified": "certain", "choice": "", "implied": False}
    if slot is None:
        new = Constituent.model_validate(
            {"material": found, "heading": heading, "identified": "certain", "look": done.colour}
        )
        return [*part.materials, new], ""
    kept = [
        one.model_copy(update=certain | {"share": "unknown"}) if one is slot else one
        for one in part.materials
        if one is slot or not slot.choice or one.choice != slot.choice
    ]
    return kept, slot.material


def _is_meant(one: Constituent, done: TestDone, k: Knowledge) -> bool:
    named = done.material in (None, done.identified, *k.broader(one.material))
    return named and one.is_meant_by(done.colour if one.heading == "colour" else "")


def _unsettled(
    entries: Sequence[Constituent], done: TestDone, found: str, heading: str, k: Knowledge
) -> Constituent | None:
    """Return the entry that a test settles: of a broader kind, of one not known, or the only one.

    Two entries that it might be are left as they are.
    """
    open_ones = [
        one
        for one in entries
        if one.identified != "certain" or k.is_true(one.material, UNIDENTIFIED)
    ]
    above = set(k.broader(found))
    fitting = [m for m in open_ones if m.material in above or _may_be(m.material, above, k)]
    if not fitting and heading in ONE_KIND and len(entries) == 1:
        fitting = open_ones
    if not fitting and done.material is not None:
        fitting = [one for one in open_ones if one.material == done.material]
    choices = {one.choice or f"{i}" for i, one in enumerate(fitting)}
    return fitting[0] if len(choices) == 1 else None


def _is_open(one: Constituent, k: Knowledge) -> bool:
    return k.is_true(one.material, UNIDENTIFIED)


def _may_be(kind: str, above: set[str], k: Knowledge) -> bool:
    """Return whether what is of unknown kind may turn out to be what stands below *above*."""
    parents = k.objects(kind, "skos:broader")
    return k.is_true(kind, UNIDENTIFIED) and not above.isdisjoint(parents)
