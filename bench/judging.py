"""Published treatments beside the advice: every one is weighed and planned as a record.

The records stand in ``tests/published/treatments``, each with what its source chose, refused,
tested first and did in order. Counted are, over all entries that their sources let one judge:

* *chosen*: for each problem that the source answered, does a technique that it chose stand in the
  first three places that a reader sees for it, and is it not defeated? Options that go much the
  same way (seed_data/ways.ttl) share a place, up to four of them.
* *singly*: the same, each option counted by itself: is it one of the first three?
* *refused*: is anything accepted that the source ruled out? Leaving alone counts only where it is
  said to meet the aim, since it is always in view.
* *tests*: is a test that the source made first asked for? Where the record holds its result, the
  case is weighed once more without it.
* *order*: does the plan, or else the knowledge, put the source's steps in its order?
* *terms*: have the words of the sources a counterpart in the knowledge?
* how many problems open with an option that doesn't meet the aim, how many options a problem
  shows, and how many facts of the sources the record could not hold.
"""

from __future__ import annotations

import math
import statistics
from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import yaml

from leastwise.graph import Adviser, Answer, Case, load_adviser
from leastwise.graph.answer import DamageAnswer, OptionAnswer, Place
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.planning.make import make_plan
from leastwise.graph.planning.precedence import OrderBook

PUBLISHED = Path(__file__).resolve().parents[1] / "tests" / "published"
LATER = PUBLISHED / "treatments-later"  # read later, and entered before the advice was run on them
THIRD = PUBLISHED / "treatments-third"  # a third set, entered so too
FIRST = 3
LEAVE = "technique:leave-and-monitor"
Z = 1.959964  # 95 %
MEASURES = ("chosen", "singly", "refused", "tests", "order")


@dataclass(frozen=True)
class Verdict:
    """One thing a source says, and whether the advice says it too; *why* tells what it said."""

    entry: str
    measure: str
    kind: str
    right: bool
    words: str
    why: str = ""
    counterpart: bool = True  # whether the knowledge holds what the source used


@dataclass
class Entry:
    """What was found for one published treatment."""

    id: str
    kind: str
    judged: bool
    verdicts: list[Verdict] = field(default_factory=list)
    problems: dict[str, dict[str, Any]] = field(default_factory=dict)
    facts: int = 0
    not_said: list[str] = field(default_factory=list)


def wilson(right: int, of: int) -> tuple[float, float]:
    """Return Wilson's 95 % interval of a share.

    >>> [round(x, 3) for x in wilson(26, 62)]
    [0.305, 0.543]
    """
    if not of:
        return 0.0, 1.0
    p, n = right / of, Z * Z / of
    half = Z * math.sqrt(p * (1 - p) / of + Z * Z / (4 * of * of))
    return (p + n / 2 - half) / (1 + n), (p + n / 2 + half) / (1 + n)


def entries(folder: Path = PUBLISHED / "treatments") -> list[dict[str, Any]]:
    """Return the published treatments as they are written."""
    return [entry for path in sorted(folder.glob("*.yaml")) for entry in _read(path)]


def _read(path: Path) -> Any:
    """Return what a file of YAML holds, read by the parser in C where there is one."""
    return yaml.load(path.read_text("utf-8"), getattr(yaml, "CSafeLoader", yaml.SafeLoader))  # noqa: S506 - safe in both


def leaves(data: object) -> int:
    """Return how many single facts a record states."""
    if isinstance(data, dict):
        return sum(leaves(value) for key, value in data.items() if key not in ("id", "means"))
    if isinstance(data, list):
        return sum(leaves(value) for value in data)
    return data not in ("unknown", "", None)


