"""From a case to its answer: the one place where the steps are strung together."""

from __future__ import annotations

from collections import Counter, deque
from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property

from leastwise.graph.answer import (
    Answer,
    CaseSummary,
    Computed,
    DamageAnswer,
    FindingView,
    KnowledgeStamp,
    OptionAnswer,
    Overlay,
    OverlayView,
    PolicyView,
    Reason,
    TestAdvice,
    WorkView,
)
from leastwise.graph.case.record import Case, DamageFound
from leastwise.graph.errors import UnknownOption
from leastwise.graph.knowledge.cite import cite
from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.knowledge.rules import RuleBook
from leastwise.graph.weighing.argument import ArgumentGraph, argue
from leastwise.graph.weighing.candidates import Candidate, find_candidates
from leastwise.graph.weighing.conditions import ConditionReader
from leastwise.graph.weighing.contacts import ContactNetwork
from leastwise.graph.weighing.explain import Explainer
from leastwise.graph.weighing.exposure import ExposureTracer
from leastwise.graph.weighing.findings import CaseData, Finding, find
from leastwise.graph.weighing.ranking import (
    Policy,
    Score,
    dominators,
    in_order,
    policy_named,
    score,
)
from leastwise.graph.weighing.settle import Mend, Settler

__all__ = ["Adviser"]

PEOPLE = "people"
#: So many cases that were weighed stay at hand with their steps.
MOST_RECENT = 2


@dataclass(frozen=True)
class Adviser:
    """Knowledge and rules, loaded once; answers any number of cases."""

    knowledge: Knowledge
    rules: RuleBook
    overlays: tuple[Overlay, ...] = ()
    policy_name: str = ""  # the default of the knowledge

    @cached_property
    def catalogue(self) -> Catalogue:
        """Return the knowledge as frozen values."""
        return Catalogue(self.knowledge)

    @cached_property
    def policy(self) -> Policy:
        """Return the policy by which options are put in order."""
        return policy_named(self.catalogue, self.policy_name)

    def under(self, policy: str) -> Adviser:
        """Return this adviser with another policy; the knowledge is shared, not read again.

        Raises:
            UnknownPolicy: the knowledge holds no such policy; the message lists those it holds.

        """
        if not policy:
            return self
        other = replace(self, policy_name=policy)
        other.__dict__["catalogue"] = self.catalogue
        other.policy  # noqa: B018 - an unknown name is told now, not in the middle of a case
        return other

    def weigh(self, case: Case) -> Answer:
        """Return the options of a case, least burden that meets the aim first, with reasons.

        The same case, knowledge and rules give the same answer.
        """
        steps = _Weighing(case, self)
        answer = steps.answer()
        self._recent.append(steps)
        return answer

    @cached_property
    def _recent(self) -> deque[_Weighing]:
        """Return the cases that were weighed last, for questions about what is at hand."""
        return deque(maxlen=MOST_RECENT)

    def steps(self, case: Case, only: str = "") -> _Weighing:
        """Return the steps of weighing a case, for questions that go beyond the answer.

        *only* is a damage or an option of the case to look at alone; verdicts and scores don't
        depend on what other options there are.
        """
        known = next((one for one in list(self._recent) if one.case is case), None)
        if known is None:
            return _Weighing(case, self, only)
        return known.of(only) if only else known

    def arguments(self, case: Case, option: str) -> ArgumentGraph:
        """Return the arguments on one option of a case, with their labels.

        Raises:
            UnknownOption: the case has no such option.

        """
        steps = self.steps(case, option)
        found = [c for c in steps.candidates if c.id == option]
        if not found:
            raise UnknownOption("option", option, [])
        return steps._argue(found[0])


@dataclass(frozen=True, slots=True)
class _Judged:
    """One candidate with its score, findings and reasons."""

    candidate: Candidate
    score: Score
    views: list[FindingView]
    beaten_by: list[str]
    tree: Reason


