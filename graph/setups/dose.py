"""The dose of vapour on a neighbour, from a stack: with and without a barrier before it.

The RH band that is computed for the neighbour is graded by a stated scale (seed_data/doses.ttl,
common practice): the highest step whose RH lasts long enough counts. What counts for a finding
is the upper end of the band, so what isn't known well is never treated as safe.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache
from importlib import resources
from itertools import pairwise
from pathlib import Path
from typing import TYPE_CHECKING

from leastwise.graph.answer import Computed, Reason
from leastwise.graph.case.packs import PackRecord
from leastwise.graph.errors import KnowledgeError
from leastwise.graph.knowledge.knowledge import Knowledge, load_knowledge
from leastwise.graph.meanings import Stance
from leastwise.graph.setups.bands import band_of
from leastwise.graph.setups.stack_file import Laid, lay

if TYPE_CHECKING:
    from leastwise.graph.physics import HumidityBand, Question, Stack, Uncertain

__all__ = [
    "DoseScale",
    "DoseStep",
    "GradedDose",
    "NeighbourDose",
    "computed_doses",
    "computed_reason",
    "decided_dose",
    "dose_scale",
    "neighbour_dose",
    "pack_doses",
    "shipped_scale",
]

VAPOUR = "agent:water-vapour"
BARRIER = "film before the neighbour"
GRADES = ("less than a trace", "a trace", "a low dose", "a moderate dose", "a full dose")


@dataclass(frozen=True, slots=True)
class DoseStep:
    """A grade, and the RH (fraction) and minutes from which it holds."""

    grade: int
    from_humidity: float
    for_minutes: float


@dataclass(frozen=True, slots=True)
class DoseScale:
    """How RH and time on a neighbour become a grade; common practice unless another is given."""

    id: str
    label: str
    agent: str
    least_rise: float
    steps: tuple[DoseStep, ...]
    basis: str
    claims: tuple[str, ...]

    def grade(self, times_s: Sequence[float], humidity: Sequence[float]) -> int:
        """Return the grade of a series: the highest step that holds, 0 if none does.

        Only RH that lies over the RH at the start by the least rise is counted.

        >>> shipped_scale().grade([0, 60, 3600], [0.5, 0.8, 0.8])
        3
        >>> shipped_scale().grade([0, 3600], [0.7, 0.7])
        0
        """
        floor = humidity[0] + self.least_rise
        held = [
            step.grade
            for step in self.steps
            if minutes_above(times_s, humidity, max(step.from_humidity, floor)) >= step.for_minutes
        ]
        return max(held, default=0)


def minutes_above(times_s: Sequence[float], humidity: Sequence[float], level: float) -> float:
    """Return for how many minutes a series lies at or over a level, straight between its points.

    >>> minutes_above([0, 60, 120], [0.5, 0.7, 0.7], 0.6)
    1.5
    """
    seconds = 0.0
    points = zip(times_s, humidity, strict=True)
    for (start, before), (end, after) in pairwise(points):
        low, high = min(before, after), max(before, after)
        if low >= level:
            seconds += end - start
        elif high >= level:
            seconds += (end - start) * (high - level) / (high - low)
    return seconds / 60


@dataclass(frozen=True, slots=True)
class GradedDose:
    """A dose as a band: at the 5th, 50th and 95th percentile of the RH; 0 is under a trace."""

    low: int
    middle: int
    high: int
    highest_humidity: tuple[float, float, float]

    @property
    def counts(self) -> int:
        """The grade by which a finding is decided: the upper end."""
        return self.high

    def in_words(self) -> str:
        """Return the band in words."""
        if self.low == self.high:
            return GRADES[self.high]
        return f"{GRADES[self.low]} to {GRADES[self.high]}"


@dataclass(frozen=True, slots=True)
class NeighbourDose:
    """The graded dose on one neighbour, without and with a barrier before it.

    `screened` tells that the stack as given already holds a film between the two; `behind` is
    None where no barrier can lie, since the vapour passes the neighbour on its way.
    """

    neighbour: str
    part: str
    reads: str
    minutes: float
    start_humidity: float
    bare: GradedDose
    behind: GradedDose | None
    screened: bool
    scale: str
    says: tuple[str, ...]
    rests_on: tuple[str, ...]
    caveats: tuple[str, ...]

    @property
    def as_laid(self) -> GradedDose:
        """The dose in the stack as it was given."""
        return self.behind if self.screened and self.behind is not None else self.bare


CAVEATS = (
    "The grades of the dose are our judgement (common practice), not a measurement.",
    "A film stops what comes through the layers; vapour also creeps round its edge, so let it "
    "reach past the pack on all sides (claim:W-064).",
)


@cache
def shipped_scale() -> DoseScale:
    """Return the scale that comes with the package."""
    path = Path(str(resources.files("leastwise.seed_data"))) / "doses.ttl"
    return dose_scale(load_knowledge(files=[path]))


def dose_scale(knowledge: Knowledge) -> DoseScale:
    """Return the default dose scale for vapour in a knowledge, that of its nearest layer.

    Raises:
        KnowledgeError: there is none, or a step lacks a value.

    """
    k = knowledge
    scales = k.defaults("lw:DoseScale")
    found = [one for one in scales if k.object(one, "lw:gradesAgent") == VAPOUR]
    if not found:
        raise KnowledgeError("dose scale", f"none grades {VAPOUR}.", "Add one as in doses.ttl.")
    one = found[-1]
    steps = tuple(_step(k, one, node) for node in k.objects(one, "lw:step"))
    return DoseScale(
        one,
        k.label(one),
        VAPOUR,
        k.number(one, "lw:leastRise") or 0.0,
        tuple(sorted(steps, key=lambda s: (s.grade, s.from_humidity))),
        (k.object(one, "lw:basis") or "lw:practice").removeprefix("lw:"),
        tuple(k.objects(one, "lw:restsOn")),
    )


def _step(k: Knowledge, scale: str, node: str) -> DoseStep:
    values = [k.number(node, f"lw:{name}") for name in ("grade", "fromHumidity", "forMinutes")]
    grade, humidity, minutes = values
    if grade is None or humidity is None or minutes is None:
        mend = "Add lw:grade, lw:fromHumidity and lw:forMinutes to each lw:step."
        raise KnowledgeError(scale, "has a step that lacks a value.", mend)
    return DoseStep(int(grade), humidity, minutes)


def neighbour_dose(  # noqa: PLR0913 - what a band takes, and the scale
    stack: Stack,
    question: Question,
    uncertain: Sequence[Uncertain] | None = None,
    *,
    scale: DoseScale | None = None,
    samples: int = 64,
    as_laid: HumidityBand | None = None,
    part: str = "",
) -> NeighbourDose:
    """Return the graded dose of vapour on the neighbour of a question, bare and behind a film.

    Films that already lie between source and neighbour are taken out for the bare dose; for the
    other, one 50 um LDPE film is laid before the neighbour if there is none. `as_laid` is the band
    of the stack as given, where it has been computed before.

    Raises:
        PhysicsInputError: the question names no neighbour, or a layer isn't there.

    """
    from leastwise.graph import physics  # noqa: PLC0415 - loads the solver

    if question.neighbour is None:
        raise physics.PhysicsInputError("neighbour", None, "the name of a neighbouring layer")
    graded_by = scale or shipped_scale()
    plan = physics.Sampling(samples)
    ranges = physics.default_uncertainties(stack) if uncertain is None else tuple(uncertain)
    lying = _films_before(stack, question.neighbour)

    def graded(one: Stack, more: Sequence[Uncertain] = ()) -> GradedDose:
        if one is stack and as_laid is not None:
            return _graded(as_laid, graded_by)
        names = {layer.name for layer in one.layers}
        kept = [u for u in ranges if not u.layer or u.layer in names]
        return _graded(band_of(one, question, [*kept, *more], plan), graded_by)

    bare_stack = stack
    for name in lying:
        bare_stack = bare_stack.without(name)
    bare = graded(bare_stack)
    behind = graded(stack) if lying else None
    if not lying and _can_screen(stack, question):
        behind = graded(*_screened(stack, question.neighbour))
    return NeighbourDose(
        neighbour=question.neighbour,
        part=part,
        reads=question.neighbour_reads,
        minutes=question.duration_s / 60,
        start_humidity=stack.start_relative_humidity,
        bare=bare,
        behind=behind,
        screened=bool(lying),
        scale=graded_by.id,
        says=_says(question, bare, behind, screened=bool(lying)),
        rests_on=(
            f"{graded_by.id} ({graded_by.basis}): grades of the dose",
            *(f"{claim}: levels of the scale" for claim in graded_by.claims),
        ),
        caveats=CAVEATS,
    )


def _places(stack: Stack, neighbour: str) -> tuple[int, int]:
    """Return where the nearest blotter and the neighbour stand in the stack."""
    from leastwise.graph.physics import Role  # noqa: PLC0415 - loads the solver

    there = [layer.name for layer in stack.layers].index(neighbour)
    wet = [i for i, layer in enumerate(stack.layers) if layer.role is Role.BLOTTER]
    return min(wet, key=lambda i: abs(i - there)), there


def _films_before(stack: Stack, neighbour: str) -> list[str]:
    """Return the films between the source of water and the neighbour."""
    from leastwise.graph.physics import Role  # noqa: PLC0415 - loads the solver

    wet, there = _places(stack, neighbour)
    low, high = sorted((wet, there))
    return [x.name for x in stack.layers[low + 1 : high] if x.role is Role.BARRIER]


def _can_screen(stack: Stack, question: Question) -> bool:
    """Tell whether a film before the neighbour would leave the treated layer its vapour."""
    wet, there = _places(stack, question.neighbour or "")
    treated = [layer.name for layer in stack.layers].index(question.treated)
    return not min(wet, treated) < there < max(wet, treated)


def _screened(stack: Stack, neighbour: str) -> tuple[Stack, list[Uncertain]]:
    """Return the stack with a film laid before the neighbour, and how well the film is known."""
    from leastwise.graph import physics  # noqa: PLC0415 - loads the solver

    wet, there = _places(stack, neighbour)
    layers = list(stack.layers)
    layers.insert(there if wet < there else there + 1, physics.film(BARRIER, physics.Role.BARRIER))
    believed = physics.film_resistance_s_m("LDPE", 50.0)
    why = "claims W-132 to W-135 (read): film"
    known = physics.Uncertain(BARRIER, "resistance_s_m", believed, why)
    return replace(stack, layers=tuple(layers)), [known]


def _graded(band: HumidityBand, scale: DoseScale) -> GradedDose:
    """Grade the low, middle and high series of the neighbour."""
    series = band.neighbour_humidity
    assert series is not None  # noqa: S101 - the question names a neighbour
    lines = (series.low, series.middle, series.high)
    low, middle, high = (scale.grade(band.times_s, line) for line in lines)
    peaks = (max(series.low), max(series.middle), max(series.high))
    return GradedDose(low, middle, high, peaks)


def _says(
    question: Question, bare: GradedDose, behind: GradedDose | None, *, screened: bool
) -> tuple[str, ...]:
    """Put the two doses into sentences."""
    name, minutes = question.neighbour, f"{question.duration_s / 60:g} min"
    peak = f"at most {bare.highest_humidity[2]:.0%} RH"
    lines = [f"Without a barrier {name} gets {bare.in_words()} in {minutes} ({peak})."]
    if behind is None:
        lines.append(f"No barrier can screen {name}: the vapour passes it on its way.")
    else:
        there = "The film in the stack" if screened else "A 50 µm polyethylene film before it"
        peak = f"at most {behind.highest_humidity[2]:.0%} RH"
        lines.append(f"{there} leaves {behind.in_words()} ({peak}).")
    return tuple(lines)


def pack_doses(
    pack: PackRecord, *, scale: DoseScale | None = None, samples: int = 32
) -> dict[str, NeighbourDose]:
    """Return the doses on the parts of a case that a planned pack has as neighbours.

    Only layers that name a part of the case count. The stack's own number of samples is capped.

    Raises:
        InputError: a stack that doesn't fit together.

    """
    laid: Laid = lay(pack.stack)
    most = min(samples, pack.stack.samples)
    return {
        laid.parts[ask.neighbour]: neighbour_dose(
            laid.stack,
            ask,
            laid.uncertain,
            scale=scale,
            samples=most,
            part=laid.parts[ask.neighbour],
        )
        for ask in laid.questions
        if ask.neighbour is not None and ask.neighbour in laid.parts
    }


def computed_doses(
    packs: Iterable[PackRecord], knowledge: Knowledge
) -> dict[tuple[str, str], dict[str, Computed]]:
    """Return (damage, technique) -> part -> the computed dose of vapour with its reason.

    The upper end of the band counts, and never less than a trace, since the model follows vapour
    through the layers only.
    """
    scale = dose_scale(knowledge)
    return {
        (pack.damage, pack.technique): {
            part: Computed(decided_dose(0, VAPOUR, dose), computed_reason([dose]))
            for part, dose in pack_doses(pack, scale=scale).items()
        }
        for pack in packs
    }


def decided_dose(traced: int, agent: str, computed: NeighbourDose | None) -> int:
    """Return the dose by which a finding is decided: the computed one where there is one.

    Never under a trace, since the model follows vapour through the layers only.

    >>> decided_dose(3, "agent:water-vapour", None), decided_dose(3, "agent:pressure", None)
    (3, 3)
    """
    if computed is None or agent != VAPOUR:
        return traced
    return max(1, computed.as_laid.counts)


def computed_reason(doses: Iterable[NeighbourDose], stack: str = "STACK") -> Reason:
    """Return the reason that tells an option's reader what was computed, and how to see it.

    `stack` is what stands behind the command: a file or demo:NAME.
    """
    found = list(doses)
    rests_on = dict.fromkeys(text for dose in found for text in dose.rests_on)
    claims = [text.partition(":")[2] for text in rests_on if text.startswith("claim:")]
    lines = " ".join(line for dose in found for line in dose.says)
    return Reason(
        Stance.COMPUTED,
        f"{lines} Computed: see leastwise moisture {stack}.",
        tuple(f"claim:{claim.partition(':')[0]}" for claim in claims),
    )
