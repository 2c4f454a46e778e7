"""Why this and not that.

*Why A over B* gives the fewest reasons that put one option above another, in the order in which
the answer is put: defeated or not, aim, hindrance left, burden to expect, hours. Where burden
decides, the reasons are the smallest set of axes (open points counted as one) whose weighted
difference by itself outweighs all that speaks for the other (contrastive explanation: Miller
2019, Artificial Intelligence 267:1-38).
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from leastwise.graph.answer import Answer, OptionAnswer
from leastwise.graph.case.record import Case
from leastwise.graph.errors import LeastwiseError
from leastwise.graph.ids import OptionId
from leastwise.graph.meanings import RuleEffect, Verdict
from leastwise.graph.questions.acceptability import ahead
from leastwise.graph.sentences import hours_in_words, listed
from leastwise.graph.weighing.advise import Adviser
from leastwise.graph.weighing.ranking import WORST
from leastwise.graph.weighing.scores import gravest
from leastwise.graph.weighing.ways import ways_of

__all__ = [
    "Contrast",
    "DifferentDamages",
    "Ground",
    "fewest",
    "left_alone_in_words",
    "why",
]


class DifferentDamages(LeastwiseError):  # noqa: N818 - reads as what happened
    """Two options that answer different damages, or one option twice."""

    def __init__(self, one: str, other: str) -> None:
        super().__init__(
            f"options: got {one!r} over {other!r}; expected two options of one "
            "damage, since options are ranked within their damage."
        )


@dataclass(frozen=True, slots=True)
class Ground:
    """One reason: *what* decides (verdict, aim, hindrance, an axis, hours), and how much.

    *weighted* is the weighted difference of burden on that axis, 0 to 1; 0 for other reasons.
    """

    what: str
    text: str
    weighted: float
    claims: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Contrast:
    """Why one option stands above another, and what speaks the other way.

    *same_way* says what decides between them where both go much the same way, else it is empty.
    """

    above: str
    below: str
    as_asked: bool
    decided_by: str
    sentence: str
    reasons: tuple[Ground, ...]
    although: tuple[Ground, ...]
    ahead_share: float
    left_alone: str
    same_way: str = ""


def fewest(differences: Mapping[str, float]) -> list[str]:
    """Return the fewest names whose positive differences alone outweigh all negative ones.

    Of the sets of that size it is the one with the largest sum. Empty if nothing outweighs.

    >>> fewest({"a": 0.20, "b": -0.12, "c": 0.0})
    ['a']
    """
    against = -sum(d for d in differences.values() if d < 0)
    chosen: list[str] = []
    total = 0.0
    for name, d in sorted(differences.items(), key=lambda item: (-item[1], item[0])):
        if d <= 0:
            break
        chosen.append(name)
        total += d
        if total > against + 1e-9:
            return chosen
    return []


def why(
    adviser: Adviser, case: Case, one: str, other: str, *, answer: Answer | None = None
) -> Contrast:
    """Return why option *one* stands above *other*, or why it is the other way round.

    Both are ids of options of one damage; *answer* is the case's own, if it is at hand.

    Raises:
        DifferentDamages: the options answer different damages, or are the same.
        ValueError: a text is no id of an option.

    """
    if one == other or OptionId(one).problem != OptionId(other).problem:
        raise DifferentDamages(one, other)
    answer = answer or adviser.weigh(case)
    found = {o.id: o for o in answer.options() if o.id in (one, other)}
    above, below = sorted(found.values(), key=lambda o: o.rank)
    grounds = _Grounds(above, below, answer, adviser)
    decided_by, reasons, although = grounds.decide()
    return Contrast(
        above=above.id,
        below=below.id,
        as_asked=above.id == one,
        decided_by=decided_by,
        sentence=grounds.sentence(reasons, although),
        reasons=tuple(reasons),
        although=tuple(although),
        ahead_share=ahead(adviser, case, above.id, below.id),
        left_alone=left_alone_in_words(above, below),
        same_way=_same_way(above, below, adviser),
    )


def _same_way(one: OptionAnswer, other: OptionAnswer, adviser: Adviser) -> str:
    """Return what decides between options that go the same way, empty if they don't."""
    ways = ways_of(adviser.knowledge)
    mine, its = ways.get(one.technique, {}), ways.get(other.technique, {})
    return next((way.choice for name, way in mine.items() if name in its), "")