@dataclass(frozen=True)
class _Weighing:
    """The steps for one case; each result is made once."""

    case: Case
    adviser: Adviser
    only: str = ""  # a damage or an option to look at alone

    def of(self, only: str) -> _Weighing:
        """Return the steps for a damage or an option alone, taken from those of the whole case."""
        part = _Weighing(self.case, self.adviser, only)
        shared = ("data", "computed", "settler", "explainer", "scores")
        part.__dict__.update({name: getattr(self, name) for name in shared})
        mine = ["", *(c.id for c in part.candidates)]
        part.__dict__["findings"] = {one: f for one, f in self.findings.items() if one in mine}
        return part

    @property
    def catalogue(self) -> Catalogue:
        return self.adviser.catalogue

    @cached_property
    def candidates(self) -> tuple[Candidate, ...]:
        found = find_candidates(self.case, self.catalogue)
        return tuple(c for c in found if self.only in ("", c.id, c.damage.id))

    @cached_property
    def data(self) -> CaseData:
        network = ContactNetwork.of(self.case, self.catalogue)
        doses = {
            key: {part: decided.dose for part, decided in found.items()}
            for key, found in self.computed.items()
        }
        tracer = ExposureTracer(self.case, self.catalogue, network, doses)
        reader = ConditionReader(self.case, self.catalogue)
        exposures = {c.id: tuple(tracer.trace(c)) for c in self.candidates}
        return CaseData(self.case, self.catalogue, self.candidates, exposures, reader)

    @cached_property
    def computed(self) -> dict[tuple[str, str], dict[str, Computed]]:
        """Return the doses on neighbours of planned packs: (damage, technique) -> part -> dose."""
        if not self.case.packs:
            return {}
        from leastwise.graph.setups.dose import (  # noqa: PLC0415 - the solver is slow to load
            computed_doses,
        )

        return computed_doses(self.case.packs, self.adviser.knowledge)

    @cached_property
    def settler(self) -> Settler:
        return Settler(self.case, self.catalogue, self.data.reader)

    @cached_property
    def explainer(self) -> Explainer:
        return Explainer(self.case, self.catalogue, self.settler)

    @cached_property
    def findings(self) -> dict[str, tuple[Finding, ...]]:
        return find(self.data, self.adviser.rules)

    @cached_property
    def scores(self) -> dict[str, Score]:
        policy = self.adviser.policy
        return {
            c.id: score(c, self.data.exposures[c.id], self.case, self.catalogue, policy)
            for c in self.candidates
        }

    def answer(self) -> Answer:
        damages = [self._damage(damage) for damage in self.case.damages]
        record = [self.explainer.view(f, ()) for f in self.findings.get("", ())]
        options = [o for d in damages for o in d.options]
        people = _people_first([*record, *(f for o in options for f in o.findings)])
        tests = self._tests_first(options)
        cited = _cited(options, record)
        claims, sources = cite(self.adviser.knowledge, cited)
        return Answer(
            case=self._summary(),
            stamp=KnowledgeStamp(
                self.adviser.knowledge.digest,
                self.adviser.rules.digest,
                [OverlayView(o.folder, list(o.sentences)) for o in self.adviser.overlays],
            ),
            policy=self._policy(),
            people_first=people,
            record=[f for f in record if f.theme != PEOPLE],
            damages=damages,
            tests_first=tests,
            claims=claims,
            sources=sources,
            cautions=self._cautions([*record, *(f for o in options for f in o.findings)]),
        )

    def _summary(self) -> CaseSummary:
        case = self.case
        return CaseSummary(
            case.id, case.title, case.object.name, case.demo, case.aim.purpose, case.aim.mounting
        )

    def _policy(self) -> PolicyView:
        p = self.adviser.policy
        return PolicyView(p.id, p.label, p.definition, p.weights, p.residual_allowed)

    def _damage(self, damage: DamageFound) -> DamageAnswer:
        mine = {c.id: c for c in self.candidates if c.damage.id == damage.id}
        graphs = {one: self._argue(c) for one, c in mine.items()}
        verdicts = {one: graph.verdict for one, graph in graphs.items()}
        standing = [self.scores[one] for one in mine if verdicts[one] != "defeated"]
        order = in_order((self.scores[one] for one in mine), verdicts)
        judged = [
            self._judge(mine[one.option], graphs[one.option], dominators(one, standing))
            for one in order
        ]
        return DamageAnswer(
            damage.id,
            damage.damage,
            self.adviser.knowledge.label(damage.damage),
            list(damage.parts),
            damage.activity,
            [self._option(one, rank) for rank, one in enumerate(judged, 1)],
        )

    def _argue(self, c: Candidate) -> ArgumentGraph:
        return argue(c.technique.label, self.findings.get(c.id, ()), self.data.exposures[c.id])

    def _judge(self, c: Candidate, graph: ArgumentGraph, beaten_by: list[str]) -> _Judged:
        one, views = self.scores[c.id], self._views(c)
        doses = self.computed.get((c.damage.id, c.technique.id), {})
        further = [d.reason for d in doses.values()] + [*self.explainer.dominance(beaten_by)]
        tree = self.explainer.tree(c, one, graph, views, further)
        return _Judged(c, one, views, beaten_by, tree)

    def _views(self, c: Candidate) -> list[FindingView]:
        views = []
        for finding in self.findings.get(c.id, ()):
            if finding.exposure is not None:
                views.append(self.explainer.view_of_exposure(finding, finding.exposure))
                continue
            mends: list[Mend] = []
            if finding.rule.effect in ("defeats", "leavesUndecided"):
                mends = self.settler.of_option(c, finding.rule.lifted_by)
            views.append(self.explainer.view(finding, mends))
        return _joined(views)

    def _option(self, judged: _Judged, rank: int) -> OptionAnswer:
        c, one, t = judged.candidate, judged.score, judged.candidate.technique
        return OptionAnswer(
            id=c.id,
            technique=t.id,
            label=t.label,
            definition=t.definition,
            groups=list(t.groups),
            rank=rank,
            verdict=judged.tree.stance,
            verdict_in_words=judged.tree.text,
            meets_aim=one.meets_aim,
            hindrance=one.hindrance,
            efficacy=one.efficacy,
            residual=one.residual,
            burdens=one.burdens,
            burden=one.burden,
            hours=list(one.hours),
            skill=t.skill,
            is_baseline=c.is_baseline,
            dominated_by=judged.beaten_by,
            work=[
                WorkView(list(g.parts), g.one_after_another, self.explainer.manner(g))
                for g in c.groups
            ],
            set_up=t.set_up,
            monitoring=t.monitoring,
            stop_sign=t.stop_sign,
            equipment=t.equipment,
            findings=judged.views,
            reasons=judged.tree,
        )

    def _tests_first(self, options: Iterable[OptionAnswer]) -> list[TestAdvice]:
        """Order the tests by how many undecided options wait for each, then by cost."""
        waiting: dict[tuple[str, str, str], list[str]] = {}
        for option in options:
            if option.verdict != "undecided":
                continue
            for finding in option.findings:
                for mend in finding.mends:
                    if mend.kind in ("test", "identity"):
                        key = (mend.what, mend.part, mend.material)
                        waiting.setdefault(key, []).append(option.id)
        advice = [self._test(key, list(dict.fromkeys(ids))) for key, ids in waiting.items()]
        return sorted(
            advice, key=lambda a: (-len(a.options), a.material_lost, a.minutes, a.test, a.part)
        )

    def _test(self, key: tuple[str, str, str], options: list[str]) -> TestAdvice:
        test = self.catalogue.tests[key[0]]
        return TestAdvice(
            test.id,
            test.label,
            key[1],
            self.explainer.part_name(key[1]),
            key[2],
            test.minutes,
            test.material_lost,
            options,
        )

    def _cautions(self, views: Iterable[FindingView]) -> dict[str, str]:
        k = self.adviser.knowledge
        names = {caution for view in views for caution in view.cautions}
        return {name: k.text(name, "skos:definition") for name in sorted(names)}


