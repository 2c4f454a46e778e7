"""Where reading would pay: claims by how doubtful they are and how much hangs on them.

The value of looking a claim up is the chance that it is wrong (``lw:doubt`` of how it is known,
seed_data/doubt.ttl) times what would change if it were: the rules that rest on it by their effect,
the grades that it leads, on its own material and on those that inherit it, the effects that it
states, and what is drawn from it. The weights of what hangs on it are our judgement.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from leastwise.graph.answer import Answer, Reason
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.meanings import RuleEffect
from leastwise.graph.reference.values import ClaimEntry, Reference
from leastwise.graph.sentences import counted

__all__ = ["Hanging", "Weak", "decisions_on", "weakest"]

#: What a thing that hangs on a claim counts.
_EFFECT_WEIGHT = {
    RuleEffect.DEFEATS: 3.0,
    RuleEffect.LEAVES_UNDECIDED: 2.0,
    RuleEffect.CAUTIONS: 1.0,
    RuleEffect.RECORDS: 0.5,
}
_LEADS, _STATES, _DRAWN = 1.0, 1.0, 0.5


@dataclass(frozen=True, slots=True)
class Hanging:
    """What hangs on a claim: rules, grades that it leads, effects that it states, what is drawn."""

    rules: tuple[str, ...]
    grades: int
    effects: int
    drawn: int
    weight: float

    @property
    def in_words(self) -> tuple[str, ...]:
        """Return how many of each hang on it.

        >>> Hanging(("rule:a", "rule:b"), 1, 0, 3, 0.0).in_words
        ('2 rules', '1 grade', '3 drawn from it')
        """
        words = (
            counted(len(self.rules), "rule") if self.rules else "",
            counted(self.grades, "grade") if self.grades else "",
            "an effect" if self.effects else "",
            f"{self.drawn} drawn from it" if self.drawn else "",
        )
        return tuple(filter(None, words))


@dataclass(frozen=True, slots=True)
class Weak:
    """A claim with its doubt (0 to 1), why it is doubtful, what hangs on it, and their product."""

    claim: str
    doubt: float
    because: tuple[str, ...]
    hanging: Hanging
    decisions: int  # options of the cases looked at whose answer cites it; 0 where none was

    @property
    def value(self) -> float:
        """Return the value of looking it up, on no scale: only the order counts."""
        return round(self.doubt * (self.hanging.weight + self.decisions), 3)


def weakest(
    book: Reference, k: Knowledge, decisions: Mapping[str, int] | None = None
) -> list[Weak]:
    """Return all claims on which something hangs, those first where reading pays most.

    *decisions* is, claim by claim, in how many options of cases the answer cites it.
    """
    told, contested = decisions or {}, {c for one in book.contests for c in one.claims}
    hanging = _hanging(book)
    found = [
        Weak(one, *_doubt(claim, k, contested=one in contested), hanging[one], told.get(one, 0))
        for one, claim in book.claims.items()
        if hanging[one].weight or told.get(one, 0)
    ]
    return sorted(found, key=lambda weak: (-weak.value, weak.claim))


def decisions_on(answers: Iterable[Answer]) -> Counter[str]:
    """Return claim -> how many options of the answers cite it in a finding or a reason."""
    found: Counter[str] = Counter()
    for answer in answers:
        for option in answer.options():
            of_findings = {one for view in option.findings for one in view.claims}
            found.update(of_findings | _cited(option.reasons))
    return found


def _cited(reason: Reason) -> set[str]:
    return {*reason.claims, *(one for inner in reason.reasons for one in _cited(inner))}


def _doubt(claim: ClaimEntry, k: Knowledge, *, contested: bool) -> tuple[float, tuple[str, ...]]:
    """Return how doubtful a claim is, and the words for why."""
    known = f"lw:{claim.read_as or claim.basis}"
    said = k.label(known)
    reasons = {known: f"read: {said}" if claim.read_as else said}
    if contested or claim.disagrees_with:
        reasons["lw:contested"] = "another claim says something else"
    if claim.needs_check:
        reasons["lw:check"] = "a figure waits for its check"
    doubts = [k.number(one, "lw:doubt") or 0.0 for one in reasons]
    return max(doubts), tuple(reasons.values())


def _hanging(book: Reference) -> dict[str, Hanging]:
    rules: dict[str, list[str]] = defaultdict(list)
    for one, entry in book.rules.items():
        for claim in entry.rule.rests_on:
            rules[claim].append(one)
    grades, drawn = _grades(book), _drawn(book)
    return {
        one: _weighed(book, rules[one], grades[one], int(claim.efficacy is not None), drawn[one])
        for one, claim in book.claims.items()
    }


def _weighed(
    book: Reference, rules: Sequence[str], grades: int, effects: int, drawn: int
) -> Hanging:
    weight = sum(_EFFECT_WEIGHT[book.rules[one].rule.effect] for one in rules)
    weight += _LEADS * grades + _STATES * effects + _DRAWN * drawn
    return Hanging(tuple(sorted(rules)), grades, effects, drawn, weight)


def _grades(book: Reference) -> dict[str, int]:
    """Return claim -> how many grades of materials it leads or shares."""
    found: dict[str, int] = defaultdict(int)
    for entry in book.entries.values():
        if entry.scheme == "material":
            for row in entry.grades:
                for claim in row.claims:
                    found[claim] += 1
    return found


def _drawn(book: Reference) -> dict[str, int]:
    """Return claim -> how many concepts and claims are drawn from it."""
    found: dict[str, int] = defaultdict(int)
    for claim in _named(book):
        found[claim] += 1
    return found


def _named(book: Reference) -> Iterator[str]:
    for claim in book.claims.values():
        yield from claim.rests_on
    for entry in book.entries.values():
        yield from entry.rests_on
