"""From the steps of a case to its answer, in values that every door shows alike."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace

from leastwise.graph.answer import (
    ActView,
    Answer,
    CaseSummary,
    DamageAnswer,
    FindingView,
    KnowledgeStamp,
    OptionAnswer,
    Overlay,
    OverlayView,
    PolicyView,
    Reason,
    SettledView,
    TestAdvice,
    WorkView,
)
from leastwise.graph.case.record import Case, DamageFound
from leastwise.graph.errors import NotFound
from leastwise.graph.ids import OptionId
from leastwise.graph.knowledge.cite import cite
from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.meanings import ASKING, BLOCKING, RuleEffect, Verdict
from leastwise.graph.version import program_version
from leastwise.graph.weighing.alone import ProblemAnswer
from leastwise.graph.weighing.argument import ArgumentGraph
from leastwise.graph.weighing.candidates import Act, Candidate
from leastwise.graph.weighing.explain import Explainer
from leastwise.graph.weighing.headline import headline, worth_weighing
from leastwise.graph.weighing.needs import NeedHere
from leastwise.graph.weighing.ranking import Score, dominators, heading, in_order
from leastwise.graph.weighing.said_once import PEOPLE, said_once
from leastwise.graph.weighing.settle import Mend
from leastwise.graph.weighing.steps import Steps
from leastwise.graph.weighing.ways import places, ways_of

__all__ = ["HEADINGS", "Composer"]

#: The headings of options as the answer names them, in their order.
HEADINGS = ("meets-aim", "helps", "idle", "out")


@dataclass(frozen=True, slots=True)
class _Judged:
    """One candidate with its score, findings and reasons."""

    candidate: Candidate
    score: Score
    views: tuple[FindingView, ...]
    beaten_by: tuple[OptionId, ...]
    tree: Reason


@dataclass(frozen=True)
class Composer:
    """Puts the answer of one case together."""

    steps: Steps
    overlays: tuple[Overlay, ...] = ()

    @property
    def case(self) -> Case:
        """Return the case as it was recorded."""
        return self.steps.case

    @property
    def catalogue(self) -> Catalogue:
        """Return the knowledge as frozen values."""
        return self.steps.catalogue

    @property
    def knowledge(self) -> Knowledge:
        """Return the knowledge."""
        return self.steps.catalogue.knowledge

    def answer(self) -> Answer:
        """Return the answer: options by damage with reasons, tests, what protects people."""
        damages = [self._damage(damage) for damage in self.steps.problems]
        record = [self.steps.explainer.view(f, ()) for f in self.steps.findings.get("", ())]
        options = [o for d in damages for o in d.options]
        short = headline(damages, self.case.aim.purpose, self.catalogue.tests)
        weighed = {place.leads for d in damages for place in d.places[:1]}
        weighed |= {line.option for line in short.do_now}
        people = _people_first(
            [*record, *(f for o in options if o.id in weighed for f in o.findings)],
            {part.id: part.name for part in self.case.parts},
        )
        tests = self._tests_first(options)
        cited = _cited(options, record)
        claims, sources = cite(self.knowledge, cited)
        return Answer(
            case=self._summary(),
            stamp=self._stamp(),
            policy=self._policy(),
            headline=short,
            people_first=tuple(people),
            record=tuple(f for f in record if f.theme != PEOPLE),
            damages=tuple(damages),
            tests_first=tuple(tests),
            claims=claims,
            sources=sources,
            cautions=self._cautions([*record, *(f for o in options for f in o.findings)]),
            settled=tuple(SettledView(one.path, one.says) for one in self.steps.settled),
        )

    def alone(self, name: str) -> ProblemAnswer:
        """Return the answer to one damage or need: all that the whole answer says of its options.

        Raises:
            NotFound: the case has none of this name.

        """
        known = [one.id for one in self.steps.problems]
        if name not in known:
            raise NotFound("damage or need", name, known)
        damage = self._damage(self.steps.problems[known.index(name)])
        claims, sources = cite(self.knowledge, _cited(damage.options, []))
        return ProblemAnswer(
            case=self._summary(),
            stamp=self._stamp(),
            policy=self._policy(),
            damage=damage,
            claims=claims,
            sources=sources,
            cautions=self._cautions(f for o in damage.options for f in o.findings),
            settled=tuple(SettledView(one.path, one.says) for one in self.steps.settled),
        )

    def _stamp(self) -> KnowledgeStamp:
        return KnowledgeStamp(
            program_version(),
            self.knowledge.digest,
            self.steps.rules.digest,
            tuple(OverlayView(o.folder, tuple(o.sentences)) for o in self.overlays),
        )

    def _summary(self) -> CaseSummary:
        case = self.case
        return CaseSummary(
            case.id, case.title, case.object.name, case.demo, case.aim.purpose, case.aim.mounting
        )

    def _policy(self) -> PolicyView:
        p = self.steps.policy
        return PolicyView(p.id, p.label, p.definition, p.weights, p.residual_allowed)

    def _damage(self, damage: DamageFound) -> DamageAnswer:
        mine = {c.id: c for c in self.steps.candidates if c.damage.id == damage.id}
        graphs = {one: self.steps.argue(c) for one, c in mine.items()}
        verdicts = {one: graph.verdict for one, graph in graphs.items()}
        standing = [self.steps.scores[one] for one in mine if verdicts[one] != Verdict.DEFEATED]
        order = in_order((self.steps.scores[one] for one in mine), verdicts)
        judged = [
            self._judge(mine[one.option], graphs[one.option], dominators(one, standing))
            for one in order
        ]
        options = [self._option(one, rank) for rank, one in enumerate(judged, 1)]
        return DamageAnswer(
            damage.id,
            damage.damage,
            damage.in_words(self.knowledge.label),
            tuple(damage.parts),
            damage.activity,
            tuple(options),
            tuple(worth_weighing(options)),
            "need" if isinstance(damage, NeedHere) else "damage",
            isinstance(damage, NeedHere) and damage.derived,
            tuple(
                self.steps.explainer.set_aside(one)
                for one in self.steps.set_aside
                if one.damage.id == damage.id
            ),
            tuple(places(options, ways_of(self.knowledge))),
        )

    def _explainer(self, c: Candidate) -> Explainer:
        """Return what explains an option in the setting of its course."""
        return self.steps.courses[c.id].setting.explainer

    def _judge(self, c: Candidate, graph: ArgumentGraph, beaten_by: list[OptionId]) -> _Judged:
        one, views = self.steps.scores[c.id], self._views(c)
        doses = self.steps.computed.get((c.damage.id, c.technique.id), {})
        explainer = self._explainer(c)
        further = [d.reason for d in doses.values()] + [*explainer.dominance(beaten_by)]
        tree = explainer.tree(c, one, graph, views, further)
        return _Judged(c, one, tuple(views), tuple(beaten_by), tree)

    def _views(self, c: Candidate) -> list[FindingView]:
        views, explainer = [], self._explainer(c)
        for finding in self.steps.findings.get(c.id, ()):
            if finding.exposure is not None:
                views.append(explainer.view_of_exposure(finding, finding.exposure))
                continue
            mends: list[Mend] = []
            if finding.rule.effect in ASKING:
                mends = explainer.settler.of_option(
                    c, finding.rule.lifted_by, asked_of=finding.rule.asks_of
                )
            views.append(explainer.view(finding, mends))
        return _joined(views)

    def _option(self, judged: _Judged, rank: int) -> OptionAnswer:
        c, one, t = judged.candidate, judged.score, judged.candidate.technique
        return OptionAnswer(
            id=c.id,
            technique=t.id,
            label=c.label,
            definition=t.definition,
            groups=tuple(t.groups),
            rank=rank,
            verdict=Verdict(judged.tree.stance),
            verdict_in_words=judged.tree.text,
            meets_aim=one.meets_aim,
            hindrance=one.hindrance,
            efficacy=one.efficacy,
            residual=one.residual,
            burdens=one.burdens,
            burden=one.burden,
            waiting=one.waiting,
            heading=HEADINGS[heading(one, judged.tree.stance)],
            hours=tuple(one.hours),
            hours_basis=c.time.in_words,
            skill=t.skill,
            is_baseline=c.is_baseline,
            dominated_by=judged.beaten_by,
            work=tuple(
                WorkView(tuple(g.parts), g.one_after_another, self.steps.explainer.manner(g))
                for g in c.groups
            ),
            acts=tuple(self._act(act, c) for act in c.acts),
            set_up=t.set_up,
            monitoring=t.monitoring,
            stop_sign=t.stop_sign,
            equipment=t.equipment,
            findings=judged.views,
            reasons=judged.tree,
        )

    def _act(self, act: Act, c: Candidate) -> ActView:
        t = act.technique
        words = self._explainer(c).act(act)
        return ActView(
            t.id, t.label, act.supplies, tuple(act.where), words, tuple(t.hours), t.set_up
        )

    def _tests_first(self, options: Iterable[OptionAnswer]) -> list[TestAdvice]:
        """Order the tests by how many undecided options wait for each, then by cost."""
        waiting: dict[tuple[str, str, str], list[OptionId]] = {}
        for option in options:
            if option.verdict != Verdict.UNDECIDED:
                continue
            blocking = (f for f in option.findings if f.effect in BLOCKING)
            for mend in (m for finding in blocking for m in finding.mends if m.kind.is_test):
                key = (mend.what, mend.part, mend.material)
                waiting.setdefault(key, []).append(option.id)
        advice = [self._test(key, list(dict.fromkeys(ids))) for key, ids in waiting.items()]
        return sorted(
            advice, key=lambda a: (-len(a.options), a.material_lost, a.minutes, a.test, a.part)
        )

    def _test(self, key: tuple[str, str, str], options: list[OptionId]) -> TestAdvice:
        test = self.catalogue.tests[key[0]]
        return TestAdvice(
            test.id,
            test.label,
            key[1],
            self.steps.explainer.part_name(key[1]),
            key[2],
            test.minutes,
            test.material_lost,
            tuple(options),
        )

    def _cautions(self, views: Iterable[FindingView]) -> dict[str, str]:
        k = self.knowledge
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
        mends = dict.fromkeys([*known.mends, *view.mends])
        claims = list(dict.fromkeys([*known.claims, *view.claims]))
        first[view.rule, view.message] = replace(known, mends=tuple(mends), claims=tuple(claims))
    return [
        view if times[key] == 1 else replace(view, times=times[key]) for key, view in first.items()
    ]


def _people_first(views: Iterable[FindingView], part_names: Mapping[str, str]) -> list[FindingView]:
    """Return what protects people, each sentence once with all its parts, gravest first."""
    rank = {effect: place for place, effect in enumerate(RuleEffect)}
    gravest_first = sorted(views, key=lambda v: (rank[v.effect], v.rule, v.message))
    found: dict[str, FindingView] = {}
    for view in gravest_first:
        if view.theme == PEOPLE:
            found.setdefault(view.message, view)
    return said_once(found.values(), part_names)


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
