"""One clock: when to look, how long a set-up stays on, how long it dries, from one place.

Where the layers of a planned pack are recorded, the bench physics computes the times; else they
are those of seed_data/times.ttl. Where both are known and differ, the computed one counts and the
difference is told with its reason. Sheet, plan and proposal all take their times from here.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from leastwise.graph.case.packs import PackRecord
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.planning.bench_layers import sentences_of
from leastwise.graph.sentences import sentence_case

if TYPE_CHECKING:
    from leastwise.graph.physics.humidity_band import TimeBand
    from leastwise.graph.setups.answers import MoistureAnswer

__all__ = ["Tick", "physics_of", "ticks", "untimed"]

#: A sentence about times of practice, which the rows of the clock replace.
TIMED = re.compile(r"\d+ (?:min|h)\b|^These times|^Look after \d")
MOMENTS = ("lw:firstLook", "lw:lookAgain", "lw:leftOn", "lw:dryingTime")
NAMES = {
    "lw:firstLook": "First look",
    "lw:lookAgain": "Look again",
    "lw:leftOn": "Left on",
    "lw:dryingTime": "Dry restrained",
}
MINUTE_S = 60.0


@dataclass(frozen=True, slots=True)
class Tick:
    """One time: *basis* is computed, practice or read; *remark* tells how another one differs."""

    what: str
    value: str
    basis: str
    remark: str
    claims: tuple[str, ...] = ()
    ends_s: tuple[float, float] = (0.0, 0.0)  # of a time that is a span; (0, 0) for another


@dataclass(frozen=True, slots=True)
class _Sourced:
    """A time as the knowledge holds it, in seconds."""

    low_s: float
    high_s: float
    because: str
    basis: str
    claims: tuple[str, ...]

    @property
    def in_words(self) -> str:
        low, high = _minutes(self.low_s), _minutes(self.high_s)
        return low if low == high else f"{low} to {high}"


def physics_of(pack: PackRecord, k: Knowledge) -> MoistureAnswer:
    """Return what the bench physics says of a planned pack; takes seconds."""
    from leastwise.graph.setups.answers import (  # noqa: PLC0415 - the solver is slow to load
        answer_moisture,
    )
    from leastwise.graph.setups.dose import dose_scale  # noqa: PLC0415 - as above

    return answer_moisture(pack.stack, scale=dose_scale(k))


def untimed(monitoring: str) -> str:
    """Return what to watch without the sentences about times, which stand on the clock.

    >>> untimed("Look first after 5 to 20 min. Check colour on white blotter.")
    'Check colour on white blotter.'
    """
    return " ".join(one for one in sentences_of(monitoring) if not TIMED.search(one))


def ticks(k: Knowledge, technique: str, physics: MoistureAnswer | None = None) -> tuple[Tick, ...]:
    """Return the times of a technique, in the order in which they come."""
    sourced = _sourced(k, technique)
    if physics is not None:
        return tuple(_computed(physics, sourced))
    return tuple(
        Tick(
            NAMES[moment],
            one.in_words,
            one.basis,
            one.because,
            one.claims,
            (one.low_s, one.high_s),
        )
        for moment in MOMENTS
        if (one := sourced.get(moment)) is not None
    )


def _sourced(k: Knowledge, technique: str) -> dict[str, _Sourced]:
    """Return the times of the knowledge by their moment; those of the nearest group count."""
    found: dict[str, tuple[int, _Sourced]] = {}
    up = k.broader(technique)
    for node in k.instances("lw:ClockTime"):
        far = min((up.index(one) for one in k.objects(node, "lw:for") if one in up), default=None)
        moment = k.object(node, "lw:moment") or ""
        if far is None or (moment in found and found[moment][0] <= far):
            continue
        low, high = (MINUTE_S * (k.number(node, end) or 0.0) for end in ("lw:least", "lw:most"))
        basis = (k.object(node, "lw:basis") or "").removeprefix("lw:")
        because, claims = k.text(node, "lw:because"), tuple(k.objects(node, "lw:restsOn"))
        found[moment] = far, _Sourced(low, high, because, basis, claims)
    return {moment: one for moment, (_, one) in found.items()}


def _reached(band: TimeBand) -> str:
    if band.low_s is None:
        return "not likely in the time looked at"
    late = _words(band.high_s) if band.high_s is not None else "never in some cases"
    return f"after {_words(band.low_s)} to {late}"


def _computed(p: MoistureAnswer, sourced: dict[str, _Sourced]) -> Iterator[Tick]:
    """Yield the times of a planned pack, with their interval; percentiles 5 and 95."""
    plan, band = p.protocol, p.band.time_to_target
    first = plan.first_look_s
    value = f"after {_words(first)}, then every {_words(plan.look_every_s)}"
    look = sourced.get("lw:firstLook") or sourced.get("lw:lookAgain")
    yield Tick("First look", value, "computed", _other_look(first, look), _claims(look))
    yield Tick("Target reached", _reached(band), "computed", "")
    stop, left = plan.stop_at_latest_s, sourced.get("lw:leftOn")
    if stop is not None:
        remark = _other_stop(stop, left, plan.why_stop)
        yield Tick("Stop at the latest", f"after {_words(stop)}", "computed", remark, _claims(left))
    elif left is not None:
        remark = " ".join(one for one in (left.because, _too_short(left, band)) if one)
        yield Tick("Left on", left.in_words, left.basis, remark, left.claims)
    low, high = plan.drying.practice_h.low, plan.drying.practice_h.high
    changes = ", ".join(_words(s) for s in plan.drying.change_blotter_s)
    drying = f"{low:g} to {high:g} h; change blotters at {changes}"
    yield Tick("Dry restrained", drying, "practice, W-062", _moisture_out(p))


def _moisture_out(p: MoistureAnswer) -> str:
    """Return how long the moisture itself takes to leave, by the model; "" if it doesn't."""
    band = p.protocol.drying.model_s
    if band is None:
        return ""
    span = f"{_words(band.low)} to {_words(band.high)}"
    return f"By the model the moisture is out after {span}; it is held longer so that it sets."


