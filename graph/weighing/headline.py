"""The answer in short: can the object serve its purpose, what to do, settle first, and not do."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import chain
from typing import Protocol

from leastwise.graph.answer import (
    DamageAnswer,
    DoNow,
    FindingView,
    Headline,
    MendView,
    OptionAnswer,
    Refrain,
    SettleFirst,
)
from leastwise.graph.ids import OptionId
from leastwise.graph.knowledge.concepts import Test
from leastwise.graph.meanings import RuleEffect, Verdict
from leastwise.graph.sentences import listed, sentence_case
from leastwise.graph.weighing.candidates import GO_WITHOUT
from leastwise.graph.weighing.settling import each_needed, first_of_all

__all__ = [
    "first_of",
    "headline",
    "is_met_by",
    "needed",
    "needed_tests",
    "needed_together",
    "serving",
    "worth_weighing",
]

#: At most so many options of a problem are shown under each heading: what a person can weigh.
MOST_MEETING, MOST_HELPING, MOST_HELPING_ALONE = 4, 2, 4
#: Beaten options are shown too where there is less than this to choose from.
ENOUGH = 3
#: From this efficacy on a defeated option suggests itself, so that it is told not to be done.
TEMPTING = 3
MOST_REFRAINED = 8
LEFT_ALONE = "leave it alone and watch it"
#: From this hindrance on a problem that nothing answers keeps the object from its purpose; below
#: it the object serves with what stays (our judgement).
GRAVE = 3
#: How a damage stands that goes on, and a burden so small that nobody waits for more (our
#: judgement).
ACTIVE, HARDLY = "active", 0.06
#: A burden less by this much is a step that a person would notice (our judgement).
CLEARLY_LESS = 0.1


class Stands(Protocol):
    """How an option stands, in an answer or without words."""

    @property
    def verdict(self) -> Verdict:
        """Accepted, undecided or defeated."""

    @property
    def meets_aim(self) -> bool:
        """Whether it meets the aim once it is done."""

    @property
    def hindrance(self) -> int:
        """How far its problem hinders the aim if nothing is done."""

    @property
    def residual(self) -> int:
        """How far it still does once the option is done."""


def serving(problems: Iterable[Sequence[Stands]]) -> str:
    """Return whether the object can serve its purpose: yes, not-yet or no.

    *problems* holds the options of each problem.
    """
    left = [options for options in problems if not is_met_by(options, Verdict.ACCEPTED)]
    unanswered = [options for options in left if not is_met_by(options, Verdict.UNDECIDED)]
    if any(_hinders(options) >= GRAVE for options in unanswered):
        return "no"
    return "not-yet" if len(unanswered) < len(left) else "yes"


def is_met_by(options: Iterable[Stands], verdict: Verdict) -> bool:
    """Return whether an option with this verdict meets the aim."""
    return any(o.verdict == verdict and o.meets_aim for o in options)


def worth_weighing(options: Sequence[OptionAnswer]) -> list[OptionId]:
    """Return the ids of the options to show: few, none beaten by another, leaving alone always.

    What meets the aim comes first, then what helps in part; what does nothing for the aim is left
    out, as is what an option that waits for no more dominates, where there is enough to choose.
    """
    kept = first_of(options, options)
    return [o.id for o in options if o.id in kept or o.is_baseline]


def first_of(some: Sequence[OptionAnswer], options: Sequence[OptionAnswer]) -> set[str]:
    """Return the ids of the few of *some* to show, none beaten by another of all *options*."""
    meeting = _worth(some, options, "meets-aim", MOST_MEETING)
    most = MOST_HELPING if meeting else MOST_HELPING_ALONE
    helping = _worth(some, options, "helps", most)
    return {o.id for o in (*meeting, *helping)}


def _worth(
    some: Sequence[OptionAnswer], options: Sequence[OptionAnswer], heading: str, most: int
) -> list[OptionAnswer]:
    """Return at most so many of a heading: unbeaten ones, then others up to ENOUGH."""
    by_id = {o.id: o for o in options}
    mine = [o for o in some if o.heading == heading]
    unbeaten = [
        o
        for o in mine
        if not any(by_id[d].waiting <= o.waiting for d in o.dominated_by if d in by_id)
    ]
    beaten = [o for o in mine if o not in unbeaten]
    return [*unbeaten, *beaten[: max(0, ENOUGH - len(unbeaten))]][:most]


def headline(damages: Sequence[DamageAnswer], aim: str, tests: Mapping[str, Test]) -> Headline:
    """Return the answer in short; *aim* is the purpose in words, *tests* the tests by CURIE."""
    return _Headline(damages, aim, tests).made()


@dataclass(frozen=True)
class _Headline:
    damages: Sequence[DamageAnswer]
    aim: str
    tests: Mapping[str, Test]
    _settling: dict[tuple[str, str], SettleFirst] = field(
        default_factory=dict, repr=False, compare=False
    )

    def made(self) -> Headline:
        do_now = [line for d in self.damages if (line := _do_now(d)) is not None]
        left = [d for d in self.damages if not is_met_by(d.options, Verdict.ACCEPTED)]
        waits = [d for d in left if _first_waiting(d) is not None]
        unanswered = [d for d in left if _first_waiting(d) is None]
        grave = [d for d in unanswered if _hinders(d.options) >= GRAVE]
        serves = serving([d.options for d in self.damages])
        settle = self._settle_first()
        return Headline(
            serves=serves,
            in_words=self._in_words(serves, do_now, waits, grave, settle)
            + _stays([d for d in unanswered if d not in grave]),
            do_now=tuple(do_now),
            settle_first=tuple(settle),
            refrain=tuple(_refrained(self.damages)),
            waits=tuple(d.id for d in waits),
            unanswered=tuple(d.id for d in unanswered),
        )

    def _in_words(
        self,
        serves: str,
        do_now: Sequence[DoNow],
        waits: Sequence[DamageAnswer],
        unanswered: Sequence[DamageAnswer],
        settle: Sequence[SettleFirst],
    ) -> str:
        if serves == "yes":
            works = [line for line in do_now if line.in_words not in (LEFT_ALONE, GO_WITHOUT)]
            then = "once this is done" if works else "as it is"
            return f"Yes: it can serve for {self.aim} {then}."
        waiting = f"{listed([_named(d) for d in waits])} {_verb(waits, 'wait')} for what is open"
        if serves == "not-yet":
            first = f", first of all {settle[0].label}" if settle else ""
            return f"Not yet for {self.aim}: {waiting}{first}."
        text = f"nothing known here meets the aim for {listed([_named(d) for d in unanswered])}"
        return f"No, not for {self.aim} as it stands: {text}" + (f"; {waiting}." if waits else ".")

    def _settle_first(self) -> list[SettleFirst]:
        """Return what opens an option that stands before all that may be done now."""
        for option in filter(None, map(_ahead, self.damages)):
            for mend in needed(option):
                self._add(mend, option.id)
        return sorted(
            self._settling.values(),
            key=lambda s: (-len(s.opens), s.material_lost, s.minutes, s.label),
        )

    def _add(self, mend: MendView, option: OptionId) -> None:
        key = (mend.kind, mend.what)
        known, test = self._settling.get(key), self.tests.get(mend.what)
        if known is None:
            label, lost = (test.label, test.material_lost) if test else (mend.label, 0)
            known = SettleFirst(mend.kind, mend.what, label, (), 0, lost, ())
        new = (mend.part,) if mend.part and mend.part not in known.parts else ()
        parts, opens = (*known.parts, *new), (option,) if option not in known.opens else ()
        minutes = test.minutes * max(1, len(parts)) if test is not None else 0
        self._settling[key] = replace(
            known, parts=parts, minutes=minutes, opens=(*known.opens, *opens)
        )


def _hinders(options: Sequence[Stands]) -> int:
    """Return how far a problem still hinders the aim once what may be done for it is done."""
    eased = [o.residual for o in options if o.verdict == Verdict.ACCEPTED]
    return min(eased) if eased else max((o.hindrance for o in options), default=GRAVE)


def _stays(left: Sequence[DamageAnswer]) -> str:
    """Return what the object serves with, eased or not, as sentences; "" if nothing stays."""
    eased = [d for d in left if _partly(d) is not None]
    rest = [d for d in left if d not in eased]
    return _eased(eased) + _stay(rest)


def _eased(left: Sequence[DamageAnswer]) -> str:
    named = listed([_named(d) for d in left])
    return f" {sentence_case(named)} can only be eased." if left else ""


def _stay(left: Sequence[DamageAnswer]) -> str:
    if not left:
        return ""
    them = "them" if len(left) > 1 else "it"
    stay = f"{sentence_case(listed([_named(d) for d in left]))} {_verb(left, 'stay')}"
    return f" {stay}: nothing known here meets the aim for {them}."


def _named(damage: DamageAnswer) -> str:
    said = damage.derived or damage.id.casefold() == damage.label.casefold()
    return damage.label if said else f"{damage.label} ({damage.id})"


def _verb(many: Sequence[object], verb: str) -> str:
    return verb if len(many) > 1 else f"{verb}s"


def _do_now(damage: DamageAnswer) -> DoNow | None:
    """Return the first accepted option that meets the aim, else what helps where nothing does."""
    for o in damage.options:
        if o.verdict == Verdict.ACCEPTED and o.meets_aim:
            # a need is gone without, by its label
            is_left = o.is_baseline and damage.kind != "need"
            words = LEFT_ALONE if is_left else _words(o) + _asks_less(damage, o)
            return DoNow(damage.id, o.id, words, tuple(o.hours))
    return _partly(damage) or _meanwhile(damage)


def _asks_less(damage: DamageAnswer, done: OptionAnswer) -> str:
    """Return the option that waits ahead of what is done, and is a clear step gentler; or ""."""
    first = _ahead(damage)
    if first is None or first.is_baseline or first.burden > done.burden - CLEARLY_LESS:
        return ""
    return f"; {first.label} asks less, if what it waits for comes out well"


def _partly(damage: DamageAnswer) -> DoNow | None:
    """Return the first accepted option that helps in part, where nothing else can be had."""
    if _first_waiting(damage) is not None:
        return None
    for o in _helping(damage):
        return DoNow(damage.id, o.id, f"{_words(o)} (helps in part)", tuple(o.hours))
    return None


def _meanwhile(damage: DamageAnswer) -> DoNow | None:
    """Return what helps a damage that goes on and costs the object hardly anything.

    It is told where what would end the damage still waits: insects are bagged at once.
    """
    for o in _helping(damage):
        if damage.activity == ACTIVE and o.burden <= HARDLY:
            return DoNow(damage.id, o.id, f"{_words(o)} (until more can be done)", tuple(o.hours))
    return None


def _helping(damage: DamageAnswer) -> Iterator[OptionAnswer]:
    """Yield the accepted options that help in part, in their order."""
    for o in damage.options:
        if o.verdict == Verdict.ACCEPTED and o.heading == "helps":
            yield o


def _words(o: OptionAnswer) -> str:
    """Return an option in words, with the acts that make it possible before it."""
    return "".join(f"{act.in_words}, then " for act in o.acts) + o.label


def _first_waiting(damage: DamageAnswer) -> OptionAnswer | None:
    return next((o for o in damage.options if o.verdict == Verdict.UNDECIDED and o.meets_aim), None)


def _ahead(damage: DamageAnswer) -> OptionAnswer | None:
    """Return the open option that stands before the first that may be done now, if one does."""
    first = next((o for o in damage.options if o.meets_aim and o.verdict != Verdict.DEFEATED), None)
    return first if first is not None and first.verdict == Verdict.UNDECIDED else None


def needed_together(option: OptionAnswer) -> Iterator[list[MendView]]:
    """Yield for each condition of each open finding what is needed: a test before all else.

    A test is needed on every part that the condition is open on, anything else once.
    """
    for finding in option.findings:
        if finding.effect == RuleEffect.LEAVES_UNDECIDED:
            yield from map(first_of_all, each_needed(finding.mends))


def needed(option: OptionAnswer) -> Iterator[MendView]:
    """Yield all that is needed to settle the open findings of an option."""
    return chain.from_iterable(needed_together(option))


def needed_tests(option: OptionAnswer) -> set[tuple[str, str]]:
    """Return (test, part) of the tests that are needed, on every part that asks for one."""
    return {(mend.what, mend.part) for mend in needed(option) if mend.kind.is_test}


def _refrained(damages: Iterable[DamageAnswer]) -> Iterator[Refrain]:
    """Yield the defeated options that suggest themselves, each technique once."""
    found: dict[str, Refrain] = {}
    for damage in damages:
        tempting = [o for o in damage.options if o.heading == "out" and o.efficacy >= TEMPTING]
        for o in tempting:
            ground = next((f for f in o.findings if f.effect == RuleEffect.DEFEATS), None)
            if ground is not None:
                _note(found, o, ground, damage.id)
    yield from list(found.values())[:MOST_REFRAINED]


def _note(found: dict[str, Refrain], o: OptionAnswer, ground: FindingView, problem: str) -> None:
    known = found.setdefault(o.technique, Refrain(o.technique, o.label, ground.message, ()))
    if problem not in known.problems:
        found[o.technique] = replace(known, problems=(*known.problems, problem))
