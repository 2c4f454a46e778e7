"""From a case to its answer: knowledge and rules loaded once, and the steps strung together."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property

from leastwise.graph.answer import Answer, Overlay
from leastwise.graph.case.record import Case
from leastwise.graph.errors import UnknownOption
from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.knowledge.rules import RuleBook
from leastwise.graph.weighing.alone import ProblemAnswer
from leastwise.graph.weighing.another_way import with_another_way
from leastwise.graph.weighing.argument import ArgumentGraph
from leastwise.graph.weighing.case_policy import policy_for
from leastwise.graph.weighing.compose import Composer
from leastwise.graph.weighing.ranking import Policy, policy_named
from leastwise.graph.weighing.shared import Shared
from leastwise.graph.weighing.steps import Steps, Variant, steps_of
from leastwise.graph.weighing.tested import as_tested

__all__ = ["Adviser"]

#: So many cases that were weighed stay at hand with their steps.
MOST_RECENT = 2


@dataclass(frozen=True)
class Adviser:
    """Knowledge and rules, loaded once; answers any number of cases."""

    knowledge: Knowledge
    rules: RuleBook
    overlays: tuple[Overlay, ...] = ()
    policy_name: str = ""  # that of the case, or else the default of the knowledge
    made: Catalogue | None = field(default=None, repr=False, compare=False)  # if it is at hand

    @cached_property
    def catalogue(self) -> Catalogue:
        """Return the knowledge as frozen values."""
        return self.made or Catalogue(self.knowledge)

    @cached_property
    def policy(self) -> Policy:
        """Return the policy by which options are put in order where a case keeps none."""
        return policy_named(self.catalogue, self.policy_name)

    def policy_of(self, case: Case) -> Policy:
        """Return the policy by which the options of a case are put in order."""
        return policy_for(self.catalogue, self.policy_name, case)

    def under(self, policy: str) -> Adviser:
        """Return this adviser with another policy; the knowledge is shared, not read again.

        Raises:
            UnknownPolicy: the knowledge holds no such policy; the message lists those it holds.

        """
        if not policy:
            return self
        other = replace(self, policy_name=policy, made=self.catalogue)
        other.policy  # noqa: B018 - an unknown name is told now, not in the middle of a case
        return other

    def weigh(self, case: Case) -> Answer:
        """Return the options of a case, least burden that meets the aim first, with reasons.

        The same case, knowledge and rules give the same answer.
        """
        steps = self._steps(case)
        answer = Composer(steps, self.overlays).answer()
        answer = with_another_way(answer, case, self.variants)
        self._remembered(steps)
        return answer

    def weigh_one(self, case: Case, problem: str) -> ProblemAnswer:
        """Return the options of one damage or need of a case, as :meth:`weigh` gives them.

        The others are weighed too, since their work may come before it, and nothing is said of
        them.

        Raises:
            NotFound: the case has none of this name.

        """
        return Composer(self.steps(case, problem), self.overlays).alone(problem)

    @cached_property
    def _recent(self) -> deque[Steps]:
        """Return the cases that were weighed last, for questions about what is at hand."""
        return deque(maxlen=MOST_RECENT)

    def _remembered(self, steps: Steps) -> Steps:
        self._recent.append(steps)
        return steps

    def steps(self, case: Case, only: str = "") -> Steps:
        """Return the steps of weighing a case, for questions that go beyond the answer.

        *only* is a damage or an option of the case to look at alone; it comes to what it comes to
        in the whole case, where work of other options may come before it.
        """
        known = next((one for one in list(self._recent) if one.recorded is case), None)
        steps = known or self._remembered(self._steps(case))
        return steps.of(only) if only else steps

    def variants(
        self,
        variants: Sequence[Variant],
        shared: Shared | None = None,
        base: Case | None = None,
    ) -> Iterator[Steps]:
        """Yield the steps of variants of a case, weighed together for their verdicts.

        Whoever asks for variants of one case again and again gives what is *shared* by them, and
        the case itself as their *base*, from which they take what they leave as it is.

        Each comes to what :meth:`steps` says of it, without words.
        """
        return steps_of(variants, self.catalogue, self.rules, self.policy_of, shared, base)

    def arguments(self, case: Case, option: str) -> ArgumentGraph:
        """Return the arguments on one option of a case, with their labels.

        Raises:
            UnknownOption: the case has no such option.

        """
        steps = self.steps(case, option)
        found = [c for c in steps.candidates if c.id == option]
        if not found:
            raise UnknownOption("option", option, [])
        return steps.argue(found[0])

    def _steps(self, case: Case) -> Steps:
        told = as_tested(case, self.knowledge)
        return Steps(
            told.case,
            self.catalogue,
            self.rules,
            self.policy_of(case),
            recorded=case,
            settled=told.settled,
        )