def _other_look(first_s: float, look: _Sourced | None) -> str:
    """Return how practice differs from a computed first look, and why; "" if it doesn't."""
    if look is None or look.low_s <= first_s <= look.high_s:
        return ""
    sooner = first_s < look.low_s
    why = (
        "these layers let moisture through sooner"
        if sooner
        else "these layers let moisture through later"
    )
    return f"Practice without a computed pack: {look.in_words}; {why}."


def _too_short(left: _Sourced, target: TimeBand) -> str:
    """Return that the time of practice may end before the target is reached; "" if it doesn't."""
    if target.high_s is not None and target.high_s <= left.high_s:
        return ""
    return "The slowest cloth has not reached its target by then: let it rest, and repeat."


def _other_stop(stop_s: float, left: _Sourced | None, why: str) -> str:
    """Return what bids a computed stop, and how practice differs from it."""
    bids = f"{sentence_case(why)}." if why else ""
    if left is None or left.low_s <= stop_s <= left.high_s:
        return bids
    practice = f"Practice leaves it on for {left.in_words}"
    slower = stop_s > left.high_s
    differs = f"{practice}; this pack wets the cloth more slowly." if slower else f"{practice}."
    return f"{bids} {differs}".strip()


def _claims(one: _Sourced | None) -> tuple[str, ...]:
    return one.claims if one else ()


def _words(seconds: float) -> str:
    from leastwise.graph.physics.bounds import minutes_in_words  # noqa: PLC0415 - with the solver

    return minutes_in_words(seconds)


def _minutes(seconds: float) -> str:
    """Return a sourced time in words.

    >>> _minutes(30), _minutes(1200), _minutes(28800), _minutes(172800)
    ('30 s', '20 min', '8 h', '48 h')
    """
    if seconds < MINUTE_S:
        return f"{seconds:g} s"
    minutes = seconds / MINUTE_S
    return f"{minutes:g} min" if minutes < 2 * MINUTE_S else f"{minutes / MINUTE_S:g} h"
