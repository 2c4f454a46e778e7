"""Candidates: every technique that answers a damage or a need, and leaving it alone."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import NamedTuple

from leastwise.graph.case.parts import Part
from leastwise.graph.case.record import Case, DamageFound, Tri
from leastwise.graph.ids import OptionId
from leastwise.graph.knowledge.concepts import Catalogue, Effect, Technique
from leastwise.graph.names import camel
from leastwise.graph.weighing.answers_to import answers_to
from leastwise.graph.weighing.conditions import About, ConditionReader
from leastwise.graph.weighing.needs import NeedHere, problems
from leastwise.graph.weighing.readings import opposite
from leastwise.graph.weighing.working_time import WorkingTime, working_time

__all__ = [
    "BASELINE",
    "GO_WITHOUT",
    "Act",
    "Answering",
    "Asked",
    "Candidate",
    "SetAside",
    "WorkGroup",
    "answering",
    "find_candidates",
    "find_set_aside",
    "made_for",
    "open_questions",
    "read_again",
    "read_candidates",
    "work_groups",
]

BASELINE, NEEDLE = "technique:leave-and-monitor", "agent:needle"
#: What leaving alone means for a need.
GO_WITHOUT = "go without"
#: What fails where the agents of a technique were tried on the damage and did nothing.
WORKED = "condition:does-something-in-a-trial"


@dataclass(frozen=True, slots=True)
class WorkGroup:
    """Parts that are worked together (*as a group*) or must follow one after another."""

    parts: tuple[str, ...]
    one_after_another: bool


@dataclass(frozen=True, slots=True)
class Act:
    """An enabling act done at a place: between two parts, or at one part.

    *supplies* is ``lw:Barrier``, ``lw:Parting`` or a condition.
    """

    technique: Technique
    supplies: str
    where: tuple[str, ...]


class Asked(NamedTuple):
    """A condition of an effect, and whether it is met: yes, no or unknown.

    A condition that must not hold (*holds* False) is met where it is no.
    """

    condition: str
    holds: bool
    met: Tri


@dataclass(frozen=True, slots=True)
class Candidate:
    """A technique on a damage or need, with the acts that make it possible.

    *effects* are all claims of the technique on this kind of problem; *effect* is the one that
    counts as the record stands, with the answers to its conditions. It is None for leaving alone.
    """

    id: OptionId  # "crushed-tiers/membrane-pack-suspended"
    technique: Technique
    damage: DamageFound
    effect: Effect | None
    groups: tuple[WorkGroup, ...]
    acts: tuple[Act, ...] = ()
    effects: tuple[Effect, ...] = ()
    asked: tuple[Asked, ...] = ()
    sized: tuple[Part, ...] = ()  # the parts treated, with their sizes

    @property
    def label(self) -> str:
        """The name of the technique; to leave a need unmet is to go without."""
        need = self.is_baseline and isinstance(self.damage, NeedHere)
        return GO_WITHOUT if need else self.technique.label

    @property
    def parts(self) -> tuple[str, ...]:
        """The parts treated, in the order of the record."""
        return tuple(self.damage.parts)

    @property
    def hours(self) -> tuple[float, float]:
        """Hours at the least and at the most, with those of the acts.

        They follow from the size of the work where it is recorded; else they count for each part,
        or once for the whole object. An act counts at each place. To leave a need unmet takes
        none.
        """
        if self.is_baseline and isinstance(self.damage, NeedHere):
            return 0.0, 0.0
        low, high = self.time.hours
        low += sum([act.technique.hours[0] for act in self.acts])
        high += sum([act.technique.hours[1] for act in self.acts])
        return round(low, 2), round(high, 2)

    @property
    def time(self) -> WorkingTime:
        """The working time of the technique itself, and what it rests on."""
        return working_time(self.technique, self.damage, self.sized)

    @property
    def requires(self) -> tuple[str, ...]:
        """The conditions of the technique and of its acts, each once."""
        all_of_them = (self.technique, *(act.technique for act in self.acts))
        return tuple(dict.fromkeys(c for one in all_of_them for c in one.requires))

    @property
    def burdens(self) -> tuple[tuple[str, int], ...]:
        """(axis, grade 0 to 4): on each axis the gravest of the technique and its acts."""
        if not self.acts:
            return self.technique.burdens
        acts = [dict(act.technique.burdens) for act in self.acts]
        return tuple(
            (axis, max([grade, *(one.get(axis, 0) for one in acts)]))
            for axis, grade in self.technique.burdens
        )

    @property
    def is_baseline(self) -> bool:
        """Whether this candidate leaves the damage alone, or the need unmet."""
        return self.technique.id == BASELINE

    @property
    def open(self) -> tuple[str, ...]:
        """The conditions of the effect that the record leaves unknown."""
        return tuple(one.condition for one in self.asked if one.met is Tri.UNKNOWN)

    @property
    def failed(self) -> tuple[Asked, ...]:
        """The conditions of the effect that fail, but for those that a rule asks for anyway."""
        required = self.technique.requires
        return tuple(
            one for one in self.asked if one.met is Tri.NO and one.condition not in required
        )

    @property
    def lacking(self) -> tuple[str, ...]:
        """The conditions that the effect needs and the record denies: here it does nothing.

        What spoils an effect (a loose surface, a split) is not among them: a test or other work
        may settle that, and rules ask for it.
        """
        return tuple(one.condition for one in self.failed if one.holds)

    @property
    def efficacy(self) -> int:
        """How well it answers if what is open about its effect turns out to hold.

        An option whose effect waits for a condition is undecided, and what it waits for counts as
        an open point. An effect whose condition fails counts for nothing.
        """
        return 0 if self.effect is None or self.failed else self.effect.efficacy


class SetAside(NamedTuple):
    """A technique that the aim itself rules out for a problem, with the condition that fails."""

    damage: DamageFound
    technique: Technique
    effect: Effect
    failed: Asked


class Answering(NamedTuple):
    """A technique with its claims on a problem, before their conditions are read."""

    option: OptionId
    damage: DamageFound
    groups: tuple[WorkGroup, ...]
    technique: Technique
    effects: tuple[Effect, ...]


def find_candidates(
    case: Case,
    catalogue: Catalogue,
    reader: ConditionReader | None = None,
    wanted: Callable[[OptionId], bool] | None = None,
    of: frozenset[str] | None = None,
) -> Iterator[Candidate]:
    """Yield the candidates, problem by problem in the order of the record, the baseline first.

    *wanted* tells from the id of an option whether it is looked at, *of* are the problems that
    these are for; all are, without it.

    A technique answers a damage or need if an effect claim says so of this kind or of a broader
    one; the nearest kind counts. Among its claims the best one whose conditions are met counts,
    else the best one whose conditions are open, else none of them does. What the aim itself rules
    out (:func:`find_set_aside`) is no candidate.
    """
    reader = reader or ConditionReader(case, catalogue)
    rows: Iterable[Answering] = answering(case, catalogue, reader, of)
    if wanted is not None:
        rows = (row for row in rows if wanted(row.option))
    return read_candidates(rows, case, reader)


def read_candidates(
    rows: Iterable[Answering], case: Case, reader: ConditionReader
) -> Iterator[Candidate]:
    """Yield techniques as candidates, but for those that the aim itself rules out."""
    for candidate in _plain(rows, case, reader):
        if candidate.is_baseline or not _of_the_aim(candidate, reader):
            yield candidate


def find_set_aside(
    case: Case, catalogue: Catalogue, reader: ConditionReader | None = None
) -> Iterator[SetAside]:
    """Yield the techniques that purpose, mounting or kind of object rule out, with one reason."""
    reader = reader or ConditionReader(case, catalogue)
    for candidate in _plain(answering(case, catalogue, reader), case, reader):
        failed = _of_the_aim(candidate, reader)
        if failed and candidate.effect is not None:
            yield SetAside(candidate.damage, candidate.technique, candidate.effect, failed[0])


def _plain(rows: Iterable[Answering], case: Case, reader: ConditionReader) -> Iterator[Candidate]:
    """Yield every technique with a claim on a problem, as the conditions are answered."""
    parts = {part.id: part for part in case.parts}
    for name, damage, groups, technique, effects in rows:
        effect = effects[0] if effects else None
        sized = tuple(parts[one] for one in damage.parts)
        plain = Candidate(name, technique, damage, effect, groups, effects=effects, sized=sized)
        yield read_again(plain, reader)


def _of_the_aim(candidate: Candidate, reader: ConditionReader) -> list[Asked]:
    """Return the conditions for which the aim rules out the effect that counts, if it does.

    So does the lack of what a technique is for alone: feathers, hard trims, leather.
    """
    return [
        one
        for one in candidate.failed
        if reader.is_of_the_aim(one.condition) or (one.holds and reader.sets_aside(one.condition))
    ]


def read_again(candidate: Candidate, reader: ConditionReader) -> Candidate:
    """Return a candidate with the effect that counts as *reader* answers the conditions."""
    if not candidate.effects:
        return candidate
    worked = not reader.did_nothing(candidate)
    on = reader.shared.mark([candidate.damage, candidate.technique, *candidate.effects])
    asked = (c for one in candidate.effects for c in (*one.holds_if, *one.fails_if))
    key = ("effect", worked, on, reader.mark_under(on, asked))
    effect, answers = reader.shared.made(key, lambda: _counting(candidate, reader, worked=worked))
    if effect is candidate.effect and answers is candidate.asked:
        return candidate
    return replace(candidate, effect=effect, asked=answers)


def _counting(
    candidate: Candidate, reader: ConditionReader, *, worked: bool
) -> tuple[Effect | None, tuple[Asked, ...]]:
    """Return the effect that counts, with the answers to its conditions."""
    tried = () if worked else (Asked(WORKED, True, Tri.NO),)
    found = [
        replace(
            candidate,
            effect=one,
            asked=(*tried, *_ask(one, candidate.damage, candidate.technique, reader)),
        )
        for one in candidate.effects
    ]
    best = min(found, key=lambda c: _standing(c, reader))
    return best.effect, best.asked


def _standing(candidate: Candidate, reader: ConditionReader) -> tuple[int, int, int]:
    """Sorts first the claim that counts: met, open, failed, ruled out by the aim; then the best."""
    ruled_out = bool(_of_the_aim(candidate, reader))
    state = 2 + ruled_out if candidate.failed else int(bool(candidate.open))
    best = candidate.effect.efficacy if candidate.effect else 0
    return state, -candidate.efficacy, -best


def open_questions(candidate: Candidate, reader: ConditionReader) -> tuple[str, ...]:
    """Return the open conditions of the effect that nothing else asks for.

    The technique itself asks for some, and the needle for a trial of the needle.
    """
    technique = candidate.technique
    asked = {*technique.needs_tests}
    if any(use.agent == NEEDLE for use in technique.brings):
        asked |= reader.shared.made(
            ("trials", NEEDLE), lambda: _trials_of(NEEDLE, reader.catalogue)
        )
    return tuple(
        one
        for one in read_again(candidate, reader).open
        if one not in technique.requires and not asked.intersection(reader.tests_of(one))
    )


def _trials_of(agent: str, catalogue: Catalogue) -> frozenset[str]:
    """Return the tests that clear an agent and show all they can at once."""
    tests = catalogue.tests.values()
    return frozenset(t.id for t in tests if agent in t.clears and not t.one_agent_at_a_time)


def _ask(
    effect: Effect, damage: DamageFound, technique: Technique, reader: ConditionReader
) -> tuple[Asked, ...]:
    about, parts = About(damage, technique), damage.parts
    holds = [Asked(one, True, reader.on_all(one, parts, about)) for one in effect.holds_if]
    fails = [
        Asked(one, False, opposite(reader.on_any(one, parts, about))) for one in effect.fails_if
    ]
    return (*holds, *fails)


def answering(
    case: Case, catalogue: Catalogue, reader: ConditionReader, of: frozenset[str] | None = None
) -> Iterator[Answering]:
    """Yield each technique with its claims on each problem, the baseline (without any) first.

    *of* are the problems to look at, all without it. The conditions of the claims aren't read.
    """
    for damage in _problems(case, catalogue, reader, of):
        groups = work_groups(case, damage, catalogue)
        kind = damage.damage
        alone = OptionId.of(damage.id, BASELINE)
        yield Answering(alone, damage, groups, catalogue.techniques[BASELINE], ())
        answers = reader.shared.made(("answers", kind), partial(answers_to, kind, catalogue))
        for technique, effects in answers:
            if made_for(technique, case) is not Tri.NO:
                name = OptionId.of(damage.id, technique.id)
                yield Answering(name, damage, groups, technique, effects)


def _problems(
    case: Case, catalogue: Catalogue, reader: ConditionReader, of: frozenset[str] | None
) -> Sequence[DamageFound]:
    """Return the problems to look at; where all of these are damages, no need is derived."""
    if of is None:
        return problems(case, catalogue, reader)
    damages = [one for one in case.damages if one.id in of]
    if len(damages) == len(of):
        return damages
    return [one for one in problems(case, catalogue, reader) if one.id in of]


def made_for(technique: Technique, case: Case) -> Tri:
    """Return whether a technique is for such objects; no only where the record names another."""
    kind = camel(case.object.kind)
    if not technique.only_for or kind in technique.only_for:
        return Tri.YES
    return Tri.UNKNOWN if kind == "lw:unknown" else Tri.NO


def work_groups(case: Case, damage: DamageFound, catalogue: Catalogue) -> tuple[WorkGroup, ...]:
    """Group the damaged parts: sewn together means one after another, loose means as a group.

    Parts that are joined by stitching or glue and are not taken apart move each other, so they
    are worked in turn; parts that only lie on each other can be worked together.
    """
    order = {part: i for i, part in enumerate(damage.parts)}
    sewn = {part: {part} for part in damage.parts}  # part -> all that it is sewn to, itself too
    for contact in case.contacts:
        joined = catalogue.contact_kinds[contact.kind].sewn and contact.parting != "done"
        if joined and sewn.keys() >= set(contact.between):
            both = set[str]().union(*(sewn[part] for part in contact.between))
            sewn.update(dict.fromkeys(both, both))
    clusters = sorted({tuple(sorted(c, key=order.__getitem__)) for c in sewn.values()})
    loose = sorted((c[0] for c in clusters if len(c) == 1), key=order.__getitem__)
    in_turn = sorted((c for c in clusters if len(c) > 1), key=lambda c: order[c[0]])
    groups = [WorkGroup(cluster, one_after_another=True) for cluster in in_turn]
    if loose:
        groups.append(WorkGroup(tuple(loose), one_after_another=False))
    return tuple(groups)
