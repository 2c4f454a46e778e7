"""What the doors answer for a stack: band, advice, doses, sentences; and canonical JSON."""

from __future__ import annotations

import json
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, fields, is_dataclass
from enum import Enum
from typing import Any

from pydantic import BaseModel

from leastwise.graph import physics as p
from leastwise.graph.case.packs import StackRecord
from leastwise.graph.physics.bounds import joined, minutes_in_words, rounded
from leastwise.graph.setups.bands import band_of
from leastwise.graph.setups.dose import DoseScale, NeighbourDose, neighbour_dose
from leastwise.graph.setups.stack_file import InputError, Laid, lay

__all__ = ["MoistureAnswer", "answer_moisture", "as_json", "mendable_inputs"]

Progress = Callable[[int, int], None]


def as_json(answer: object) -> str:
    r"""Return an answer as JSON, the same text from every door; six figures, no false precision.

    >>> as_json((1 / 3, math.inf))
    '[0.333333, null]\n'
    """
    return json.dumps(_plain(answer), ensure_ascii=False, sort_keys=True) + "\n"


def _plain(value: object) -> Any:
    """Return a value in terms of JSON; what isn't finite becomes null."""
    if is_dataclass(value) and not isinstance(value, type):
        return {one.name: _plain(getattr(value, one.name)) for one in fields(value)}
    if isinstance(value, BaseModel):
        value = value.model_dump(mode="json")
    if isinstance(value, Enum):
        return value.value
    if isinstance(value, bool) or value is None or isinstance(value, int | str):
        return value
    if isinstance(value, float):
        return rounded(value, 6) if math.isfinite(value) else None
    if isinstance(value, Mapping):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, tuple | list):
        return [_plain(one) for one in value]
    raise TypeError(f"no JSON for {type(value).__name__}")


def mendable_inputs(work: Callable[[], Any]) -> Any:
    """Run *work*; an input that the physics refuses becomes a problem with its path.

    Raises:
        InputError: with what was given and what is accepted.

    """
    try:
        return work()
    except p.PhysicsInputError as error:
        raise InputError([error.problem]) from error


@dataclass(frozen=True, slots=True)
class MoistureAnswer:
    """Everything that is said of one stack; RH and regain as fractions, times in seconds."""

    title: str
    demo: bool
    stack: p.Stack
    question: p.Question
    hole_diameter_mm: float | None
    condensation: str
    says: tuple[str, ...]
    band: p.HumidityBand
    protocol: p.Protocol
    neighbours: tuple[NeighbourDose, ...]
    spread: p.Spread | None
    pierced: p.Pierced | None
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]


def answer_moisture(
    record: StackRecord,
    *,
    radial: bool = False,
    scale: DoseScale | None = None,
    progress: Progress | None = None,
) -> MoistureAnswer:
    """Return the band, the advice for the bench and the doses on the neighbours of a stack.

    `radial` also follows the spread past the pack's edge, and the hole where the record has one.

    Raises:
        InputError: a stack that doesn't fit together.

    """
    laid = lay(record)
    found: MoistureAnswer = mendable_inputs(
        lambda: _moisture(record, laid, radial=radial, scale=scale, progress=progress)
    )
    return found


def _moisture(
    record: StackRecord,
    laid: Laid,
    *,
    radial: bool,
    scale: DoseScale | None,
    progress: Progress | None,
) -> MoistureAnswer:
    plan = p.Sampling(record.samples)
    bands = [
        band_of(laid.stack, ask, laid.uncertain, plan, _share(progress, k, laid.questions))
        for k, ask in enumerate(laid.questions)
    ]
    ask, band, patch = laid.questions[0], bands[0], record.patch
    bench = p.Bench(patch.width_cm * patch.height_cm, patch.pressure_g_cm2, patch.cloth)
    others = tuple(zip(laid.questions[1:], bands[1:], strict=True))
    protocol = p.advise_protocol(laid.stack, ask, band, bench, others)
    doses = _neighbours(record, laid, bands, scale)
    spread = _spread(record, laid, ask) if radial else None
    pierced = _pierced(laid, ask) if radial else None
    return MoistureAnswer(
        title=record.title,
        demo=record.demo,
        stack=laid.stack,
        question=ask,
        hole_diameter_mm=laid.hole_diameter_mm,
        condensation=_condensation(band),
        says=_moisture_says(band, protocol, doses, spread, pierced),
        band=band,
        protocol=protocol,
        neighbours=doses,
        spread=spread,
        pierced=pierced,
        rests_on=joined(protocol.rests_on, *(dose.rests_on for dose in doses)),
        caveats=joined(
            protocol.caveats,
            *(dose.caveats for dose in doses),
            pierced.caveats if pierced else (),
            spread.caveats if spread else (),
        ),
    )


