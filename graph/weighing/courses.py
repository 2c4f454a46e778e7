"""Courses: a technique with the enabling acts that make it possible, found by search.

Where a rule or a condition holds an option back and the record calls a barrier or a parting
possible, or an act of the knowledge supplies the condition, the act is done and counted, and the
option is weighed again as it then stands. An act is taken only if it helps: the verdict gets
better, or less is left open. What another course of the same case answers first counts as done
once all others are known (:mod:`leastwise.graph.weighing.earlier`).
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import islice
from typing import NamedTuple

from leastwise.graph.case.record import Tri
from leastwise.graph.ids import OptionId, Pair
from leastwise.graph.knowledge.concepts import Technique, lightness
from leastwise.graph.knowledge.rules import RuleBook
from leastwise.graph.meanings import BLOCKING, Remedy, RuleEffect, Verdict
from leastwise.graph.weighing.candidates import Act, Candidate, made_for
from leastwise.graph.weighing.earlier import Doable, doable_works, earlier_acts
from leastwise.graph.weighing.exposure import Exposure
from leastwise.graph.weighing.findings import CaseData, Finding, Found, find_all
from leastwise.graph.weighing.ranking import VERDICT_ORDER
from leastwise.graph.weighing.setting import Setting
from leastwise.graph.weighing.settle import Mend

__all__ = ["Course", "Courses", "Start", "Trail", "find_courses", "find_courses_of"]

#: So many times acts are added, since one may only show what else stands in the way.
ROUNDS = 4
#: The points of what a look settles (our judgement), where a test is one.
LOOK = 0.5
STOPS = {"barrier": "lw:Barrier", "parting": "lw:Parting"}
MISSING = "lw:testMissing"
CONDITIONS = ("rule:condition-not-met", "rule:condition-unknown")


@dataclass(frozen=True)
class Course:
    """A candidate with what reaches what, and what the rules say, in its setting."""

    candidate: Candidate
    exposures: tuple[Exposure, ...]
    findings: tuple[Finding, ...]
    setting: Setting

    @cached_property
    def attacks(self) -> tuple[Finding, ...]:
        """The findings that defeat the option or leave it undecided."""
        return tuple(f for f in self.findings if f.rule.effect in BLOCKING)

    @cached_property
    def open_points(self) -> float:
        """How many different things have to be found out or come by before it may be done.

        What a look settles, an entry of the record, is half a thing: it costs the object nothing.

        One test on several parts is one thing; so are findings of one rule that nothing settles.
        Of tests that the technique always needs each counts, but for those on new material that
        only set how the work is done; these are one point where nothing else is open.
        """
        open_ = [f for f in self.attacks if f.rule.effect != RuleEffect.DEFEATS]
        points = {what: of for f in open_ for what, of in self._settled_by(f)}
        return sum(points.values()) or float(bool(open_))

    def _settled_by(self, finding: Finding) -> list[tuple[str, float]]:
        """Return what settles a finding, each with the points that it counts."""
        settler, lifted_by = self.setting.settler, finding.rule.lifted_by
        if finding.exposure is not None:
            mends = settler.of_exposure(finding.exposure, lifted_by)
        else:
            mends = settler.of_option(self.candidate, lifted_by, asked_of=finding.rule.asks_of)
        tests = [m.what for m in mends if m.kind.is_test]
        if MISSING in lifted_by:
            known = self.setting.catalogue.tests
            return [(one, 1.0) for one in tests if not known[one].sets_the_work]
        if tests or not mends:
            return [(next(iter(tests), finding.rule.id), 1.0)]
        return [(mends[0].what, LOOK if mends[0].kind == Remedy.RECORD else 1.0)]

    @cached_property
    def verdict(self) -> Verdict:
        """The verdict that the arguments come to; see :mod:`leastwise.graph.weighing.argument`.

        With nothing but findings to argue from, the grounded labelling says just this.
        """
        effects = {f.rule.effect for f in self.attacks}
        if RuleEffect.DEFEATS in effects:
            return Verdict.DEFEATED
        return Verdict.UNDECIDED if effects else Verdict.ACCEPTED

    @cached_property
    def standing(self) -> tuple[int, int]:
        """How the course stands, less being better: verdict, number of attacks."""
        return VERDICT_ORDER[self.verdict], len(self.attacks)


class Trail(NamedTuple):
    """How the courses of a case were found.

    *tried* holds by option all that was looked at, *before* the courses before any work of others
    was taken as done, *works* the kinds of such work that the case allows.
    """

    tried: dict[OptionId, tuple[Course, ...]]
    before: dict[OptionId, Course]
    works: tuple[Doable, ...]


class Courses(NamedTuple):
    """The courses of a case by option, and the findings on its parts and record."""

    by_option: dict[OptionId, Course]
    record: tuple[Finding, ...]
    trail: Trail


class Start(NamedTuple):
    """A case as recorded, with the candidates to look at in it.

    What is *kept* comes to what *base* says of it, so that it isn't looked at again.
    """

    setting: Setting
    candidates: Sequence[Candidate]
    kept: frozenset[OptionId] = frozenset()
    base: Courses | None = None

    @property
    def fresh(self) -> list[Candidate]:
        """The candidates to look at."""
        return [one for one in self.candidates if one.id not in self.kept]

    def before(self, fresh: Mapping[OptionId, Course]) -> dict[OptionId, Course]:
        """Return the courses before any work of others, in the order of the candidates."""
        kept = self.base.trail.before if self.base is not None else fresh
        return {c.id: kept[c.id] if c.id in self.kept else fresh[c.id] for c in self.candidates}

    def after(
        self, mine: Mapping[OptionId, Course], works: Sequence[Doable]
    ) -> dict[OptionId, Course]:
        """Return those that are kept and wait for the same works as in the base, as they end."""
        if self.base is None:
            return {}
        old = self.base.trail.works
        return {
            one: self.base.by_option[one]
            for one in self.kept
            if earlier_acts(mine[one].candidate, works) == earlier_acts(mine[one].candidate, old)
        }


def find_courses(setting: Setting, candidates: Sequence[Candidate], book: RuleBook) -> Courses:
    """Return each candidate as a course: with the acts that help it, else as it is."""
    return find_courses_of([Start(setting, candidates)], book)[0]


def find_courses_of(starts: Sequence[Start], book: RuleBook) -> list[Courses]:
    """Return the courses of several cases, or variants of one, weighed together.

    Each is what :func:`find_courses` finds alone. The ids of the cases have to differ.
    """
    batch = [start.setting.data(start.fresh) for start in starts]
    found = find_all(batch, book)
    tried = [
        list(_courses(data, of_case, start.setting))
        for data, of_case, start in zip(batch, found, starts, strict=True)
    ]
    looked_at = [[*courses] for courses in tried]
    best = [{course.candidate.id: course for course in courses} for courses in tried]
    for _ in range(ROUNDS):
        tried = _enabled(tried, [start.setting for start in starts], book)
        if not any(tried):
            break
        for mine, courses, seen in zip(best, tried, looked_at, strict=True):
            better = [c for c in courses if _helps(c, mine[c.candidate.id])]
            mine.update({c.candidate.id: c for c in better})
            seen.extend(courses)
    before = [start.before(mine) for start, mine in zip(starts, best, strict=True)]
    ends = _after_earlier_work(before, looked_at, starts, book)
    return [
        Courses(mine, of_case.get("", ()), trail)
        for (mine, trail), of_case in zip(ends, found, strict=True)
    ]


def _after_earlier_work(
    before: Sequence[dict[OptionId, Course]],
    looked_at: Sequence[list[Course]],
    starts: Sequence[Start],
    book: RuleBook,
) -> list[tuple[dict[OptionId, Course], Trail]]:
    """Return the courses with those that can be done after the work of another course."""
    works = [
        doable_works(mine.values(), start.setting.case, start.setting.catalogue)
        for mine, start in zip(before, starts, strict=True)
    ]
    known = [s.after(mine, its) for s, mine, its in zip(starts, before, works, strict=True)]
    waiting = [
        [one for one in _waiting(mine, its) if one.id not in same]
        for mine, its, same in zip(before, works, known, strict=True)
    ]
    ends = []
    weighed = _weighed(waiting, [start.setting for start in starts], book)
    for mine, same, courses, seen, its in zip(
        before, known, weighed, looked_at, works, strict=True
    ):
        better = {c.candidate.id: c for c in courses if _helps(c, mine[c.candidate.id])}
        trail = Trail(_by_option([*seen, *courses]), mine, its)
        ends.append(({**mine, **same, **better}, trail))
    return ends


def _by_option(courses: Iterable[Course]) -> dict[OptionId, tuple[Course, ...]]:
    found: dict[OptionId, tuple[Course, ...]] = {}
    for one in courses:
        found[one.candidate.id] = (*found.get(one.candidate.id, ()), one)
    return found


def _waiting(mine: Mapping[OptionId, Course], works: Sequence[Doable]) -> Iterator[Candidate]:
    """Yield what is barred or does nothing as it stands, with works that may come before it."""
    for course in mine.values():
        if course.verdict == Verdict.DEFEATED or course.candidate.failed:
            acts = earlier_acts(course.candidate, works)
            if acts:
                yield _with_acts(course, acts)


def _courses(data: CaseData, found: Found, setting: Setting) -> Iterator[Course]:
    for c in data.candidates:
        yield Course(c, data.exposures[c.id], found.get(c.id, ()), setting)


def _helps(course: Course, before: Course) -> bool:
    """Return whether acts brought an effect or a better verdict, or left less open undefeated."""
    if course.verdict == Verdict.DEFEATED:
        return False
    if before.candidate.failed and not course.candidate.failed:
        return True
    return course.standing < before.standing


def _enabled(
    tried: Sequence[Sequence[Course]], bases: Sequence[Setting], book: RuleBook
) -> list[list[Course]]:
    """Return for each case the courses for which there are further acts, with these done."""
    further = [
        [_with_acts(one, acts) for one in courses if (acts := _further_acts(one, base))]
        for courses, base in zip(tried, bases, strict=True)
    ]
    return _weighed(further, bases, book)


def _with_acts(course: Course, acts: Iterable[Act]) -> Candidate:
    return replace(course.candidate, acts=(*course.candidate.acts, *acts))


def _weighed(
    further: Sequence[Iterable[Candidate]], bases: Sequence[Setting], book: RuleBook
) -> list[list[Course]]:
    """Return the candidates of each case as courses, each in the setting of its acts."""
    settings: list[tuple[int, Setting]] = []
    batch: list[CaseData] = []
    for number, (candidates, base) in enumerate(zip(further, bases, strict=True)):
        for acts, same in _by_acts(candidates).items():
            setting = base.after(acts, f"with-{len(batch)}")
            settings.append((number, setting))
            batch.append(setting.data(same))
    enabled: list[list[Course]] = [[] for _ in bases]
    found = find_all(batch, book)
    for (number, setting), data, of_case in zip(settings, batch, found, strict=True):
        enabled[number] += _courses(data, of_case, setting)
    return enabled


def _by_acts(candidates: Iterable[Candidate]) -> dict[tuple[Act, ...], list[Candidate]]:
    """Return the candidates by the acts that are done for them."""
    found: dict[tuple[Act, ...], list[Candidate]] = {}
    for one in candidates:
        found.setdefault(one.acts, []).append(one)
    return found


def _further_acts(course: Course, base: Setting) -> list[Act]:
    """Return one act for each attack that acts can lift, each once, in the order of the attacks."""
    done = {(act.supplies, frozenset(act.where)) for act in course.candidate.acts}
    found: dict[tuple[str, frozenset[str]], Act] = {}
    for finding in course.attacks:
        for act in _lifting(finding, course, base):
            key = (act.supplies, frozenset(act.where))
            if key not in done:
                found.setdefault(key, act)
    return list(found.values())


def _lifting(finding: Finding, course: Course, base: Setting) -> list[Act]:
    """Return the acts that lift a finding: the lightest stop on its way, or what it lacks."""
    if finding.exposure is not None:
        mends = course.setting.settler.of_exposure(finding.exposure, finding.rule.lifted_by)
        stops = [act for mend in mends for act in _stops_of(mend, base)]
        return sorted(stops, key=lambda act: lightness(act.technique))[:1]
    if finding.rule.id in CONDITIONS:
        return list(_conditions(course, base))
    return []


def _stops_of(mend: Mend, base: Setting) -> tuple[Act, ...]:
    return base.stops((mend.kind, mend.what), lambda: _stops(mend, base))


def _stops(mend: Mend, base: Setting) -> Iterator[Act]:
    """Yield the acts that do what a mend names, where the record calls that possible."""
    if mend.kind not in STOPS:
        return
    pair = Pair(mend.what)
    contacts = [c for c in base.case.contacts if pair.is_of(c.between)]
    if not contacts or any(getattr(c, mend.kind) not in ("possible", "done", "in-place")
                           for c in contacts):  # fmt: skip
        return
    kinds = {f"contact:{c.kind}" for c in contacts}
    for act in base.catalogue.acts.get(STOPS[mend.kind], ()):
        fits = not act.for_contacts or kinds <= act.for_contacts
        if fits and _may_be_done(act, pair.parts, base):
            yield Act(act, STOPS[mend.kind], pair.parts)


def _conditions(course: Course, base: Setting) -> Iterator[Act]:
    """Yield for each condition of a part that is lacking the lightest act that supplies it."""
    k, parts = base.catalogue.knowledge, {part.id: part for part in base.case.parts}
    for condition in course.candidate.technique.requires:
        name = k.text(condition, "lw:partField")
        acts = base.catalogue.acts.get(condition, ())
        lacking = [p for p in course.candidate.parts if name and getattr(parts[p], name) != Tri.YES]
        for part in lacking:
            done = (Act(act, condition, at) for act in acts if (at := _place(act, part, base)))
            yield from islice(done, 1)


def _place(act: Technique, part: str, base: Setting) -> tuple[str, ...]:
    """Return where an act can be done for a part: at it, or at a contact that can be parted."""
    places = [(part,)] if not act.for_contacts else list(_openings(act, part, base))
    return next((at for at in places if _may_be_done(act, at, base)), ())


def _openings(act: Technique, part: str, base: Setting) -> Iterator[tuple[str, ...]]:
    for contact in base.case.contacts:
        fits = f"contact:{contact.kind}" in act.for_contacts
        if fits and part in contact.between and contact.parting in ("possible", "done"):
            other = contact.between[contact.between[0] == part]
            yield part, other


def _may_be_done(act: Technique, where: tuple[str, ...], base: Setting) -> bool:
    """Return whether the record denies nothing that an act itself requires where it is done.

    What it leaves open stays open in the course, since an act's conditions count among its own.
    """
    if made_for(act, base.case) is not Tri.YES:
        return False
    return all(base.reader.state_for(one, where) is not Tri.NO for one in act.requires)