class Judge:
    """Weighs and plans cases, and holds the answers beside what their sources did."""

    def __init__(self, adviser: Adviser) -> None:
        self.adviser = adviser
        self.knowledge = adviser.knowledge
        self.book = OrderBook(adviser.knowledge)

    def entry(self, written: dict[str, Any]) -> Entry:
        """Return what the advice makes of one published treatment."""
        case = case_from_data(written["case"], self.knowledge)
        answer = self.adviser.weigh(case)
        expect = written["expect"]
        found = Entry(written["id"], written["kind"], written["judge"] in (True, "yes"))
        found.facts = leaves(written["case"])
        found.not_said = list(expect.get("cannot_say") or [])
        left = self._left_alone(expect, answer)
        found.problems = {p.id: self._shown(p, p.id in left) for p in answer.damages}
        if found.judged:
            found.verdicts = [
                *self._chosen(written, answer),
                *self._refused(written, answer),
                *self._tests(written, case, answer),
                *self._order(written, case, answer),
            ]
        return found

    def _shown(self, problem: DamageAnswer, left_alone: bool) -> dict[str, Any]:
        first = next(iter(_shown_first(problem)), None)
        return {
            "listed": len(problem.options),
            "shown": len(problem.places),
            "named": sum(len(place.options) for place in problem.places),
            "named_first": sum(len(place.options) for place in problem.places[:FIRST]),
            "first_meets_aim": bool(first and first.meets_aim and first.verdict != "defeated"),
            "first_accepted": bool(first and first.meets_aim and first.verdict == "accepted"),
            "left_alone_by_the_source": left_alone,
        }

    def _is(self, technique: str, named: Iterable[str]) -> bool:
        """Return whether a technique is one of those named, or narrower than one."""
        return not set(self.knowledge.broader(technique)).isdisjoint(named)

    def _problems(self, answer: Answer, named: object) -> list[DamageAnswer]:
        """Return the problems that an expectation speaks of: by id, by need, or all."""
        if named in (None, "any"):
            return list(answer.damages)
        names = [named] if isinstance(named, str) else list(named)  # type: ignore[call-overload]
        return [p for p in answer.damages if p.id in names or p.damage in names]

    def _left_alone(self, expect: dict[str, Any], answer: Answer) -> set[str]:
        leave = [
            c["problem"]
            for c in expect.get("chosen") or []
            if c["any_of"]
            and all(self._is(t, ["technique:leave-and-monitor"]) for t in c["any_of"])
        ]
        return {p.id for named in leave for p in self._problems(answer, named)}

    def _chosen(self, written: dict[str, Any], answer: Answer) -> Iterator[Verdict]:
        """Yield two verdicts for each problem that the source answered: by place and singly."""
        lines: dict[str, list[dict[str, Any]]] = defaultdict(list)
        for line in written["expect"].get("chosen") or []:
            lines[f"{line['problem']}{line.get('not_entered')}"].append(line)
        for same in lines.values():
            named = same[0]["problem"]
            wanted = [t for line in same for t in line["any_of"]]
            words = f"{named}: " + "; ".join(line["words"] for line in same)
            problems = self._problems(answer, named)
            why = self._instead(problems, wanted)
            known = bool(wanted) and "not_entered" not in same[0]
            nothing = named == "any" and set(wanted) == {LEAVE} and not answer.damages
            for measure, first in (("chosen", _first_places), ("singly", _shown_first)):
                right = nothing or any(
                    self._is(o.technique, wanted) and o.verdict != "defeated"
                    for p in problems
                    for o in first(p)
                )
                yield Verdict(written["id"], measure, "", right and known, words, why, known)

    def _instead(self, problems: Sequence[DamageAnswer], wanted: list[str]) -> str:
        """Return in short what stood first, and where the chosen technique stood."""
        if not problems:
            return "no such problem in the answer"
        said = []
        for p in problems:
            mine = [o for o in p.options if self._is(o.technique, wanted)]
            best = min(mine, key=lambda o: o.rank, default=None)
            first = "; ".join(_place_in_short(p, place) for place in p.places[:FIRST])
            where = f"{_short(best)} at {_place(p, best)}" if best else "chosen one not listed"
            said.append(f"{where}; first: {first}" + (f" | {_first_reason(best)}" if best else ""))
        return " / ".join(said)

    def _refused(self, written: dict[str, Any], answer: Answer) -> Iterator[Verdict]:
        for line in written["expect"].get("refused") or []:
            problems = self._problems(answer, line.get("problem"))
            bad = [
                f"{p.id}/{_short(o)}"
                for p in problems
                for o in p.options
                if self._is(o.technique, line["any_of"]) and self._offered(o)
            ]
            words = f"{line.get('problem', 'any')}: {line['words']} ({line['why']})"
            known = bool(line["any_of"]) and "not_entered" not in line
            right = not (bad and known)
            yield Verdict(
                written["id"], "refused", line["kind"], right, words, ", ".join(bad), known
            )

    def _offered(self, option: OptionAnswer) -> bool:
        return option.verdict == "accepted" and (not option.is_baseline or option.meets_aim)

    def _tests(self, written: dict[str, Any], case: Case, answer: Answer) -> Iterator[Verdict]:
        for line in written["expect"].get("tests") or []:
            mine = [t for t in case.tests if t.test in line["any_of"]]
            asked_by = answer
            if mine:  # would it be asked for, had it not been made?
                rest = [t for t in case.tests if t not in mine]
                asked_by = self.adviser.weigh(case.model_copy(update={"tests": rest}))
            right = self._asked(asked_by, line)
            words = f"{line.get('part', '')}: {line['words']}"
            known = bool(line["any_of"])
            yield Verdict(written["id"], "tests", "", right, words, _tests_of(asked_by), known)

    def _asked(self, answer: Answer, line: dict[str, Any]) -> bool:
        """Return whether a test is among those to do first, or settles an option that it gates."""
        first = any(t.test in line["any_of"] for t in answer.tests_first)
        mends = (
            mend.what in line["any_of"]
            for option in answer.options()
            if self._is(option.technique, line.get("gates") or [])
            for finding in option.findings
            for mend in finding.mends
        )
        return first or any(mends)

    def _order(self, written: dict[str, Any], case: Case, answer: Answer) -> Iterator[Verdict]:
        lines = written["expect"].get("order") or []
        steps = [s.technique for s in self._plan(case, answer)] if lines else []
        for line in lines:
            before, after = line["before"], line["after"]
            said, right = self._in_plan(steps, before, after)
            if not said:
                said, right = self._in_knowledge(before, after)
            known = bool(before and after)
            why = said or "nothing says so"
            yield Verdict(written["id"], "order", "", right, line["words"], why, known)

    def _plan(self, case: Case, answer: Answer) -> list[Any]:
        return make_plan(case, self.adviser, undecided=True, answer=answer).steps

    def _in_plan(self, steps: list[str], before: list[str], after: list[str]) -> tuple[str, bool]:
        first = [i for i, t in enumerate(steps) if self._is(t, before)]
        then = [i for i, t in enumerate(steps) if self._is(t, after) and i not in first]
        if not first or not then:
            return "", False
        return "the plan", max(first) < max(then)

    def _in_knowledge(self, before: list[str], after: list[str]) -> tuple[str, bool]:
        pairs = [(b, a) for b in before for a in after if a != b]
        if any(self.book.must_precede(b, a) for b, a in pairs):
            return "the knowledge", True
        if any(self.book.must_precede(a, b) for b, a in pairs):
            return "the knowledge, the other way", False
        return "", False


