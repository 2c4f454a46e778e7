"""The knowledge as a catalogue of frozen values, each made once when it is first asked for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.knowledge.rates import rates_of, set_up_of, set_up_shares
from leastwise.graph.knowledge.values import (
    NOTHING_KNOWN,
    Agent,
    AgentUse,
    ContactKind,
    Damage,
    Effect,
    HindranceShift,
    Need,
    Passage,
    Sensitivity,
    Technique,
    Test,
    lightness,
)

__all__ = [
    "Agent",
    "AgentUse",
    "Catalogue",
    "ContactKind",
    "Damage",
    "Effect",
    "HindranceShift",
    "Need",
    "Passage",
    "Sensitivity",
    "Technique",
    "Test",
    "lightness",
]

_NOTHING = (NOTHING_KNOWN, "")


@dataclass(frozen=True)
class Catalogue:
    """Views on a loaded knowledge, each made once when it is first asked for."""

    knowledge: Knowledge

    @cached_property
    def agents(self) -> dict[str, Agent]:
        """Return all agents by CURIE."""
        k = self.knowledge
        return {
            one: Agent(
                one,
                k.label(one),
                (k.object(one, "lw:spreads") or "lw:wholeObject").removeprefix("lw:"),
                k.is_true(one, "lw:graded"),
                frozenset(k.objects(one, "lw:stoppedBy")),
                frozenset(k.objects(one, "lw:meansNothingFor")),
            )
            for one in k.instances("lw:Agent")
        }

    @cached_property
    def held(self) -> dict[tuple[str, str, str], Any]:
        """(material, identified, wanted) -> whether it is one; see ``weighing/readings.py``."""
        return {}

    @cached_property
    def axes(self) -> tuple[str, ...]:
        """Return the burden axes in the order in which they are shown."""
        k = self.knowledge
        return tuple(sorted(k.instances("lw:Axis"), key=lambda a: k.number(a, "lw:order") or 0.0))

    @cached_property
    def techniques(self) -> dict[str, Technique]:
        """Return all techniques by CURIE."""
        return {one: self._technique(one) for one in self.knowledge.instances("lw:Technique")}

    def _technique(self, one: str) -> Technique:
        k = self.knowledge
        grades = {
            k.object(node, "lw:axis") or "": _whole(k, node, "lw:grade", 0)
            for node in reversed(k.objects(one, "lw:burdens"))  # so that the first one stays
        }
        hours = k.object(one, "lw:hours") or ""
        return Technique(
            id=one,
            label=k.label(one),
            definition=k.text(one, "skos:definition"),
            groups=k.broader(one)[1:],
            brings=tuple(
                sorted({self._use(n): 0 for n in k.objects(one, "lw:brings")}, key=_by_agent)
            ),
            requires=tuple(k.objects(one, "lw:requires")),
            needs_tests=tuple(k.objects(one, "lw:needsTest")),
            burdens=tuple((axis, grades.get(axis, 0)) for axis in self.axes),
            skill=_whole(k, one, "lw:skill", 3),
            hours=(k.number(hours, "lw:least") or 0.0, k.number(hours, "lw:most") or 0.0),
            hours_per=k.text(hours, "lw:per"),
            equipment=k.text(one, "lw:equipment"),
            equipment_keys=tuple(k.texts(one, "lw:equipmentKey")),
            set_up=k.text(one, "lw:setUp"),
            monitoring=k.text(one, "lw:monitoring"),
            stop_sign=k.text(one, "lw:stopSign"),
            cautions=tuple(k.objects(one, "lw:caution")),
            not_while=frozenset(k.objects(one, "lw:notWhile")),
            only_for=frozenset(k.objects(one, "lw:onlyFor")),
            rests_on=tuple(k.objects(one, "lw:restsOn")),
            supplies=tuple(k.objects(one, "lw:supplies")),
            for_contacts=frozenset(k.objects(one, "lw:forContact")),
            reaches_whole=k.is_true(one, "lw:reachesWholeObject"),
            rates=rates_of(k, one),
            set_up_hours=set_up_of(k, one, self.set_up_shares),
        )

    @cached_property
    def set_up_shares(self) -> dict[str, float]:
        """Return the part of the hours that is set-up, by technique or group; "" for the others."""
        return set_up_shares(self.knowledge)

    def _use(self, node: str) -> AgentUse:
        k = self.knowledge
        return AgentUse(
            k.object(node, "lw:agent") or "",
            _whole(k, node, "lw:dose", 4),
            k.is_true(node, "lw:confined"),
            tuple(k.objects(node, "lw:restsOn")),
        )

    @cached_property
    def acts(self) -> dict[str, tuple[Technique, ...]]:
        """Return the enabling acts by what they supply, those of least burden and hours first."""
        found: dict[str, list[Technique]] = {}
        for act in self.techniques.values():
            for supplied in act.supplies:
                found.setdefault(supplied, []).append(act)
        return {
            what: tuple(sorted(acts, key=lambda act: (*lightness(act), act.id)))
            for what, acts in found.items()
        }

    @cached_property
    def tests(self) -> dict[str, Test]:
        """Return all tests by CURIE."""
        k = self.knowledge
        return {
            one: Test(
                one,
                k.label(one),
                k.text(one, "skos:definition"),
                _whole(k, one, "lw:minutes", 60),
                _whole(k, one, "lw:materialLost", 1),
                frozenset(k.objects(one, "lw:testsAgent")),
                frozenset(k.objects(one, "lw:goodResultClears")),
                frozenset(k.objects(one, "lw:badResultBars")),
                frozenset(k.objects(one, "lw:appliesTo")),
                frozenset(k.objects(one, "lw:identifies")),
                frozenset(k.objects(one, "lw:checksCondition")),
                k.is_true(one, "lw:oneAgentAtATime"),
                tuple(k.objects(one, "lw:restsOn")),
                k.is_true(one, "lw:setsTheWork"),
            )
            for one in k.instances("lw:Test")
        }

    @cached_property
    def checked_by(self) -> dict[str, tuple[str, ...]]:
        """Return the tests that show whether a condition holds, in the order of the catalogue."""
        found: dict[str, list[str]] = {}
        for test in self.tests.values():
            for condition in test.checks:
                found.setdefault(condition, []).append(test.id)
        return {condition: tuple(tests) for condition, tests in found.items()}

    @cached_property
    def damages(self) -> dict[str, Damage]:
        """Return all kinds of damage by CURIE."""
        k = self.knowledge
        return {
            one: Damage(
                one,
                k.label(one),
                k.is_true(one, "lw:weakensObject"),
                k.is_true(one, "lw:mayBeEvidence"),
                _hinders(k, one),
                tuple(k.objects(one, "lw:restsOn")),
            )
            for one in k.instances("lw:Damage")
        }

    @cached_property
    def needs(self) -> dict[str, Need]:
        """Return all needs by CURIE; grades that a need lacks are those of a broader one."""
        k = self.knowledge
        return {
            one: Need(
                one,
                k.label(one),
                k.text(one, "lw:without"),
                tuple(k.objects(one, "lw:arisesWhen")),
                k.object(one, "lw:ofParts") or "",
                k.is_true(one, "lw:beforehand"),
                next((h for up in k.broader(one) if (h := _hinders(k, up))), {}),
            )
            for one in k.instances("lw:Need")
        }

    @cached_property
    def shifts(self) -> tuple[HindranceShift, ...]:
        """Return what severity, activity and extent add to a hindrance, or take from it."""
        k = self.knowledge
        return tuple(
            HindranceShift(
                k.object(one, "lw:whenFound") or "",
                None
                if (low := k.number(one, "lw:percentFrom")) is None
                else (low, k.number(one, "lw:percentTo") or 100.0),
                _whole(k, one, "lw:grades", 0),
                _whole(k, one, "lw:fromGrade", 0),
            )
            for one in k.instances("lw:HindranceShift")
        )

    def hindrance(self, problem: str, aim: str) -> int | None:
        """Return how far a damage or a need, unanswered, stands in the way of an aim, 0 to 4.

        An aim without grades of its own takes those of another (``lw:gradedAs``); None without.
        """
        kind = self.damages.get(problem) or self.needs.get(problem)
        if kind is None:
            return None
        return kind.hinders.get(
            aim, kind.hinders.get(self.knowledge.object(aim, "lw:gradedAs") or "")
        )

    @cached_property
    def effects(self) -> dict[str, tuple[Effect, ...]]:
        """Return the effects by the damage they answer, best first."""
        found: dict[str, list[Effect]] = {}
        for one in self.knowledge.instances("lw:EffectClaim"):
            effect = self._effect(one)
            if effect.technique and effect.damage:
                found.setdefault(effect.damage, []).append(effect)
        return {d: tuple(sorted(e, key=lambda e: (-e.efficacy, e.id))) for d, e in found.items()}

    def _effect(self, one: str) -> Effect:
        k = self.knowledge
        efficacy = _whole(k, one, "lw:efficacy", 0)
        return Effect(
            one,
            k.object(one, "lw:technique") or "",
            k.object(one, "lw:damage") or "",
            efficacy,
            _whole(k, one, "lw:efficacyLow", efficacy),
            k.text(one, "lw:under") or k.text(one, "lw:inWords"),
            k.text(one, "lw:statement"),
            (k.object(one, "lw:basis") or "").removeprefix("lw:"),
            (k.object(one, "lw:confidence") or "").removeprefix("lw:"),
            tuple(k.objects(one, "lw:restsOn")),
            tuple(k.objects(one, "lw:holdsIf")),
            tuple(k.objects(one, "lw:failsIf")),
        )

    @cached_property
    def contact_kinds(self) -> dict[str, ContactKind]:
        """Return the kinds of contact by the local name that a case uses."""
        k = self.knowledge
        return {
            one.partition(":")[2]: ContactKind(
                one,
                k.label(one),
                k.is_true(one, "lw:sewn"),
                dict(self._passage(node) for node in k.objects(one, "lw:passes")),
            )
            for one in k.instances("lw:ContactKind")
        }

    def _passage(self, node: str) -> tuple[str, Passage]:
        k = self.knowledge
        towards = k.object(node, "lw:towards")
        return (k.object(node, "lw:manner") or "").removeprefix("lw:"), Passage(
            _whole(k, node, "lw:doseLoss", 0),
            to_first=towards != "lw:theSecond",
            to_second=towards != "lw:theFirst",
        )

    @cached_property
    def _graded(self) -> dict[tuple[str, str], list[tuple[int, str, str]]]:
        """(material, agent) -> (severity, claim, damage it needs or "")."""
        k = self.knowledge
        found: dict[tuple[str, str], list[tuple[int, str, str]]] = {}
        for claim in k.instances("lw:SensitivityClaim"):
            severity = k.number(claim, "lw:severity")
            only_if = k.object(claim, "lw:onlyIf") or ""
            if severity is None or only_if.startswith('"'):
                continue  # beneficial, or true in a state that no field of a case can hold
            for about in k.objects(claim, "lw:about"):
                for agent in k.objects(claim, "lw:agent"):
                    if about.startswith("material:"):
                        found.setdefault((about, agent), []).append((int(severity), claim, only_if))
        return found

    def sensitivity(
        self, material: str, agent: str, part_damage: frozenset[str] = frozenset()
    ) -> Sensitivity:
        """Return what is claimed of *agent* on *material*, taking the nearest graded concepts.

        What is said of the material itself counts before what is said of a broader one. Where it
        stands under several, each is followed up to its nearest graded concept, and the gravest
        leads, whichever comes first in the file. Where claims on one concept disagree, both stand
        and the graver one leads. Claims that hold only in a state count when the part has it.
        """
        key = (material, agent, part_damage & self._states)
        found = self._sensitivities.get(key)
        if found is None:
            found = self._sensitivities[key] = self._nearest(material, agent, key[2], frozenset())
        return found

    def _nearest(
        self, concept: str, agent: str, part_damage: frozenset[str], seen: frozenset[str]
    ) -> Sensitivity:
        own = _claimed(self._graded, concept, agent, part_damage)
        if own.known:
            return own
        above = [
            (self._nearest(parent, agent, part_damage, seen | {concept}), parent)
            for parent in self.knowledge.objects(concept, "skos:broader")
            if parent not in seen
        ]
        gravest, parent = max(above, key=lambda row: (row[0].harm, row[1]), default=_NOTHING)
        if not gravest.known:
            return NOTHING_KNOWN
        return replace(gravest, inherited_from=gravest.inherited_from or parent)

    @cached_property
    def _states(self) -> frozenset[str]:
        """Return the kinds of damage that some claim depends on."""
        return frozenset(row[2] for rows in self._graded.values() for row in rows if row[2])

    @cached_property
    def _sensitivities(self) -> dict[tuple[str, str, frozenset[str]], Sensitivity]:
        return {}

    @cached_property
    def absences(self) -> frozenset[str]:
        """Return the entries that say that something isn't there, on which nothing can act."""
        k = self.knowledge
        return frozenset(m for m in k.instances("skos:Concept") if k.is_true(m, "lw:isAbsence"))

    @cached_property
    def uncertain_materials(self) -> frozenset[str]:
        """Return the materials whose very entry says that their nature has yet to be found."""
        k = self.knowledge
        return frozenset(m for m in k.instances("skos:Concept") if k.is_true(m, "lw:unidentified"))


def _claimed(
    graded: dict[tuple[str, str], list[tuple[int, str, str]]],
    concept: str,
    agent: str,
    part_damage: frozenset[str],
) -> Sensitivity:
    """Return what the claims on one concept say."""
    claims = [
        row for row in graded.get((concept, agent), ()) if not row[2] or row[2] in part_damage
    ]
    if not claims:
        return NOTHING_KNOWN
    ordered = sorted(claims, key=lambda row: (-row[0], row[1]))
    worst, mildest = ordered[0][0], ordered[-1][0]
    return Sensitivity(worst, tuple(claim for _, claim, _ in ordered), worst - mildest >= 2)


def _hinders(k: Knowledge, problem: str) -> dict[str, int]:
    return {
        k.object(n, "lw:aim") or "": _whole(k, n, "lw:grade", 4)
        for n in reversed(k.objects(problem, "lw:hinders"))  # the first one stays
    }


def _whole(k: Knowledge, subject: str, predicate: str, default: int) -> int:
    found = k.number(subject, predicate)
    return default if found is None else int(found)


def _by_agent(use: AgentUse) -> str:
    return use.agent
