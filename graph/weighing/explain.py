"""The answer to *why*: the arguments of an option as a tree of reasons in plain sentences."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from itertools import pairwise

from leastwise.graph.answer import FindingView, MendView, Reason, SetAsideView
from leastwise.graph.case.record import Case, Tri
from leastwise.graph.ids import OptionId, Pair
from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.meanings import BLOCKING, Remedy, RuleEffect, Stance, Verdict
from leastwise.graph.sentences import (
    against,
    hindering,
    is_plural,
    sentence_case,
    the,
    the_all,
)
from leastwise.graph.weighing.argument import ArgumentGraph
from leastwise.graph.weighing.candidates import Act, Asked, Candidate, SetAside, WorkGroup
from leastwise.graph.weighing.exposure import Exposure
from leastwise.graph.weighing.findings import Finding
from leastwise.graph.weighing.needs import NeedHere
from leastwise.graph.weighing.ranking import Score
from leastwise.graph.weighing.settle import Mend, Settler
from leastwise.graph.weighing.settling import settling

__all__ = ["Explainer"]

#: What a record lacks that doesn't say how a part touches the rest.
CONTACT = "lw:hasContact"
MET_WORDS = {Tri.YES: "met", Tri.NO: "not met", Tri.UNKNOWN: "not known"}
MEANS_WORDS = {
    "lw:beyondSkill": "a specialist for this work",
    "lw:beyondHours": "more hours",
    "lw:lacksEquipment": "the equipment that is missing",
}
OPENING = {
    Verdict.ACCEPTED: "Accepted",
    Verdict.UNDECIDED: "Undecided until the open points are settled",
    Verdict.DEFEATED: "Defeated as the case stands",
}


@dataclass(frozen=True)
class Explainer:
    """Puts findings, arguments and scores of one case into words."""

    case: Case
    catalogue: Catalogue
    settler: Settler
    acts: tuple[Act, ...] = ()  # done first, in the setting that is explained
    _mends: dict[Mend, MendView] = field(default_factory=dict, repr=False, compare=False)
    _views: dict[tuple[object, ...], FindingView] = field(
        default_factory=dict, repr=False, compare=False
    )
    #: id of a view -> the view, which so stays where it is, and the reason made of it
    _reasons: dict[int, tuple[FindingView, Reason]] = field(
        default_factory=dict, repr=False, compare=False
    )

    @cached_property
    def _part_names(self) -> dict[str, str]:
        return {part.id: part.name for part in reversed(self.case.parts)}  # the first one stays

    def part_name(self, part: str) -> str:
        """Return the name that the record gives a part."""
        return self._part_names.get(part, part)

    def _the(self, part: str) -> str:
        return the(self.part_name(part))

    def mend(self, mend: Mend) -> MendView:
        """Return a mend in words; each is put into words once."""
        known = self._mends.get(mend)
        if known is None:
            known = self._mends[mend] = self._mend(mend)
        return known

    def _mend(self, mend: Mend) -> MendView:
        k, part = self.catalogue.knowledge, self._the(mend.part) if mend.part else ""
        on = (
            f" on the {k.label(mend.material)} of {part}"
            if mend.material
            else (f" on {part}" if part else "")
        )
        label = {
            Remedy.TEST: lambda: f"{k.label(mend.what)}{on}",
            Remedy.IDENTITY: lambda: f"{k.label(mend.what)}{on}, to find out what it is",
            Remedy.BARRIER: lambda: f"a barrier between {self._pair(mend.what)}",
            Remedy.PARTING: lambda: f"taking {self._pair(mend.what)} apart",
            Remedy.MEANS: lambda: MEANS_WORDS[mend.what],
            Remedy.RECORD: lambda: self._entry(mend, on),
        }[mend.kind]()
        condition = k.label(mend.condition) if mend.condition else ""
        return MendView(mend.kind, mend.what, label, mend.part, mend.material, condition)

    def _entry(self, mend: Mend, on: str) -> str:
        if mend.what == CONTACT:
            return f"an entry in the record: how {self._the(mend.part)} touches the rest"
        return f"an entry in the record: {self.catalogue.knowledge.label(mend.what)}{on}"

    def _pair(self, pair: str) -> str:
        return the_all(self.part_name(part) for part in Pair(pair).parts)

    def view(self, finding: Finding, mends: Iterable[Mend]) -> FindingView:
        """Return a finding with its mends, each once."""
        rule, claims = finding.rule, [*finding.rule.rests_on, *finding.claims]
        return FindingView(
            rule=rule.id,
            severity=rule.severity,
            effect=rule.effect,
            theme=rule.theme,
            message=finding.message,
            part=finding.part,
            material=finding.material,
            agent=finding.agent,
            via=finding.via,
            cautions=(*rule.cautions,),
            claims=(*dict.fromkeys(claims),),
            mends=tuple(self.mend(m) for m in dict.fromkeys(mends)),
        )

    def view_of_exposure(self, finding: Finding, e: Exposure) -> FindingView:
        """Return a finding on an exposure with its mends; what reads the same is made once.

        What lifts it depends on nothing but the rule and what stands in the key.
        """
        key = (
            finding.rule.id, finding.message, e.part, e.material, e.agent, e.identification,
            e.test_state, e.reach.way, e.reach.stoppable, e.reach.recorded, e.confined,
        )  # fmt: skip
        known = self._views.get(key)
        if known is None:
            rule, mends = finding.rule, list[Mend]()
            if rule.effect in BLOCKING:
                mends = self.settler.of_exposure(e, rule.lifted_by)
            known = self._views[key] = self.view(finding, mends)
        return known

    def tree(
        self,
        candidate: Candidate,
        score: Score,
        graph: ArgumentGraph,
        views: Sequence[FindingView],
        further: Iterable[Reason] = (),
    ) -> Reason:
        """Return the tree of reasons of one option; the leaves carry claims.

        *further* reasons, such as a computed dose or what dominates the option, come last.
        """
        against, undecided, care = list[Reason](), list[Reason](), list[Reason]()
        place = {
            RuleEffect.DEFEATS: against,
            RuleEffect.LEAVES_UNDECIDED: undecided,
            RuleEffect.CAUTIONS: care,
        }
        for view in views:
            place.get(view.effect, care).append(self._reason(view))
        reasons = [
            self._benefit(candidate, score),
            *against,
            *undecided,
            *self._answered(graph),
            *care,
            *(Reason(Stance.FIRST, f"First {self.act(act)}.") for act in candidate.acts),
            *self._manner(candidate),
            self._burden(score),
            *further,
        ]
        return Reason(graph.verdict, self.opening(graph, views), reasons=tuple(reasons))

    @staticmethod
    def opening(graph: ArgumentGraph, views: Sequence[FindingView]) -> str:
        """Return the verdict in words, with the first ground for it."""
        effect = graph.verdict.decided_by
        grounds = [v.message for v in views if v.effect == effect]
        more = f" ({len(grounds)} points in all)" if len(grounds) > 1 else ""
        return (
            f"{OPENING[graph.verdict]}: {grounds[0]}{more}"
            if grounds
            else f"{OPENING[graph.verdict]}."
        )

    def _benefit(self, candidate: Candidate, score: Score) -> Reason:
        damage = candidate.damage.in_words(self.catalogue.knowledge.label)
        kind = self.catalogue.damages.get(candidate.damage.damage)
        grounds = list(kind.rests_on) if kind else []
        left_alone = self._hinders(candidate, score)
        if candidate.is_baseline:
            return Reason(
                Stance.FOR, self._left_alone(candidate, score, left_alone), tuple(grounds)
            )
        effect = candidate.effect
        assert effect is not None  # noqa: S101 - only the baseline has no effect claim
        need = isinstance(candidate.damage, NeedHere)
        text = f"{against(damage, candidate.efficacy, need=need)}: {effect.statement}"
        if candidate.failed:
            said = "; ".join(self._asked(one) for one in candidate.failed)
            text = f"{against(damage, 0, need=need)} here, since a condition fails: {said}."
        meets = "This meets the aim." if score.meets_aim else "Alone it does not meet the aim."
        because = Reason(Stance.BECAUSE, f"Untreated, {left_alone}.", tuple(grounds))
        return Reason(Stance.FOR, f"{text} {meets}", (effect.id, *effect.rests_on),
                      reasons=(*self._conditions(candidate), because))  # fmt: skip

    def _hinders(self, candidate: Candidate, score: Score) -> str:
        """Return how far the problem hinders the aim, as a part of a sentence."""
        aim = self.case.aim.purpose
        need = self.catalogue.needs.get(candidate.damage.damage)
        what = need.without[:1].lower() + need.without[1:].rstrip(".") if need else ""
        if need:
            return f"{what}, which {hindering(aim, score.hindrance)}"
        label = candidate.damage.in_words(self.catalogue.knowledge.label)
        how_far = hindering(aim, score.hindrance, plural=is_plural(label))
        return f"{the(label)} {how_far}"

    def _conditions(self, candidate: Candidate) -> Iterable[Reason]:
        """Yield what the effect depends on, with what the record says of it."""
        if candidate.asked:
            said = "; ".join(self._asked(one) for one in candidate.asked)
            yield Reason(Stance.CONDITION, f"Depends on: {said}.")

    def _asked(self, asked: Asked) -> str:
        label = self.catalogue.knowledge.label(asked.condition)
        label = f"\u201c{label}\u201d" if asked.holds else f"not \u201c{label}\u201d"
        return f"{label} ({MET_WORDS[asked.met]})"

    def set_aside(self, one: SetAside) -> SetAsideView:
        """Return in words why a technique is no option for a problem."""
        label = self.catalogue.knowledge.label(one.failed.condition)
        because = (
            f"Of use only where \u201c{label}\u201d holds; by the record it does not."
            if one.failed.holds
            else f"Of no use where \u201c{label}\u201d holds; by the record it does."
        )
        return SetAsideView(one.technique.id, one.technique.label, because)

    @staticmethod
    def _left_alone(candidate: Candidate, score: Score, hinders: str) -> str:
        meets = "the aim is met" if score.meets_aim else "the aim is not met"
        if isinstance(candidate.damage, NeedHere):
            return f"Nothing is done about it. Then {hinders}, so {meets}."
        risk = {
            "active": "The damage is active and will go on.",
            "stable": "The damage is recorded as stable.",
            "unknown": "Whether the damage goes on is not known; watch it.",
        }[candidate.damage.activity]
        nothing = "Nothing is added, lost or risked by treatment."
        return f"{nothing} Untreated, {hinders}, so {meets}. {risk}"

    def _reason(self, view: FindingView) -> Reason:
        """Return a finding as a reason, made once for each view."""
        known = self._reasons.get(id(view))
        if known is None:
            made = {RuleEffect.DEFEATS: self._against, RuleEffect.LEAVES_UNDECIDED: self._open}
            known = self._reasons[id(view)] = (view, made.get(view.effect, self._care)(view))
        return known[1]

    @staticmethod
    def _care(view: FindingView) -> Reason:
        settles = [Reason(Stance.WOULD_SETTLE_IT, one) for one in settling(view.mends)]
        return Reason(Stance.CARE, view.message, view.claims, view.rule, tuple(settles))

    @staticmethod
    def _against(view: FindingView) -> Reason:
        lifts = [Reason(Stance.WOULD_CHANGE_IT, m.label) for m in view.mends]
        return Reason(Stance.AGAINST, view.message, view.claims, view.rule, tuple(lifts))

    @staticmethod
    def _open(view: FindingView) -> Reason:
        settles = [Reason(Stance.WOULD_SETTLE_IT, one) for one in settling(view.mends)]
        return Reason(Stance.OPEN, view.message, view.claims, view.rule, tuple(settles))

    def _answered(self, graph: ArgumentGraph) -> Iterable[Reason]:
        seen: set[tuple[str, str, str]] = set()
        for argument in graph.arguments.values():
            e = argument.exposure
            if e is None or argument.kind != "con" or (e.agent, e.material, e.part) in seen:
                continue
            seen.add((e.agent, e.material, e.part))
            yield Reason(
                Stance.ALTHOUGH,
                self._would_reach(e),
                tuple(e.sensitivity.claims),
                reasons=(Reason(Stance.ANSWERED_BY, self._stop_words(e)),),
            )

    def _would_reach(self, e: Exposure) -> str:
        k = self.catalogue.knowledge
        agent, material = k.label(e.agent), k.label(e.material)
        return f"{sentence_case(agent)} would reach the {material} of {self._the(e.part)}."

    def _stop_words(self, e: Exposure) -> str:
        start, *between = [self.part_name(part) for part in e.reach.way]
        steps = {frozenset(pair) for pair in pairwise(e.reach.way)}
        done = next((act for act in self.acts if frozenset(act.where) in steps), None)
        if done is not None:
            return f"{self.act(done)} first"
        if not between:
            return f"{the(start)} {'have' if is_plural(start) else 'has'} been taken off"
        *between, end = between
        what = "a barrier in place" if e.stopped == "barrier" else "a parting"
        by_way_of = f" by way of {the_all(between)}" if between else ""
        return f"{what} on the way from {the(start)} to {the(end)}{by_way_of}"

    def act(self, act: Act) -> str:
        """Return an enabling act in words, with its place."""
        names = [self.part_name(part) for part in act.where]
        place = f"{'between' if len(names) > 1 else 'at'} {the_all(names[:2])}"
        return f"{act.technique.label} {place}"

    def _manner(self, candidate: Candidate) -> Iterable[Reason]:
        if candidate.is_baseline or len(candidate.parts) < 2:
            return
        for group in candidate.groups:
            yield Reason(Stance.MANNER, self.manner(group))

    def manner(self, group: WorkGroup) -> str:
        """Return how a group of damaged parts is worked."""
        names = the_all(self.part_name(part) for part in group.parts)
        if group.one_after_another:
            return f"One after another, since they are sewn together: {names}."
        return (
            f"As a group, since they are loose: {names}."
            if len(group.parts) > 1
            else f"By itself: {names}."
        )

    def _burden(self, score: Score) -> Reason:
        k = self.catalogue.knowledge
        graded = [f"{k.label(axis)} {grade}" for axis, grade in score.burdens.items() if grade]
        listed = ", ".join(graded) if graded else "none on any axis"
        return Reason(Stance.BURDEN, f"Burden {score.burden:.2f} of 1 ({listed}; grades 0 to 4).")

    def dominance(self, dominated_by: Sequence[OptionId]) -> Iterable[Reason]:
        """Yield the reason that names what dominates an option, if anything does."""
        if dominated_by:
            label = self.catalogue.knowledge.label
            names = "; ".join(label(d.technique) for d in dominated_by)
            yield Reason(
                Stance.ORDER, f"At least as gentle on every axis, as helpful and as quick: {names}."
            )
