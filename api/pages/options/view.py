"""The options of a case as the page lays them out: rows by damage, in words and numbers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Final

from leastwise.graph import sentences
from leastwise.graph.answer import Answer, DamageAnswer, FindingView, MendView, OptionAnswer
from leastwise.graph.ids import OptionId
from leastwise.graph.meanings import RuleEffect, Verdict
from leastwise.graph.weighing.compose import HEADINGS
from leastwise.graph.weighing.ranking import VERDICT_ORDER, WORST

__all__ = [
    "Brief",
    "Row",
    "Section",
    "Settling",
    "data_for_script",
    "hours_in_words",
    "sections",
    "technique_of",
]

#: So many points are named in a row; the option's own page has them all.
MOST_NAMED: Final = 3
KIND_ORDER = ("test", "identity", "barrier", "parting", "record", "means")


@dataclass(frozen=True, slots=True)
class Settling:
    """What is open about an option: how many points, the first of them, what settles them."""

    points: int
    first: str
    mends: tuple[MendView, ...]
    more: int


@dataclass(frozen=True, slots=True)
class Row:
    """One option with what its row says beyond the answer."""

    option: OptionAnswer
    technique: str  # as the address has it
    aim: str
    help: str  # how much more it helps than leaving alone
    more_burden: str  # the difference to leaving alone, with its sign
    hours: str
    settling: Settling | None
    dominated_by: tuple[tuple[str, str], ...]  # technique, label
    way: str = ""  # in which those beside it go too
    choice: str = ""  # what decides between them
    beside: tuple[OptionAnswer, ...] = ()


@dataclass(frozen=True, slots=True)
class Brief:
    """One damage in a line: the option that comes first, and the first that meets the aim.

    *meeting* is None where the first meets it itself, or where none that stands does.
    """

    first: OptionAnswer | None
    meeting: OptionAnswer | None
    met: bool


@dataclass(frozen=True, slots=True)
class Section:
    """One damage: the baseline, what is worth weighing, what stands besides, what is defeated."""

    damage: DamageAnswer
    parts: str
    brief: Brief
    baseline: Row
    standing: tuple[Row, ...]
    folded: tuple[Row, ...]
    defeated: tuple[Row, ...]
    counts: Mapping[str, int]


def technique_of(option: str) -> str:
    """Return the part of an option's id that names the technique."""
    return OptionId(option).name


def hours_in_words(hours: Sequence[float]) -> str:
    """Return a range of hours with its unit.

    >>> hours_in_words([2.0, 6.5]), hours_in_words([0.0, 0.0])
    ('2 to 6.5 h', 'no working hours')
    """
    low, high = hours
    if not high:
        return "no working hours"
    return f"{sentences.hours_in_words(low, high)} h"


def aim_in_words(o: OptionAnswer) -> str:
    """Return whether the aim is met, or how far the damage still hinders it."""
    if o.meets_aim:
        stays = f"; {o.residual} of {WORST} still hinders" if o.residual else ""
        return f"meets the aim{stays}"
    return f"aim not met: {o.residual} of {WORST} still hinders"


def signed(number: float) -> str:
    """Return a difference with its sign and two decimals.

    >>> signed(0.125), signed(0.0)
    ('+0.12', '+0.00')
    """
    rounded = round(number, 2)
    sign = "\N{MINUS SIGN}" if rounded < 0 else "+"
    return f"{sign}{abs(rounded):.2f}"


def help_against(o: OptionAnswer, baseline: OptionAnswer) -> str:
    """Return how much more an option helps than leaving the damage alone."""
    taken = baseline.residual - o.residual
    return f"takes away {taken} of {baseline.residual} that hinder" if taken else "helps no more"


def sections(answer: Answer, part_names: Mapping[str, str], shown: str = "") -> list[Section]:
    """Return the damages with their options; *shown* keeps those of one verdict."""
    return [_section(d, part_names, shown) for d in answer.damages]


