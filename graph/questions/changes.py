"""Changes of a case that the record leaves open, and what comes of them when it is weighed again.

A change is a test that comes out well (or badly), a barrier put in place, two parts taken apart,
an entry made in the record, or more means. What it leads to is never guessed: the changed case is
weighed again.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import TYPE_CHECKING

from leastwise.graph.case.record import Case, Tri
from leastwise.graph.ids import Pair
from leastwise.graph.knowledge.concepts import Catalogue, Test
from leastwise.graph.meanings import BLOCKING, Remedy
from leastwise.graph.questions.change import (
    BarrierPlaced,
    Change,
    EquipmentAdded,
    FieldEntered,
    HoursAdded,
    Key,
    MaterialIdentified,
    MountingChosen,
    PartingAllowed,
    PartsTakenApart,
    SkillAdded,
    TestMade,
    applied,
)
from leastwise.graph.weighing.candidates import Candidate
from leastwise.graph.weighing.explain import Explainer
from leastwise.graph.weighing.findings import Finding
from leastwise.graph.weighing.settle import Mend
from leastwise.graph.weighing.shared import Shared
from leastwise.graph.weighing.steps import Steps, Variant

if TYPE_CHECKING:
    from leastwise.graph.weighing.advise import Adviser

__all__ = ["closed_changes", "one_of_each", "open_changes", "open_changes_of"]

SKILLS = ("assistant", "conservator", "specialist")
MOUNTINGS = ("flat", "slanted", "hung", "on-figure", "pressure-mounted", "boxed")
ROUNDS = 3


@dataclass(frozen=True)
class _Finder:
    """Finds the changes that could lift the findings on one option."""

    case: Case
    catalogue: Catalogue
    explainer: Explainer
    candidate: Candidate

    def of_mend(self, mend: Mend, agent: str) -> Iterator[Change]:
        label = self.explainer.mend(mend).label
        if mend.kind.is_test:
            yield from self._tests(mend, agent, label)
        elif mend.kind == Remedy.BARRIER:
            yield BarrierPlaced(pair=Pair(mend.what), label=label)
        elif mend.kind == Remedy.PARTING:
            yield PartsTakenApart(pair=Pair(mend.what), label=label)
        elif mend.kind == Remedy.MEANS:
            yield from self._means(mend.what, label)
        elif mend.what == "lw:mounting" and self.case.aim.mounting == "unknown":
            for way in MOUNTINGS:
                label = f"the object is held in one way: {way.replace('-', ' ')}"
                yield MountingChosen(mounting=way, label=label)
        elif mend.what.startswith("condition:"):
            yield from self.of_condition(mend.what, (mend.part,) if mend.part else ())

    def _tests(self, mend: Mend, agent: str, label: str) -> Iterator[Change]:
        test = self.catalogue.tests.get(mend.what)
        if test is None:
            return
        for single in self._agents(test, agent):
            yield from self._test(mend, test, single, label)

    def _agents(self, test: Test, agent: str) -> list[str]:
        """Return the agents to try: none to name if the test shows all it can at once."""
        if not test.one_agent_at_a_time:
            return [""]
        brought = [use.agent for use in self.candidate.technique.brings]
        return [agent] if agent else [a for a in brought if a in test.tests_agent]

    def _test(self, mend: Mend, test: Test, agent: str, label: str) -> Iterator[Change]:
        if agent:
            label = f"{label}, for {self.catalogue.knowledge.label(agent)}"
        made = TestMade if mend.kind == Remedy.TEST else MaterialIdentified
        one = made(
            test=test.id,
            label=label,
            part=mend.part,
            material=mend.material,
            agent=agent,
            minutes=test.minutes,
            material_lost=test.material_lost,
        )
        uncertain = mend.material in self.catalogue.uncertain_materials
        if not (isinstance(one, MaterialIdentified) and uncertain):
            yield one
            return
        k = self.catalogue.knowledge
        groups = set(k.objects(mend.material, "skos:broader"))
        for material in sorted(m for m in test.identifies if groups & set(k.broader(m))):
            shown = f"{label}, shows {k.label(material)}"
            yield replace(one, label=shown, found=material)

    def _means(self, what: str, label: str) -> Iterator[Change]:
        technique = self.candidate.technique
        if what == "lw:beyondSkill":
            skill = SKILLS[min(technique.skill, 3) - 1]
            yield SkillAdded(what=what, label=f"{label} (a {skill})", skill=skill)
        elif what == "lw:beyondHours":
            hours = math.ceil(self.candidate.hours[1])
            yield HoursAdded(what=what, label=f"{label} ({hours} in all)", hours=hours)
        elif technique.equipment_keys:
            keys = tuple(technique.equipment_keys)
            named = f"the equipment it needs ({', '.join(keys)})"
            yield EquipmentAdded(what=what, label=named, equipment=keys)

    def of_condition(self, condition: str, parts: Iterable[str]) -> Iterator[Change]:
        """Yield the entries that would say that a condition holds."""
        k, label = self.catalogue.knowledge, self.catalogue.knowledge.label(condition)
        parts = tuple(parts) or self.candidate.parts
        if name := k.text(condition, "lw:partField"):
            for part in parts:
                said = _said(f"{self._name(part)}: {label}")
                yield FieldEntered(
                    condition=condition, label=said, holder="part", field=name, part=part
                )
        elif k.is_true(condition, "lw:readFromContacts"):
            for part in parts:
                said = _said(f"{self._name(part)}: {label}")
                yield PartingAllowed(condition=condition, label=said, part=part)
        elif name := k.text(condition, "lw:significanceField"):
            yield FieldEntered(
                condition=condition, label=_said(label), holder="significance", field=name
            )
        elif name := k.text(condition, "lw:aimField"):
            yield FieldEntered(condition=condition, label=_said(label), holder="aim", field=name)
        elif key := k.text(condition, "lw:equipmentKey"):
            yield EquipmentAdded(what=condition, label=label, equipment=tuple(key.split(",")))

    def _name(self, part: str) -> str:
        return self.explainer.part_name(part)


def _said(label: str) -> str:
    return f"the record says: {label}"


def open_changes(
    adviser: Adviser, case: Case, option: str, shared: Shared | None = None
) -> list[Change]:
    """Return the changes that the rules and the record leave open for an option, each once.

    Making some may open others, so the case is changed and looked at again, a few times over;
    what these cases have in common is *shared* with others that are weighed.
    """
    return open_changes_of(adviser, case, [option], shared=shared)[option]


def open_changes_of(
    adviser: Adviser,
    case: Case,
    options: Sequence[str],
    now: Steps | None = None,
    shared: Shared | None = None,
) -> dict[str, list[Change]]:
    """Return the open changes of several options; the changed cases are weighed together.

    *now* are the steps of the whole case, if they are at hand.
    """
    found: dict[str, dict[Key, Change]] = {option: {} for option in options}
    steps = {one: now.of(one) if now else adviser.steps(case, one) for one in options}
    for number in range(ROUNDS):
        if number:
            cases = [applied(case, one_of_each(found[one].values())) for one in steps]
            variants = map(Variant, cases, (frozenset((one,)) for one in steps))
            steps = dict(zip(steps, adviser.variants([*variants], shared), strict=True))
        fresh: dict[str, dict[Key, Change]] = {
            option: {c.key: c for c in _open_now(mine, option) if c.key not in found[option]}
            for option, mine in steps.items()
        }
        for option, changes in fresh.items():
            found[option].update(changes)
        steps = {option: mine for option, mine in steps.items() if fresh[option]}
    return {
        option: sorted(changes.values(), key=lambda c: (*c.cost, c.key))
        for option, changes in found.items()
    }


def one_of_each(changes: Iterable[Change]) -> list[Change]:
    """Return the first change of every slot, so that all can be made together."""
    found: dict[tuple[str, ...], Change] = {}
    for change in changes:
        found.setdefault(change.slot, change)
    return list(found.values())


def _open_now(steps: Steps, option: str) -> Iterator[Change]:
    """Yield what is open for an option; nothing for a need that no longer arises."""
    candidate = next((c for c in steps.candidates if c.id == option), None)
    if candidate is None:
        return
    finder = _Finder(steps.case, steps.catalogue, steps.explainer, candidate)
    for finding in steps.findings.get(candidate.id, ()):
        if finding.rule.effect not in BLOCKING:
            continue
        lifted_by = finding.rule.lifted_by
        if finding.exposure is not None:
            mends = steps.settler.of_exposure(finding.exposure, lifted_by)
            mends += _named(finding, steps.catalogue)
        else:
            mends = steps.settler.of_option(candidate, lifted_by, asked_of=finding.rule.asks_of)
        for mend in mends:
            yield from finder.of_mend(mend, finding.agent)


def _named(finding: Finding, catalogue: Catalogue) -> list[Mend]:
    """Return what a rule on an exposure names itself: its tests on that material, its consents."""
    return [
        Mend(Remedy.RECORD, name)
        if name.startswith("condition:")
        else Mend(Remedy.TEST, name, finding.part, finding.material)
        for name in finding.rule.lifted_by
        if name.startswith("condition:") or name in catalogue.tests
    ]


def closed_changes(adviser: Adviser, case: Case, option: str) -> list[Change]:
    """Return changes that the record rules out: a condition denied, a barrier impossible.

    They say what would have to be otherwise, not what could be done.
    """
    steps = adviser.steps(case, option)
    candidate = steps.candidates[0]
    finder = _Finder(case, adviser.catalogue, steps.explainer, candidate)
    found: dict[Key, Change] = {}
    for condition in candidate.technique.requires:
        if steps.data.reader.state(condition, candidate) == Tri.NO:
            for change in finder.of_condition(condition, ()):
                found[change.key] = change
    ways = {way for e in steps.data.exposures[candidate.id] for way in _pairs(e.reach.way)}
    for contact in case.contacts:
        touching = frozenset(contact.between)
        for kind in (Remedy.BARRIER, Remedy.PARTING):
            if touching in ways and getattr(contact, kind) == "impossible":
                mend = Mend(kind, Pair.of(*contact.between))
                for change in finder.of_mend(mend, ""):
                    found[change.key] = change
    return [replace(change, against_record=True) for change in found.values()]


def _pairs(way: Sequence[str]) -> Iterator[frozenset[str]]:
    return (frozenset(pair) for pair in pairwise(way))
