"""Which limit of a plan binds: what more of the aim would be met without it, by choosing again."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from leastwise.graph.planning.choices import HOUR_UNIT, Choices
from leastwise.graph.planning.choose import AIMS, Choice, Chooser, Limits, Selected
from leastwise.graph.planning.values import Binding
from leastwise.graph.sentences import hours_at_most

__all__ = ["SKILL", "SKILL_WORD", "Loosened"]

SKILL = {"assistant": 1, "conservator": 2, "specialist": 3}
SKILL_WORD = {grade: word for word, grade in SKILL.items()}


@dataclass(frozen=True)
class Loosened:
    """A choice and its limits, chosen again with one limit after another taken away."""

    choices: Choices
    chooser: Chooser
    limits: Limits
    selected: Selected | None
    undecided: bool

    def bindings(self) -> Iterator[Binding]:
        """Yield each limit without which more of the aim would be met, by choosing again."""
        now, lim = self.selected, self.limits
        if now is not None and now.shortfall == 0:
            return
        relaxed = {
            "hours": replace(lim, hours=None),
            "skill": replace(lim, skill=None),
            "equipment": replace(lim, equipment=False),
        }
        found = [b for name, free in relaxed.items() if (b := self._binding(name, free))]
        if not found:
            together = self._binding("means together", Limits(None, None, equipment=False))
            found = [together] if together else []
        yield from found
        if not self.undecided:
            unsettled = self._binding(
                "open questions", lim, chooser=self.choices.chooser(undecided=True)
            )
            if unsettled:
                yield unsettled

    def _binding(self, name: str, free: Limits, chooser: Chooser | None = None) -> Binding | None:
        now = self.selected
        chooser = chooser or self.chooser
        quick = chooser.best(free, AIMS[:1])
        if quick is None or (now is not None and quick.shortfall >= now.shortfall):
            return None
        better = self.choices.best(chooser, free)
        if better is None or (now is not None and better.shortfall >= now.shortfall):
            return None
        had = {c.id for c in now.chosen} if now else set()
        gained = [
            c
            for c in better.chosen
            if c.id not in had and not c.id.endswith("/" + "leave-and-monitor")
        ]
        return self._binding_words(name, better, gained)

    def _binding_words(self, name: str, better: Selected, gained: list[Choice]) -> Binding:
        means = self.choices.case.means
        lacks = sorted({key for c in better.chosen for key in c.lacks})
        hours = f"up to {hours_at_most(better.hours[1] / HOUR_UNIT)} h"
        skill = SKILL_WORD[max((c.skill for c in better.chosen), default=1)]
        at_hand, needed = {
            "hours": (f"{means.hours} h", hours),
            "skill": (means.skill, skill),
            "equipment": (_listed(means.equipment), ", ".join(lacks)),
            "means together": ("see means", f"{hours}, {skill}, {', '.join(lacks) or 'no more'}"),
            "open questions": ("accepted options only", "the tests and entries that settle them"),
        }[name]
        labels = [self.choices.options[c.id].label for c in gained]
        left = f"{better.shortfall} grades" if better.shortfall else "nothing"
        by = f": {', '.join(dict.fromkeys(labels))}" if labels else ""
        words = f"Without this limit {left} would still hinder the aim{by}."
        if name == "open questions":
            words = f"With undecided options {left} would still hinder the aim{by}."
        return Binding(name, at_hand, needed, better.shortfall, tuple(c.id for c in gained), words)


def _listed(equipment: list[str] | str) -> str:
    return equipment if isinstance(equipment, str) else (", ".join(equipment) or "none")