def _first_places(problem: DamageAnswer) -> list[OptionAnswer]:
    """Return the options of the first places that a reader sees."""
    options = {o.id: o for o in problem.options}
    return [options[one] for place in problem.places[:FIRST] for one in place.options]


def _place_in_short(problem: DamageAnswer, place: Place) -> str:
    options = {o.id: o for o in problem.options}
    return " or ".join(_short(options[one]) for one in place.options)


def _shown_first(problem: DamageAnswer) -> list[OptionAnswer]:
    """Return the first options one by one, whatever way they go."""
    options = {o.id: o for o in problem.options}
    return [options[one] for one in problem.shown[:FIRST]]


def _place(problem: DamageAnswer, option: OptionAnswer) -> str:
    for number, place in enumerate(problem.places, 1):
        if option.id in place.options:
            return f"{number} of {len(problem.places)}"
    return f"{option.rank}, folded away"


def _short(option: OptionAnswer) -> str:
    met = "" if option.meets_aim else ", not met"
    return f"{option.technique.partition(':')[2]} ({option.verdict}{met})"


def _first_reason(option: OptionAnswer) -> str:
    """Return the rules that stand against an option."""
    against = [
        f.rule.partition(":")[2]
        for f in option.findings
        if f.effect in ("defeats", "leavesUndecided")
    ]
    return ", ".join(dict.fromkeys(against))


def _tests_of(answer: Answer) -> str:
    tests = (t.test.partition(":")[2] + " on " + t.part for t in answer.tests_first)
    return "asked: " + (", ".join(tests) or "none")


def terms(folder: Path = PUBLISHED) -> dict[str, tuple[int, int, list[str]]]:
    """Return by kind: words with a counterpart, all words, and the words without one."""
    found: dict[str, list[tuple[bool, str]]] = defaultdict(list)
    for path in sorted(folder.glob("terms-*.yaml")):
        for word in _read(path):
            if "not_a_concept" not in word:
                wanted = f"{word['term']} ({word.get('wanted')})"
                found[word["kind"]].append((bool(word["meant"]), wanted))
    return {
        kind: (sum(ok for ok, _ in words), len(words), [w for ok, w in words if not ok])
        for kind, words in found.items()
    }


def counted(found: list[Entry]) -> dict[str, Any]:
    """Return the figures over some entries."""
    judged = [e for e in found if e.judged]
    verdicts = [v for e in judged for v in e.verdicts]
    figures: dict[str, Any] = {"entries": len(found), "judged": len(judged)}
    for measure in MEASURES:
        mine = [v for v in verdicts if v.measure == measure]
        known = [v for v in mine if v.counterpart]
        figures[measure] = {
            "right": sum(v.right for v in known),
            "of": len(known),
            "without_counterpart": len(mine) - len(known),
        }
    accepted = [v for v in verdicts if v.measure == "refused" and not v.right]
    figures["refused_accepted"] = {
        kind: sum(v.kind == kind for v in accepted) for kind in ("unsafe", "unsuitable", "policy")
    }
    problems = [p for e in judged for p in e.problems.values()]
    figures["problems"] = len(problems)
    figures["first_misses_aim"] = sum(not p["first_meets_aim"] for p in problems)
    figures["first_misses_aim_not_left_alone"] = sum(
        not p["first_meets_aim"] and not p["left_alone_by_the_source"] for p in problems
    )
    figures["first_accepted"] = sum(p["first_accepted"] for p in problems)
    for name in ("listed", "shown", "named", "named_first"):
        counts = [p[name] for p in problems] or [0]
        figures[name] = {"mean": statistics.mean(counts), "median": statistics.median(counts)}
    figures["not_said"] = sum(len(e.not_said) for e in found)
    figures["facts"] = sum(e.facts for e in found) + figures["not_said"]
    return figures


def measure(written: Iterable[dict[str, Any]], adviser: Adviser | None = None) -> list[Entry]:
    """Return what the advice makes of published treatments."""
    judge = Judge(adviser or load_adviser())
    return [judge.entry(one) for one in written]