def _section(damage: DamageAnswer, part_names: Mapping[str, str], shown: str) -> Section:
    labels = {o.id: o.label for o in damage.options}
    baseline = next(o for o in damage.options if o.is_baseline)
    rows = [_row(o, baseline, labels) for o in damage.options]
    kept = [r for r in rows if shown in ("", r.option.verdict)]
    alive = [r for r in kept if r.option.verdict != Verdict.DEFEATED]
    leading = {place.leads for place in damage.places}
    return Section(
        damage=damage,
        parts=", ".join(part_names.get(part, part) for part in damage.parts),
        brief=_brief(damage.options),
        baseline=next(r for r in rows if r.option.is_baseline),
        standing=tuple(alive if shown else _places(damage, alive)),
        folded=tuple([] if shown else [r for r in alive if r.option.id not in leading]),
        defeated=tuple(r for r in kept if r.option.verdict == Verdict.DEFEATED),
        counts={v: sum(r.option.verdict == v for r in rows) for v in VERDICT_ORDER},
    )


def _places(damage: DamageAnswer, rows: Iterable[Row]) -> list[Row]:
    """Return the rows that lead the places of a damage, with what stands beside each."""
    options = {o.id: o for o in damage.options}
    by_leader = {place.leads: place for place in damage.places}
    return [
        replace(
            row,
            way=place.way,
            choice=place.choice,
            beside=tuple(options[one] for one in place.beside),
        )
        for row in rows
        if (place := by_leader.get(row.option.id)) is not None
    ]


def _brief(options: Iterable[OptionAnswer]) -> Brief:
    standing = [o for o in options if o.verdict != Verdict.DEFEATED]
    first = next(iter(standing), None)
    meeting = next((o for o in standing if o.meets_aim), None)
    return Brief(first, None if meeting is first else meeting, meeting is not None)


def _row(o: OptionAnswer, baseline: OptionAnswer, labels: Mapping[OptionId, str]) -> Row:
    return Row(
        option=o,
        technique=technique_of(o.id),
        aim=aim_in_words(o),
        help=help_against(o, baseline),
        more_burden=signed(o.burden - baseline.burden),
        hours=hours_in_words(o.hours),
        settling=_settling(o.findings) if o.verdict == Verdict.UNDECIDED else None,
        dominated_by=tuple((technique_of(one), labels[one]) for one in o.dominated_by),
    )


def _settling(findings: Iterable[FindingView]) -> Settling:
    open_points = [f for f in findings if f.effect == RuleEffect.LEAVES_UNDECIDED]
    mends = {m.label: m for f in open_points for m in f.mends}
    ordered = sorted(mends.values(), key=lambda m: KIND_ORDER.index(m.kind))
    return Settling(
        sum(f.times for f in open_points),
        open_points[0].message,
        tuple(ordered[:MOST_NAMED]),
        max(0, len(ordered) - MOST_NAMED),
    )


def data_for_script(
    answer: Answer, points: Mapping[str, int], titles: Mapping[str, str]
) -> dict[str, object]:
    """Return what the script needs to put the options in order by itself.

    An option is [id, label, verdict's place, aim met, hindrance left, grades, least hours, most
    hours, whether it is leaving alone]; the grades are in the order of *axes*, the options as
    the page shows them.
    """
    axes = list(answer.policy.weights)
    return {
        "axes": axes,
        "worst": WORST,
        "policy": answer.policy.id,
        "label": answer.policy.label,
        "points": [points[axis] for axis in axes],
        "weights": [answer.policy.weights[axis] for axis in axes],
        "damages": [
            [damage.id, [_packed(o, axes) for o in damage.options], titles[damage.id]]
            for damage in answer.damages
        ],
    }


def _packed(o: OptionAnswer, axes: list[str]) -> list[object]:
    grades = [o.burdens[axis] for axis in axes]
    place = VERDICT_ORDER[o.verdict]
    return [
        o.id,
        o.label,
        place,
        int(o.meets_aim),
        o.residual,
        grades,
        *o.hours,
        int(o.is_baseline),
        HEADINGS.index(o.heading),
        o.waiting,
    ]