def _joined(views: list[FindingView]) -> list[FindingView]:
    """Join findings that read the same; they differ only in ways nobody would act on."""
    if len({(v.rule, v.message) for v in views}) == len(views):
        return views
    times = Counter((v.rule, v.message) for v in views)
    first: dict[tuple[str, str], FindingView] = {}
    for view in views:
        known = first.get((view.rule, view.message))
        if known is None:
            first[view.rule, view.message] = view
            continue
        mends = {(m.kind, m.what, m.part, m.material): m for m in [*known.mends, *view.mends]}
        claims = list(dict.fromkeys([*known.claims, *view.claims]))
        first[view.rule, view.message] = replace(known, mends=list(mends.values()), claims=claims)
    return [
        view if times[key] == 1 else replace(view, times=times[key]) for key, view in first.items()
    ]


def _people_first(views: Iterable[FindingView]) -> list[FindingView]:
    """Return what protects people, each once, gravest first."""
    found = {v.message: v for v in views if v.theme == PEOPLE}
    rank = {"defeats": 0, "leavesUndecided": 1, "cautions": 2, "records": 3}
    return sorted(found.values(), key=lambda v: (rank[v.effect], v.rule, v.message))


def _cited(options: Iterable[OptionAnswer], record: Iterable[FindingView]) -> set[str]:
    """Return the claims that findings and reasons rest on."""
    cited: set[str] = set()
    for view in record:
        cited.update(view.claims)
    for option in options:
        for view in option.findings:
            cited.update(view.claims)
        _add_leaves(option.reasons, cited)
    return cited


def _add_leaves(reason: Reason, cited: set[str]) -> None:
    cited.update(reason.claims)
    for inner in reason.reasons:
        if not inner.rule:  # what a rule says has its claims from the finding
            _add_leaves(inner, cited)