@dataclass(frozen=True)
class _Grounds:
    """Compares two options of one answer, in the order in which the answer is put."""

    above: OptionAnswer
    below: OptionAnswer
    answer: Answer
    adviser: Adviser

    def decide(self) -> tuple[str, list[Ground], list[Ground]]:
        """Return what decides, the reasons for it, and what speaks the other way."""
        a, b = self.above, self.below
        axes = self.by_axis()
        residual = (0 if a.meets_aim else a.residual) - (0 if b.meets_aim else b.residual)
        against = [g for g in axes if g.weighted < 0]
        if (a.verdict == Verdict.DEFEATED) != (b.verdict == Verdict.DEFEATED):
            return "verdict", [self._verdict()], [*self._less_help(), *self._lighter()]
        if a.meets_aim != b.meets_aim:
            return "aim", [self._aim()], [*self._more_open(), *self._lighter()]
        if residual:
            return "hindrance", [self._residual()], [*self._more_open(), *self._lighter()]
        if round(a.burden + a.waiting, 6) != round(b.burden + b.waiting, 6):
            chosen = fewest({g.what: g.weighted for g in axes})
            return "burden", [next(g for g in axes if g.what == n) for n in chosen], against
        return self._equals()

    def _equals(self) -> tuple[str, list[Ground], list[Ground]]:
        a, b = self.above, self.below
        if a.hours != b.hours:
            text = f"it takes {hours_in_words(*a.hours)} hours against {hours_in_words(*b.hours)}"
            return "hours", [Ground("hours", text, 0.0, ())], []
        if a.residual != b.residual:
            return "hindrance", [self._residual()], []
        text = "both are equal in verdict, aim, burden and hours; they stand in order of name"
        return "name", [Ground("name", text, 0.0, ())], []

    def _verdict(self) -> Ground:
        first = next(f for f in self.below.findings if f.effect == RuleEffect.DEFEATS)
        text = f"it is {self.above.verdict}, the other {self.below.verdict}: {first.message}"
        return Ground("verdict", text, 0.0, first.claims)

    def _aim(self) -> Ground:
        allowed, left = self.answer.policy.residual_allowed, self.below.residual
        text = (
            f"it meets the aim and the other {'hardly helps' if left <= allowed else 'does not'}: "
            f"of a hindrance of {self.above.hindrance} it leaves {self.above.residual}, the other "
            f"{left}; {allowed} is allowed"
        )
        return Ground("aim", text, 0.0, tuple(self._help_claims()))

    def _residual(self) -> Ground:
        text = f"it leaves a hindrance of {self.above.residual}, the other {self.below.residual}"
        return Ground("hindrance", text, 0.0, tuple(self._help_claims()))

    def _help_claims(self) -> list[str]:
        return list(
            dict.fromkeys(c for o in (self.above, self.below) for c in o.reasons.reasons[0].claims)
        )

    def _less_help(self) -> list[Ground]:
        if self.below.meets_aim and not self.above.meets_aim:
            return [Ground("aim", "only the other meets the aim", 0.0, tuple(self._help_claims()))]
        return []

    def _lighter(self) -> list[Ground]:
        a, b = self.above.burden, self.below.burden
        text = f"the other burdens the object less ({b:.2f} against {a:.2f} of 1)"
        return [Ground("burden", text, round(a - b, 6), ())] if b < a else []

    def by_axis(self) -> list[Ground]:
        """Return the weighted difference on every axis on which the two differ."""
        k, weights = self.adviser.knowledge, self.answer.policy.weights
        found = []
        for axis, grade in self.above.burdens.items():
            other = self.below.burdens[axis]
            if grade != other:
                weighted = round(weights[axis] * (other - grade) / WORST, 6)
                mine, its = self._act_behind(self.above, axis), self._act_behind(self.below, axis)
                text = (
                    f"{k.label(axis)} {grade}{mine} against {other}{its} "
                    f"(weight {weights[axis]:.2f})"
                )
                found.append(Ground(axis, text, weighted, tuple(k.objects(axis, "lw:restsOn"))))
        return [*found, *self._waiting()]

    def _act_behind(self, option: OptionAnswer, axis: str) -> str:
        """Return in words which act of a course brings its grade, if it isn't the technique."""
        names = (option.technique, *(act.technique for act in option.acts))
        giver = gravest([self.adviser.catalogue.techniques[name] for name in names], axis)
        return "" if giver.id == option.technique else f" from {giver.label}"

    def _waiting(self) -> list[Ground]:
        """Return what open points add to the burden to expect, where the two differ in it."""
        a, b = self.above.waiting, self.below.waiting
        if a == b:
            return []
        less = "fewer" if a < b else "more"
        text = f"{less} points are open: {a:.2f} against {b:.2f} of burden to expect from them"
        return [Ground("open points", text, round(b - a, 6), ())]

    def _more_open(self) -> list[Ground]:
        return [g for g in self._waiting() if g.weighted < 0]

    def sentence(self, reasons: Sequence[Ground], although: Sequence[Ground]) -> str:
        """Return the contrast as one sentence."""
        grounds = listed([g.text.rstrip(".") for g in reasons])
        other = f", although {listed([g.text for g in although])}" if although else ""
        return f"{self.above.label} stands above {self.below.label}, because {grounds}{other}."


def left_alone_in_words(*options: OptionAnswer) -> str:
    """Return what leaving alone means and risks, if one of the options is that."""
    return next((o.reasons.reasons[0].text for o in options if o.is_baseline), "")
