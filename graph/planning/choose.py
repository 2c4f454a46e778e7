"""One option for each damage, chosen together: the least burden that can be done with the means.

The choice is a mixed-integer program. What counts is counted in whole numbers (burden in ten
thousandths, hours in hundredths), so that an optimum is exact and the same every time. Aims come
one after another: least shortfall of the aim, fewest undecided options, least burden, fewest
hours; each is solved for in turn with the former held. Choices that another one of the same damage
beats whatever else is chosen are left out first, the worse rank where two are equal.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array, vstack

from leastwise.graph.ids import OptionId

__all__ = ["AIMS", "Choice", "Chooser", "Limits", "Selected", "total"]

Vector = NDArray[np.float64]
AIMS = ("shortfall", "undecided", "burden", "hours")
FRONTIER_POINTS = 8
OPTIMAL, INFEASIBLE = 0, 2  # as the solver reports them


@dataclass(frozen=True, slots=True)
class Choice:
    """An option as the chooser sees it.

    Hours and set-up are (least, most) in hundredths of an hour. Choices of one *family* spend the
    set-up once, the largest of theirs. *whole* marks work on the whole object: done once, however
    many damages it answers, its burden counts once.
    """

    id: OptionId
    damage: str
    technique: str
    shortfall: int
    benefit: int
    burden: int
    hours: tuple[int, int]
    set_up: tuple[int, int]
    family: str
    whole: bool
    undecided: bool
    rank: int
    skill: int = 1
    lacks: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Limits:
    """What is at hand; None means that no limit is set. Hours in hundredths."""

    hours: int | None = None
    skill: int | None = None
    equipment: bool = True  # may nothing be chosen that lacks equipment?


@dataclass(frozen=True, slots=True)
class Selected:
    """What was chosen and what it adds up to, in the units of Choice."""

    chosen: tuple[Choice, ...]
    shortfall: int
    undecided: int
    burden: int
    benefit: int
    hours: tuple[int, int]
    saved: tuple[int, int]


def total(chosen: Iterable[Choice]) -> Selected:
    """Return what choices add up to: shared set-ups and work on the whole object counted once."""
    chosen = tuple(chosen)
    families: dict[str, list[Choice]] = {}
    wholes: dict[str, int] = {}
    for c in chosen:
        families.setdefault(c.family, []).append(c)
        if c.whole:
            wholes[c.technique] = max(wholes.get(c.technique, 0), c.burden)
    saved = tuple(
        sum(
            sum(c.set_up[end] for c in same) - max(c.set_up[end] for c in same)
            for same in families.values()
        )
        for end in (0, 1)
    )
    return Selected(
        chosen,
        sum(c.shortfall for c in chosen),
        sum(c.undecided for c in chosen),
        sum(c.burden for c in chosen if not c.whole) + sum(wholes.values()),
        sum(c.benefit for c in chosen),
        (
            sum(c.hours[0] for c in chosen) - saved[0],
            sum(c.hours[1] for c in chosen) - saved[1],
        ),
        (saved[0], saved[1]),
    )


@dataclass(frozen=True)
class Chooser:
    """Chooses among *choices*; of the choices named in one set of *excluding*, one stays out.

    The longer end of the hours counts: a plan has to fit even if the work goes slowly.
    """

    choices: tuple[Choice, ...]
    excluding: tuple[tuple[str, ...], ...] = ()

    def best(self, limits: Limits, aims: Sequence[str] = AIMS) -> Selected | None:
        """Return the best choice within *limits*, or None if no choice keeps them."""
        program = _Program.of(self, limits, aims)
        return None if program is None else program.solve(aims)

    def frontier(self, limits: Limits) -> list[Selected]:
        """Return how much help more hours buy, whatever the hours at hand.

        Each point has the fewest hours for the help it gives; no point is beaten by another in
        hours and help. At most eight points, spread evenly over the help.
        """
        free = Limits(None, limits.skill, limits.equipment)
        program = _Program.of(self, free, ("hours", "-benefit"))
        least = most = None
        if program is not None:
            least, most = program.solve(("hours",)), program.solve(("-benefit",))
        if program is None or least is None or most is None:
            return []
        levels = np.linspace(least.benefit, most.benefit, FRONTIER_POINTS).round().astype(int)
        points = [
            program.solve(("hours",), at_least=int(level)) for level in sorted(set(levels.tolist()))
        ]
        return _undominated(p for p in points if p is not None)


def _undominated(points: Iterable[Selected]) -> list[Selected]:
    kept: dict[tuple[int, int], Selected] = {}
    for point in points:
        kept.setdefault((point.hours[1], point.benefit), point)
    return [
        p
        for key, p in sorted(kept.items())
        if not any(q[0] <= key[0] and q[1] >= key[1] and q != key for q in kept)
    ]


def _costs_of(c: Choice) -> dict[str, int]:
    """Return what a choice costs by itself, under each aim; "-benefit" asks for the most help."""
    return {
        "shortfall": c.shortfall,
        "undecided": int(c.undecided),
        "burden": c.burden,
        "hours": c.hours[1],
        "-benefit": -c.benefit,
    }


def _beats(a: Choice, b: Choice, aims: Sequence[str], clashing: frozenset[str]) -> bool:
    """Return whether *a* serves every aim at least as well as *b*, whatever else is chosen.

    The worst case is that *a* has to bring its whole set-up (or burden, if it is work on the
    whole object) while that of *b* is there already; choices of one technique share both.
    """
    if a.id in clashing:
        return False
    of_a, of_b = _costs_of(a), _costs_of(b)
    if a.family == b.family and a.set_up[1] <= b.set_up[1]:
        of_a["hours"], of_b["hours"] = a.hours[1] - a.set_up[1], b.hours[1] - b.set_up[1]
    else:
        of_b["hours"] = b.hours[1] - b.set_up[1]
    if b.whole and a.technique != b.technique:
        of_b["burden"] = 0
    held = dict.fromkeys((*aims, "hours"))
    return all(of_a[aim] <= of_b[aim] for aim in held)


def _unbeaten(
    choices: Sequence[Choice], aims: Sequence[str], clashing: frozenset[str]
) -> list[Choice]:
    """Leave out the choices of one damage that another one beats."""
    kept: list[Choice] = []
    for one in sorted(choices, key=lambda c: (c.rank, c.id)):
        if not any(_beats(other, one, aims, clashing) for other in kept):
            kept = [k for k in kept if not _beats(one, k, aims, clashing)]
            kept.append(one)
    return kept


@dataclass(frozen=True, slots=True)
class _Held:
    """What earlier aims came to, and the least help that is asked for."""

    aims: tuple[tuple[str, int], ...]
    benefit: int | None


@dataclass(frozen=True)
class _Program:
    """The mixed-integer program: a column for each choice, and helpers for what counts once."""

    choices: tuple[Choice, ...]
    damages: tuple[str, ...]
    excluding: tuple[tuple[str, ...], ...]
    limits: Limits

    @classmethod
    def of(cls, chooser: Chooser, limits: Limits, aims: Sequence[str]) -> _Program | None:
        """Return the program over the choices that can matter, or None if a damage has none."""
        within = [
            c
            for c in chooser.choices
            if (limits.skill is None or c.skill <= limits.skill)
            and not (limits.equipment and c.lacks)
        ]
        damages = tuple(dict.fromkeys(c.damage for c in chooser.choices))
        clashing = frozenset(one for names in chooser.excluding for one in names)
        by_damage: dict[str, list[Choice]] = {damage: [] for damage in damages}
        for c in within:
            by_damage[c.damage].append(c)
        if not all(by_damage.values()):
            return None
        kept = [c for same in by_damage.values() for c in _unbeaten(same, aims, clashing)]
        return cls(tuple(kept), damages, chooser.excluding, limits)

    def _at_their_least(self, aim: str) -> _Program | None:
        """Return the program with only the choices that are best for their damage by *aim*.

        None where the aim doesn't simply add up over the damages.
        """
        if aim == "hours" or (aim == "burden" and any(c.whole for c in self.choices)):
            return None
        least: dict[str, int] = {}
        for c in self.choices:
            cost = _costs_of(c)[aim]
            least[c.damage] = min(cost, least.get(c.damage, cost))
        kept = tuple(c for c in self.choices if _costs_of(c)[aim] == least[c.damage])
        return replace(self, choices=kept)

    @cached_property
    def _families(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(c.family for c in self.choices))

    @cached_property
    def _wholes(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(c.technique for c in self.choices if c.whole))

    @cached_property
    def _column(self) -> dict[tuple[str, str], int]:
        """Return the columns of the helpers, after those of the choices."""
        helpers = [
            *(("family", f) for f in self._families),
            *(("whole", t) for t in self._wholes),
        ]
        return {key: i for i, key in enumerate(helpers, len(self.choices))}

    @property
    def _width(self) -> int:
        return len(self.choices) + len(self._column)

    def _costs(self, aim: str) -> Vector:
        """Return the cost of each column under one aim."""
        cost = np.zeros(self._width)
        for i, c in enumerate(self.choices):
            cost[i] = _costs_of(c)[aim]
            if aim == "hours":
                cost[i] -= c.set_up[1]
            elif aim == "burden" and c.whole:
                cost[i] = 0
        for (kind, _), column in self._column.items():
            if (kind, aim) in (("family", "hours"), ("whole", "burden")):
                cost[column] = 1
        return cost

    @cached_property
    def _fixed(self) -> LinearConstraint:
        """Return the rows that always hold."""
        rows: list[dict[int, float]] = []
        low: list[float] = []
        high: list[float] = []
        for damage in self.damages:  # one option a damage
            rows.append({i: 1.0 for i, c in enumerate(self.choices) if c.damage == damage})
            low.append(1)
            high.append(1)
        for i, c in enumerate(self.choices):
            for key, weight in (
                (("family", c.family), c.set_up[1]),  # the largest set-up of a family
                (("whole", c.technique), c.burden),
            ):
                if key in self._column and weight and (key[0] != "whole" or c.whole):
                    rows.append({i: float(weight), self._column[key]: -1.0})
                    low.append(-np.inf)
                    high.append(0)
        place: dict[str, int] = {c.id: i for i, c in enumerate(self.choices)}
        for names in self.excluding:
            if all(name in place for name in names):
                rows.append({place[name]: 1.0 for name in names})
                low.append(-np.inf)
                high.append(len(names) - 1)
        return LinearConstraint(_sparse(rows, self._width), np.array(low), np.array(high))

    def solve(self, aims: Sequence[str], at_least: int | None = None) -> Selected | None:
        """Return the best choice by *aims*, one after another, or None if there is none."""
        if not self.damages:
            return total(())
        program, held = self, _Held((), at_least)
        chosen: Selected | None = None
        for aim in aims:
            least = program._at_their_least(aim)
            easy = least.feasible(held) if least is not None else None
            if least is not None and easy is not None:
                program, chosen = least, easy
                continue
            chosen = program._optimum(program._costs(aim), held)
            if chosen is None:
                return None
            held = _Held((*held.aims, (aim, self._reached(aim, chosen))), at_least)
        return chosen

    def feasible(self, held: _Held) -> Selected | None:
        """Return any choice that keeps the limits and what is held; the quickest is tried first."""
        quickest: dict[str, Choice] = {}
        for c in self.choices:
            known = quickest.get(c.damage)
            if known is None or c.hours[1] < known.hours[1]:
                quickest[c.damage] = c
        guess = total(quickest[d] for d in self.damages)
        if self._keeps(guess, held):
            return guess
        return self._optimum(np.zeros(self._width), held)

    def _keeps(self, guess: Selected, held: _Held) -> bool:
        chosen = {c.id for c in guess.chosen}
        return (
            (self.limits.hours is None or guess.hours[1] <= self.limits.hours)
            and (held.benefit is None or guess.benefit >= held.benefit)
            and all(self._reached(aim, guess) <= bound for aim, bound in held.aims)
            and not any(chosen.issuperset(names) for names in self.excluding)
        )

    @staticmethod
    def _reached(aim: str, chosen: Selected) -> int:
        """Return what an aim came to, counted exactly from the choice itself."""
        return {
            "shortfall": chosen.shortfall,
            "undecided": chosen.undecided,
            "burden": chosen.burden,
            "hours": chosen.hours[1],
            "-benefit": -chosen.benefit,
        }[aim]

    def _optimum(self, cost: Vector, held: _Held) -> Selected | None:
        caps = [(self._costs(aim), float(bound)) for aim, bound in held.aims]
        if self.limits.hours is not None:
            caps.append((self._costs("hours"), float(self.limits.hours)))
        if held.benefit is not None:
            caps.append((self._costs("-benefit"), -float(held.benefit)))
        constraints = [self._fixed]
        if caps:
            matrix = csr_array(np.vstack([row for row, _ in caps]))
            # everything is whole: a quarter keeps rounding from shutting out the optimum itself
            top = np.array([bound + 0.25 for _, bound in caps])
            constraints = [
                LinearConstraint(
                    vstack([self._fixed.A, matrix]),
                    np.concatenate([self._fixed.lb, np.full(len(caps), -np.inf)]),
                    np.concatenate([self._fixed.ub, top]),
                )
            ]
        whole = np.zeros(self._width)
        whole[: len(self.choices)] = 1
        upper = np.full(self._width, np.inf)
        upper[: len(self.choices)] = 1
        found = milp(
            cost,
            integrality=whole,
            bounds=Bounds(np.zeros(self._width), upper),
            constraints=constraints,
            options={"mip_rel_gap": 0.0},
        )
        if found.status not in (OPTIMAL, INFEASIBLE):
            raise RuntimeError(f"the solver stopped early: {found.message}")
        if found.x is None:
            return None
        return total(c for c, x in zip(self.choices, found.x, strict=False) if x > 0.5)


def _sparse(rows: list[dict[int, float]], width: int) -> csr_array:
    data = [value for row in rows for value in row.values()]
    columns = [column for row in rows for column in row]
    starts = np.cumsum([0, *(len(row) for row in rows)])
    return csr_array((data, columns, starts), shape=(len(rows), width))