def _neighbours(
    record: StackRecord, laid: Laid, bands: Sequence[p.HumidityBand], scale: DoseScale | None
) -> tuple[NeighbourDose, ...]:
    return tuple(
        neighbour_dose(
            laid.stack, one, laid.uncertain, scale=scale, samples=record.samples,
            as_laid=known, part=laid.parts.get(one.neighbour, ""),
        )
        for one, known in zip(laid.questions, bands, strict=True)
        if one.neighbour is not None
    )  # fmt: skip


def _pierced(laid: Laid, ask: p.Question) -> p.Pierced | None:
    if laid.hole_diameter_mm is None:
        return None
    rings = p.Rings(duration_s=ask.duration_s)
    return p.pierced_membrane(laid.stack, ask.treated, laid.hole_diameter_mm, rings)


def _share(
    progress: Progress | None, done_before: int, questions: tuple[p.Question, ...]
) -> Progress | None:
    """Return a call-back that counts over the bands of several neighbours."""
    if progress is None:
        return None
    return lambda done, total: progress(done_before * total + done, total * len(questions))


def _spread(record: StackRecord, laid: Laid, ask: p.Question) -> p.Spread:
    """Follow the treated layer past the pack: under it, in the margin of films, in the open."""
    patch = record.patch
    inner = 10 * math.sqrt(patch.width_cm * patch.height_cm / math.pi)
    off_margin = (p.Role.BLOTTER, p.Role.MEMBRANE)
    margin = _without(laid.stack, off_margin)
    bare = _without(margin, (p.Role.BARRIER, p.Role.COVER))
    zones = [
        p.Zone("pack", inner, laid.stack),
        p.Zone("margin", inner + patch.margin_mm, margin),
        p.Zone("open", inner + patch.margin_mm + 40, bare),
    ]
    rings = p.Rings(duration_s=ask.duration_s)
    return p.spread(zones, ask.treated, ask.neighbour_limit, rings)


def _without(stack: p.Stack, roles: tuple[p.Role, ...]) -> p.Stack:
    for layer in stack.layers:
        if layer.role in roles:
            stack = stack.without(layer.name)
    return stack


def _condensation(band: p.HumidityBand) -> str:
    """Return the risk of dew in words."""
    if band.condensation_share > 0:
        return f"dew forms in {band.condensation_share:.0%} of the cases"
    if band.hazard_share > 0:
        return f"a hazard: above 85 % RH somewhere in {band.hazard_share:.0%} of the cases"
    return "low: nowhere above 85 % RH"


def _moisture_says(
    band: p.HumidityBand,
    protocol: p.Protocol,
    doses: tuple[NeighbourDose, ...],
    spread: p.Spread | None,
    pierced: p.Pierced | None,
) -> tuple[str, ...]:
    said = [line for line in protocol.says if not line.startswith("Above")]  # comes with dew below
    lines = [*said, f"Then look every {minutes_in_words(protocol.look_every_s)}."]
    if protocol.stop_at_latest_s is not None:
        stop = minutes_in_words(protocol.stop_at_latest_s)
        lines.append(f"Stop at the latest after {stop}: {protocol.why_stop}.")
    lines.append(f"Condensation: {_condensation(band)}.")
    lines += [line for dose in doses for line in dose.says]
    if spread is not None:
        lines.append(
            f"At the end {spread.layer} is at {spread.limit:.0%} RH or more out to "
            f"{spread.reach_mm[-1]:.0f} mm from the middle of the pack."
        )
    if pierced is not None:
        lines.append(
            f"Over a hole of {pierced.hole_diameter_mm:g} mm the RH is up to "
            f"{100 * pierced.largest_excess:.0f} % higher, felt out to {pierced.reach_mm:.0f} mm."
        )
    return tuple(lines)
