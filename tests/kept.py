"""Answers and plans that were made once in a run of the tests, kept for all tests of that run.

The published treatments are weighed and planned in many tests, and the same case gives the same
answer. So each is kept under a digest of knowledge, rules, policy and case, in
a folder that is new with every run and that its workers share: nothing kept can be older than the
program under test. Within one test a thing is looked up once only; whoever asks for it again has it
made, so that a test of *the same twice* compares two that were made apart. A test that asks the
same of several doors and doesn't compare them takes the fixture ``kept_within``.
"""

from __future__ import annotations

import copy
import hashlib
import pickle
import zlib
from collections import OrderedDict
from collections.abc import Callable
from pathlib import Path
from typing import Any

from leastwise.graph import Adviser, Case
from leastwise.graph.answer import Answer
from leastwise.graph.knowledge.turtle import keep_file
from leastwise.graph.planning.values import Plan
from leastwise.graph.weighing.steps import Steps

#: So many cases stay at hand with their steps, for what asks beyond the answer.
STEPS = 6
#: A case of more parts is made up for its size, and asked for once.
MOST_PARTS = 60


class Kept:
    """Stands before weighing and planning with one adviser, whichever policy it is under."""

    def __init__(
        self,
        adviser: Adviser,
        folder: Path,
        weigh: Callable[[Adviser, Case], Answer],
        plan: Callable[[Any], Plan],
    ) -> None:
        self.adviser, self._folder, self._weigh, self._plan = adviser, folder, weigh, plan
        self._steps: OrderedDict[str, Steps] = OrderedDict()
        self._asked: set[str] = set()
        self.is_within = False

    def pytest_runtest_setup(self) -> None:
        """Forget what the test before has asked."""
        self._asked.clear()

    def answer(self, adviser: Adviser, case: Case) -> Answer:
        """Return what *adviser* says of a case: made earlier in this run, or now."""
        if not self._is_kept(adviser, case):
            return self._weigh(adviser, case)
        name = self._name("answer", adviser, case)
        found = self._found(name)
        if found is not None:
            self._lay_out(adviser, case, name)
            return found  # type: ignore[no-any-return]
        answer = self._weigh(adviser, case)
        self._steps[name] = adviser._recent[-1]
        while len(self._steps) > STEPS:
            self._steps.popitem(last=False)
        return self._keep(name, answer)

    def plan(self, planning: Any) -> Plan:
        """Return the plan of what is asked: made earlier in this run, or now."""
        if not self._is_kept(planning.adviser, planning.case):
            return self._plan(planning)
        more = (str(planning.undecided), planning.answer.as_json())
        name = self._name("plan", planning.adviser, planning.case, *more)
        return self._found(name) or self._keep(name, self._plan(planning))

    def _is_kept(self, adviser: Adviser, case: Case) -> bool:
        mine = self.adviser
        is_mine = adviser.knowledge is mine.knowledge and adviser.rules is mine.rules
        is_published = not case.demo  # what was kept of invented cases led find-out-first astray
        return (
            is_published
            and is_mine
            and adviser.overlays == mine.overlays
            and len(case.parts) <= MOST_PARTS
        )

    def _name(self, kind: str, adviser: Adviser, case: Case, *more: str) -> str:
        which = (self.adviser.knowledge.digest, adviser.rules.digest, adviser.policy_name)
        whole = "\0".join((*which, case.model_dump_json(), *more))
        return f"{hashlib.sha256(whole.encode()).hexdigest()[:32]}.{kind}"

    def _found(self, name: str) -> Any:
        """Return what is kept, for the first who asks in a test; None if it is to be made."""
        is_first = name not in self._asked or self.is_within
        self._asked.add(name)
        path = self._folder / name
        if not is_first or not path.exists():
            return None
        return pickle.loads(zlib.decompress(path.read_bytes()))  # noqa: S301 - our own, of this run

    def _keep(self, name: str, made: Any) -> Any:
        path = self._folder / name
        if not path.exists():
            kept = zlib.compress(pickle.dumps(made), 1)
            keep_file(path, lambda scratch: scratch.write_bytes(kept))
        return made

    def _lay_out(self, adviser: Adviser, case: Case, name: str) -> None:
        """Leave the steps at hand, if they are here, as weighing does."""
        known = self._steps.get(name)
        if known is not None:
            steps = copy.copy(known)  # with what it has worked out
            object.__setattr__(steps, "recorded", case)
            adviser._recent.append(steps)
