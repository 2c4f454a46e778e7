"""The proposal on two pages; all else is its annex.

The first page says whether the aim is met, what is done in which order, and what isn't done; the
second what is settled first, what the object is kept from while it serves, and what it takes.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from leastwise.graph.answer import OptionAnswer, TestAdvice
from leastwise.graph.meanings import RuleEffect, Verdict
from leastwise.graph.planning.costs import cost_of
from leastwise.graph.planning.values import Step
from leastwise.graph.proposal.report.choice import Work, sentence
from leastwise.graph.proposal.report.values import Block, Bullets, Heading, Line, Para
from leastwise.graph.proposal.report.words import lost_in_words
from leastwise.graph.sentences import hours_in_words, listed, still_hindering

__all__ = ["Brief"]

#: So many lines of a kind fit the two pages; what is left over stands in the annex.
MOST_STEPS, MOST_LEFT, MOST_DONT, MOST_TESTS, MOST_LIMITS, MOST_PEOPLE = 14, 8, 3, 7, 4, 3
LONGEST = 230  # characters of a line that somebody else wrote


@dataclass(frozen=True)
class Brief:
    """Writes the two pages."""

    work: Work

    def _refrained(self) -> Iterator[Line]:
        for one in self.work.answer.headline.refrain:
            yield Line(f"Not to be done: {one.label}. {_short(sentence(one.why))}")

    def first_page(self) -> Iterator[Block]:
        """Yield whether the aim is met, who is kept safe, what is done in order and what isn't."""
        yield Para(self._serves())
        people = [Line(_short(f.message), tuple(f.claims)) for f in self.work.people]
        yield from _list("People first", people, MOST_PEOPLE, "People first")
        yield from _list(
            "What is done, in this order",
            [self._step(s) for s in self.work.steps],
            MOST_STEPS,
            "Method and materials",
            ordered=True,
        )
        left = list(self._left())
        dont = list(self._refrained())
        yield from _list(
            "What isn't done",
            [*left[:MOST_LEFT], *dont[:MOST_DONT], *left[MOST_LEFT:]],
            MOST_LEFT + MOST_DONT,
            "Options considered",
        )

    def second_page(self) -> Iterator[Block]:
        """Yield what is settled first, the limits while it serves, hours, cost and approval."""
        yield from _list(
            "Settled first", list(self._settle()), MOST_TESTS, "Tests done and to be done"
        )
        lit = self.work.choices.provisions.light_limits(self.work.case)
        others = [one for one in self.work.plan.use_limits if not one.is_light]
        limits = [Line(_short(one.in_words), tuple(one.claims)) for one in (*lit, *others)]
        yield from _list("While it serves", limits, MOST_LIMITS, "Limits of display and storage")
        yield Heading("What it takes")
        yield Bullets(tuple(self._takes()))
        yield Heading("Approval")
        yield Para(
            Line(
                "Approved in writing before the work begins, for this version only; the lines to "
                "sign stand under Approvals."
            )
        )

    def _serves(self) -> Line:
        """Return in a sentence or two whether the object can serve its purpose as proposed."""
        aim = self.work.case.aim
        purpose = f"{aim.purpose} ({aim.mounting.replace('-', ' ')})"
        unmet, waits = [], []
        for one in self.work.chosen:
            option = self.work.options[one.damage]
            if option is None or not option.meets_aim or option.verdict == Verdict.DEFEATED:
                unmet.append(one.damage_label)
            elif option.verdict == Verdict.UNDECIDED:
                waits.append(one.damage_label)
        unmet, waits = list(dict.fromkeys(unmet)), list(dict.fromkeys(waits))
        waiting = (
            f"{listed(waits)} {'wait' if len(waits) > 1 else 'waits'} for what is settled first"
        )
        if unmet:
            words = f"No, not wholly for {purpose}: {listed(unmet)} would not be answered enough"
            return Line(f"{words}; {waiting}." if waits else f"{words}.")
        if waits:
            return Line(f"Not yet for {purpose}: {waiting}.")
        done = "once what follows is done" if self.work.steps else "as it is"
        return Line(f"Yes: it can serve for {purpose} {done}.")

    def _step(self, step: Step) -> Line:
        damages = {d.id: d for d in self.work.answer.damages}
        mine = [damages[d] for d in step.damages if d in damages]
        parts = list(dict.fromkeys(p for d in mine for p in d.parts))
        whole = len(parts) == len(self.work.case.parts) or all(d.kind == "need" for d in mine)
        where = "the object" if whole else listed(self.work.names_of(parts))
        tried = "".join(f"try {one.label} first, and for what stays " for one in step.tried_first)
        first = tried + "".join(f"{act.in_words}, then " for act in step.acts)
        why = listed(list(dict.fromkeys(d.label for d in mine))) or "for the way"
        if any(self.work.another_way(d.id) == step for d in mine):
            why = f"instead of “{why}”"
        hours = hours_in_words(step.hours[0], step.hours[1])
        words = f"{sentence(first + step.label)[:-1]}: {why}, {where}; {hours} h."
        if step.waits_for:
            more = len(step.waits_for) - 1
            others = f" and {more} more" if more else ""
            words += f" Waits for {step.waits_for[0]}{others}."
        return Line(" ".join((words, *step.limits)))

    def _left(self) -> Iterator[Line]:
        aim = self.work.case.aim.purpose
        for one in self.work.chosen:
            option = self.work.options[one.damage]
            name = f"{sentence(one.damage_label)[:-1]} on {one.where}"
            instead = self.work.another_way(one.damage)
            if option is None:
                yield Line(f"{name}: nothing may be planned yet.")
            elif instead is not None:
                words = f"not as the aim says; step {instead.number} instead, if that is agreed"
                yield Line(f"{name}: {words}.")
            elif option.is_baseline:
                why = "enough" if option.meets_aim else "nothing that may be planned does better"
                left = still_hindering(aim, option.residual)
                yield Line(f"{name}: left alone ({why}); it would {left}.")
            elif not option.meets_aim:
                left = still_hindering(aim, option.residual)
                yield Line(f"{name}: answered in part; it would {left}.")

    def _settle(self) -> Iterator[Line]:
        """Yield each test once with its parts, then what else is settled before the work."""
        by_test: dict[str, list[TestAdvice]] = {}
        for advice in self.work.tests_open:
            by_test.setdefault(advice.label, []).append(advice)
        for label, same in by_test.items():
            where = listed(list(dict.fromkeys(t.part_name for t in same)))
            lost = lost_in_words(max(t.material_lost for t in same))
            minutes = max(t.minutes for t in same)
            yield Line(f"{sentence(label)[:-1]} on {_short(where)}: {minutes} min, takes {lost}.")
        tested = set(by_test)
        for option in self.work.proposed:
            yield from self._entries(option, tested)

    def _entries(self, option: OptionAnswer, tested: set[str]) -> Iterator[Line]:
        for finding in option.findings:
            open_point = finding.effect == RuleEffect.LEAVES_UNDECIDED
            tests = any(m.kind.is_test for m in finding.mends)
            if open_point and not tests and finding.message not in tested:
                tested.add(finding.message)
                yield Line(_short(sentence(finding.message)), tuple(finding.claims))

    def _takes(self) -> Iterator[Line]:
        low, high = self.work.hours
        sized = [s for s in self.work.steps if s.hours_basis]
        known = [s for s in sized if "not recorded" not in s.hours_basis]
        basis = f"; {len(known)} of {len(sized)} steps by recorded size" if sized else ""
        yield Line(f"About {hours_in_words(low, high)} h, recording and watching included{basis}.")
        beside = self.work.plan.hours_of_projects
        if beside is not None and self.work.hours == self.work.plan.hours:
            yield Line(f"{beside.in_words}.")
        used = [m for step in self.work.steps for m in step.materials]
        k, policy = self.work.adviser.knowledge, self.work.plan.policy.id
        cost = cost_of(k, policy, self.work.hours, used)
        if cost is not None:
            yield Line(cost.in_words)
        elif self.work.words.text("cost"):
            yield Line("What it costs stands under Estimate of cost, in own words.")
        else:
            yield Line("Not reckoned in money: the house has given no price of an hour.")


def _short(text: str) -> str:
    """Return a text that is not longer than a few lines; the rest stands in the annex."""
    if len(text) <= LONGEST:
        return text
    return text[:LONGEST].rsplit(" ", 1)[0].rstrip(",;:") + " \N{HORIZONTAL ELLIPSIS}"


def _list(
    title: str, lines: Sequence[Line], most: int, annex: str, *, ordered: bool = False
) -> Iterator[Block]:
    """Yield a heading and so many lines, and where the others stand."""
    if not lines:
        return
    if title:
        yield Heading(title)
    shown = list(lines[:most])
    if len(lines) > most:
        shown.append(Line(f"{len(lines) - most} more stand in the annex, under {annex}."))
    yield Bullets(tuple(shown), ordered)
