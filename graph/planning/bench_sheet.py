"""The bench sheet of one option: what is done in order, with times, amounts, looks and stop signs.

Everything on it comes from the answer, the technique, the plan's provisions or, where the record
holds a planned pack, from the bench physics; each figure says which.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from leastwise.graph.answer import Answer, DamageAnswer, FindingView, OptionAnswer
from leastwise.graph.case.packs import PackRecord
from leastwise.graph.case.record import Case
from leastwise.graph.display.values import WorkedDisplay
from leastwise.graph.display.worked import (
    carries_object,
    display_for,
    mount_rows,
    supports_for,
)
from leastwise.graph.errors import UnknownOption
from leastwise.graph.meanings import RuleEffect, Verdict
from leastwise.graph.planning.bench_layers import (
    FROM,
    Layers,
    layers_of_pack,
    layers_of_set_up,
    sentences_of,
)
from leastwise.graph.planning.bench_pack import pack_amounts
from leastwise.graph.planning.clock import Tick, physics_of, ticks, untimed
from leastwise.graph.planning.display_sheet import display_rows
from leastwise.graph.planning.precedence import order_book
from leastwise.graph.planning.provisions import Provisions
from leastwise.graph.planning.tried_first import tried_first
from leastwise.graph.sentences import hours_in_words
from leastwise.graph.weighing.advise import Adviser
from leastwise.graph.weighing.candidates import Candidate
from leastwise.graph.weighing.contacts import stop_at
from leastwise.graph.weighing.exposure import Exposure
from leastwise.graph.weighing.said_once import PEOPLE, protecting
from leastwise.graph.weighing.settling import each_needed, in_lines

if TYPE_CHECKING:
    from leastwise.graph.setups.answers import MoistureAnswer

__all__ = ["BenchSheet", "Check", "Row", "bench_sheet"]

MOST_CHECKS, MOST_CARE, GRAVE = 7, 5, 3
FEW = 4  # lines of a mount that need no page of their own
LONG_WORD = re.compile(r"[a-z]{5,}")


@dataclass(frozen=True, slots=True)
class Check:
    """Something to settle before the work: *what*, or instead of it one of *or_else*."""

    what: str
    or_else: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Row:
    """A figure with its unit and where it comes from: computed, recorded or practice."""

    what: str
    value: str
    basis: str


@dataclass(frozen=True, slots=True)
class BenchSheet:
    """What one sheet says.

    *also* names further problems that the same work answers.

    *verdict* is accepted or undecided; a defeated option has no sheet to work from, only
    *against*. *more_checks* and *more_care* count what the page of options holds besides.
    """

    option: str
    label: str
    damage: str
    also: tuple[str, ...]
    parts: tuple[str, ...]
    extent: str
    verdict: Verdict
    against: tuple[str, ...]
    people: tuple[str, ...]
    checks: tuple[Check, ...]
    more_checks: int
    steps: tuple[str, ...]
    equipment: str
    layers: Layers | None
    times: tuple[Row, ...]
    amounts: tuple[Row, ...]
    looks: tuple[str, ...]
    stops: tuple[str, ...]
    care: tuple[str, ...]
    more_care: int
    reading: str  # what the table of readings asks for, such as "RH %"
    computed: bool
    display: WorkedDisplay | None  # of the mount that this makes, on a page of its own
    worked: tuple[Row, ...]
    claims: tuple[str, ...]

    @property
    def problems(self) -> str:
        """All that the work answers, in words."""
        return ", ".join((self.damage, *self.also))


def bench_sheet(
    adviser: Adviser, case: Case, answer: Answer, option: str, also: Sequence[str] = ()
) -> BenchSheet:
    """Return the sheet of one option of a case that has been weighed.

    *also* are the same technique's options for further problems, where one step of a plan answers
    them all: what any of them waits for stands on the sheet.

    Raises:
        UnknownOption: the case has no such option.

    """
    there: dict[str, OptionAnswer] = {o.id: o for o in answer.options()}
    missing = next((one for one in (option, *also) if one not in there), None)
    if missing is not None:
        raise UnknownOption("option", missing, [])
    more = tuple(there[one] for one in also)
    return _Writer(adviser, case, answer, there[option], more).sheet()


@dataclass(frozen=True)
class _Writer:
    adviser: Adviser
    case: Case
    answer: Answer
    option: OptionAnswer
    also: tuple[OptionAnswer, ...] = ()  # the same work for further problems

    @property
    def _all(self) -> tuple[OptionAnswer, ...]:
        return (self.option, *self.also)

    @cached_property
    def _also_for(self) -> tuple[DamageAnswer, ...]:
        mine = {o.id.problem for o in self.also}
        return tuple(d for d in self.answer.damages if d.id in mine)

    @property
    def _verdict(self) -> Verdict:
        """Return undecided where any of the problems that are worked at once still waits."""
        waits = any(o.verdict == Verdict.UNDECIDED for o in self._all)
        return Verdict.UNDECIDED if waits else self.option.verdict

    @cached_property
    def candidate(self) -> Candidate:
        return self._steps_of_weighing[0]

    @cached_property
    def exposures(self) -> tuple[Exposure, ...]:
        return self._steps_of_weighing[1]

    @cached_property
    def _steps_of_weighing(self) -> tuple[Candidate, tuple[Exposure, ...]]:
        steps = self.adviser.steps(self.case, self.option.id)
        candidate = steps.candidates[0]
        return candidate, steps.data.exposures[candidate.id]

    @cached_property
    def pack(self) -> PackRecord | None:
        key = (self.candidate.damage.id, self.option.technique)
        return next((p for p in self.case.packs if (p.damage, p.technique) == key), None)

    @cached_property
    def physics(self) -> MoistureAnswer | None:
        """Return what the bench physics says of the planned pack, if there is one."""
        return None if self.pack is None else physics_of(self.pack, self.adviser.knowledge)

    def _name(self, part: str) -> str:
        return next((p.name for p in self.case.parts if p.id == part), part)

    def sheet(self) -> BenchSheet:
        o, c = self.option, self.candidate
        parts = tuple(self._name(part) for part in c.parts)
        further = (self._name(part) for d in self._also_for for part in d.parts)
        checks, care = self._checks(), self._care()
        layers = layers_of_pack(self.pack.stack) if self.pack else None
        moist = {use.agent for use in c.technique.brings} & {
            "agent:water-vapour",
            "agent:liquid-water",
        }
        against = [f.message for f in o.findings if f.effect == RuleEffect.DEFEATS]
        return BenchSheet(
            option=o.id,
            label=o.label,
            damage=c.damage.in_words(self.adviser.knowledge.label),
            also=tuple(d.label for d in self._also_for),
            parts=tuple(dict.fromkeys((*parts, *further))),
            extent=self._extent(),
            verdict=self._verdict,
            against=tuple(dict.fromkeys(against)),
            people=self._people(),
            checks=tuple(checks[:MOST_CHECKS]),
            more_checks=max(0, len(checks) - MOST_CHECKS),
            steps=tuple(self._steps()),
            equipment=o.equipment,
            layers=layers or layers_of_set_up(c.technique, parts),
            times=tuple(self._times()),
            amounts=tuple(self._amounts()),
            looks=tuple(self._looks()),
            stops=tuple(self._stops()),
            care=tuple(care[:MOST_CARE]),
            more_care=max(0, len(care) - MOST_CARE),
            reading="RH, %" if moist else "Reading",
            computed=self.physics is not None,
            display=display_for(self.case, self.adviser.catalogue, o.technique),
            worked=self._worked if self._has_own_page else (),
            claims=self._claims(),
        )

    def _extent(self) -> str:
        extent = self.candidate.damage.extent
        if isinstance(extent, str):
            return "extent not recorded"
        unit = {"cm2": "cm²", "percent": "% of the part", "count": "places"}.get(
            extent.unit, extent.unit
        )
        return f"{extent.value:g} {unit}"

    def _people(self) -> tuple[str, ...]:
        """Return what protects people here: of this option, and of the object whatever is done."""
        answer = self.answer
        found = protecting(answer.people_first, answer.options(), list(self._all))
        return tuple(f.message for f in found)

    def _checks(self) -> list[Check]:
        """Return what settles the open points: for each the tests first, then what else would."""
        found: dict[tuple[str, ...], Check] = {}
        for finding in (f for o in self._all for f in o.findings):
            if finding.effect != RuleEffect.LEAVES_UNDECIDED:
                continue
            for group in each_needed(finding.mends):
                names = {part.id: part.name for part in self.case.parts}
                labels = tuple(in_lines(group, names, self.adviser.knowledge.label))
                found.setdefault(labels, Check(labels[0], labels[1:]))
            if not finding.mends:
                found.setdefault((finding.message,), Check(finding.message))
        return list(found.values())

    def _care(self) -> list[str]:
        """Return the cautions of the object, each once, with the parts they are for."""
        groups: dict[str, list[FindingView]] = {}
        for f in (f for o in self._all for f in o.findings):
            if f.effect == RuleEffect.CAUTIONS and f.theme != PEOPLE:
                texts = [self.answer.cautions[c] for c in f.cautions if self.answer.cautions.get(c)]
                groups.setdefault(texts[0] if texts else f.message, []).append(f)
        return [self._with_parts(text, group) for text, group in groups.items()]

    def _with_parts(self, text: str, group: Sequence[FindingView]) -> str:
        label = self.adviser.knowledge.label
        about = dict.fromkeys(
            label(f.material) if f.material else self._name(f.part) for f in group
        )
        named = ", ".join(one for one in about if one)
        return f"{text} ({named})" if named else text

    def _steps(self) -> Iterator[str]:
        yield "Photograph the place and note the condition, the RH and the temperature of the room."
        yield from self._stops_in_place()
        book = order_book(self.adviser.knowledge)
        tried = (tried_first(o, self.answer.options(), book) for o in self._all)
        for one in filter(None, tried):
            yield f"Try first: {one.in_words[0].lower()}{one.in_words[1:]}"
        for act in self.option.acts:
            yield f"First {act.in_words}. {act.set_up}"
        p = self.physics
        for sentence in sentences_of(self.option.set_up):
            laid = FROM.match(sentence)
            yield "Lay the layers up as drawn." if laid else sentence
        if p is not None and self.pack is not None:
            yield from self._steps_of_pack(p)
        if len(self.candidate.parts) > 1:
            yield from (work.in_words for work in self.option.work)
        if p is not None:
            yield "Dry restrained between dry blotters; change them as the times say."
        yield "Photograph again, and write down what was done, added, removed and changed."

    def _steps_of_pack(self, p: MoistureAnswer) -> Iterator[str]:
        loads = [x for x in self.pack.stack.layers if x.water_load_g_m2] if self.pack else []
        if loads:
            yield "Weigh the blotter dry and damp; give it the water of the table of amounts."
        yield (
            f"Start the clock when the pack is closed: target {100 * p.question.target.low:g} to "
            f"{100 * p.question.target.high:g} % RH at {p.question.treated}."
        )

    def _stops_in_place(self) -> Iterator[str]:
        """Yield the barriers and partings that the verdict counts on."""
        seen: set[frozenset[str]] = set()
        for e in self.exposures:
            agent = self.adviser.catalogue.agents[e.agent]
            pairs = {frozenset(pair) for pair in zip(e.reach.way, e.reach.way[1:], strict=False)}
            for contact in self.case.contacts if e.reach.stopped else ():
                pair = frozenset(contact.between)
                stop = stop_at(contact, agent, confined=e.confined)
                if pair not in pairs or pair in seen or not stop:
                    continue
                seen.add(pair)
                first, second = (self._name(part) for part in contact.between)
                done = "the barrier lies" if stop == "barrier" else "nothing joins the two"
                yield f"See that {done} between {first} and {second} before anything else is laid."

    @cached_property
    def clock(self) -> tuple[Tick, ...]:
        """Return the times of the set-up: computed for a planned pack, else sourced."""
        return ticks(self.adviser.knowledge, self.option.technique, self.physics)

    def _times(self) -> Iterator[Row]:
        o = self.option
        for tick in self.clock:
            told = f"{tick.basis}. {tick.remark}" if tick.remark else tick.basis
            yield Row(tick.what, tick.value, told)
        low, high = o.hours
        yield Row(
            "Work in all", f"{hours_in_words(low, high)} h", f"practice; {self._hours_basis()}"
        )

    def _hours_basis(self) -> str:
        once = self.candidate.technique.hours_per == "object"
        many, acts = len(self.candidate.parts), len(self.option.acts)
        how = "once for the object" if once else f"{many} part{'s' * (many > 1)}"
        how = self.option.hours_basis or how
        return f"{how}; {acts} act{'s' * (acts > 1)} before" if acts else how

    def _amounts(self) -> Iterator[Row]:
        p = self.physics
        if p is not None and self.pack is not None:
            yield from (Row(*row) for row in pack_amounts(p, self.pack))
        provisions = Provisions(self.adviser.catalogue)
        needed = provisions.materials(
            self.option.technique, self.candidate.damage, self.candidate.sized
        )
        for m in needed:
            unit = m.unit.replace("2", "²")
            value = f"{m.amount[0]:g} to {m.amount[1]:g} {unit}" if m.amount else "to be measured"
            basis = "practice; by the extent recorded" if m.amount else m.because
            yield Row(m.item, value, basis)
        has = any(m.amount for m in needed)
        damage = None if has else self.candidate.damage
        where = self.adviser.catalogue, self.option.technique, self.candidate.parts
        for row in supports_for(self.case, *where, damage):
            yield Row(row.what, row.value, row.basis)
        yield from () if self._has_own_page else self._worked

    @cached_property
    def _worked(self) -> tuple[Row, ...]:
        """Return what is worked out of a mount; a few lines stand among the amounts."""
        catalogue, technique = self.adviser.catalogue, self.option.technique
        rows = mount_rows(self.case, catalogue, technique)
        if rows and carries_object(catalogue, technique):
            rows += display_rows(catalogue, self.case, self.answer)
        return tuple(Row(row.what, row.value, row.basis) for row in rows)

    @property
    def _has_own_page(self) -> bool:
        return len(self._worked) > FEW

    def _looks(self) -> Iterator[str]:
        watched = self.option.monitoring
        yield from sentences_of(untimed(watched) if self.clock else watched)
        near: dict[str, list[str]] = {}
        for e in self.exposures:
            if not e.on_target and not e.stopped and (e.sensitivity.harm >= GRAVE or e.harm < 0):
                label = self.adviser.knowledge.label(e.material)
                near.setdefault(self._name(e.part), []).append(label)
        for part, labels in near.items():
            yield f"Look at {part} too ({', '.join(dict.fromkeys(labels))})."

    def _stops(self) -> Iterator[str]:
        yield from sentences_of(self.option.stop_sign)
        if self.physics is not None:
            known = set(LONG_WORD.findall(self.option.stop_sign.lower()))
            signs = self.physics.protocol.stop_signs
            fresh = [one for one in signs if known.isdisjoint(LONG_WORD.findall(one.lower()))]
            if fresh:
                yield f"Or: {'; '.join(fresh)}."

    def _claims(self) -> tuple[str, ...]:
        technique = self.candidate.technique
        effect = self.candidate.effect
        named = [*technique.rests_on, *(effect.rests_on if effect else ())]
        named += [c for tick in self.clock for c in tick.claims]
        named += [c for o in self._all for f in o.findings for c in f.claims]
        return tuple(dict.fromkeys(named))
