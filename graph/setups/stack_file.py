"""Reads a STACK file and the other inputs of the bench physics, and builds the stack.

Every problem is reported with the path to the field and what would be accepted. The solver is
loaded only when a stack is built.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from pydantic import BaseModel, TypeAdapter, ValidationError

from leastwise.graph.case.packs import (
    KINDS,
    Amount,
    LayerRecord,
    LoadRecord,
    StackRecord,
)
from leastwise.graph.errors import CaseError, Problem, missing

if TYPE_CHECKING:
    from leastwise.graph.physics import Layer, Question, Stack, Uncertain

__all__ = [
    "InputError",
    "Laid",
    "as_problems",
    "lay",
    "load_schema",
    "parse_stack",
    "read_load",
    "read_record",
    "read_stack",
    "stack_names",
    "stack_schema",
]

Model = TypeVar("Model", bound=BaseModel)


class InputError(CaseError):
    """An input of the bench physics that can't be used; carries every problem found."""


def as_problems(errors: Iterable[Mapping[str, Any]]) -> list[Problem]:
    """Return one problem a field from the errors of a model; the path is that of the record."""
    from leastwise.graph.case import reading  # noqa: PLC0415 - a case may hold these records

    found: dict[str, Problem] = {}
    for one in errors:
        steps = tuple(step for step in one["loc"] if step not in KINDS)
        problem = reading.as_problem({**one, "loc": steps})
        if one["type"] == "union_tag_not_found":
            problem = missing("kind", "one of " + ", ".join(KINDS))
        elif one["type"] == "union_tag_invalid":
            problem = Problem("kind", repr(one["ctx"]["tag"]), "one of " + ", ".join(KINDS))
        found.setdefault(problem.path, problem)
    return list(found.values())


def read_record(model: type[Model], data: object) -> Model:
    """Return a record of plain lists and mappings.

    Raises:
        InputError: with the path of each wrong field and what is accepted.

    >>> from leastwise.graph.case.packs import AirRecord
    >>> read_record(AirRecord, {"temperature_c": 20, "rh_percent": 50}).surface_c is None
    True

    """
    try:
        return model.model_validate(data)
    except ValidationError as error:
        raise InputError(as_problems(error.errors(include_url=False))) from error


def read_load(data: object) -> LoadRecord:
    """Return the load record of the kind that *data* names.

    Raises:
        InputError: with the path of each wrong field and what is accepted.

    >>> read_load({"kind": "slope", "mass_kg": 2, "angle_from_vertical_deg": 30}).kind
    'slope'

    """
    try:
        found: LoadRecord = _LOADS.validate_python(data)
    except ValidationError as error:
        raise InputError(as_problems(error.errors(include_url=False))) from error
    return found


_LOADS: TypeAdapter[Any] = TypeAdapter(LoadRecord)


def parse_stack(text: str, *, is_json: bool = False) -> StackRecord:
    """Return the stack written in *text* (YAML, of which JSON is a part).

    Raises:
        InputError: with every problem found.

    """
    from leastwise.graph.case import reading  # noqa: PLC0415 - a case may hold these records

    try:
        data = reading.load_text(text, is_json=is_json)
    except CaseError as error:
        raise InputError(list(error.problems)) from error
    if not isinstance(data, dict):
        raise InputError([Problem("the record", repr(data)[:60], "a mapping of fields to values")])
    return read_record(StackRecord, data)


def read_stack(name: str) -> StackRecord:
    """Return the stack in a JSON or YAML file, or an invented one for ``demo:NAME``.

    Raises:
        InputError: the file can't be read or holds a wrong field.

    """
    path = Path(name)
    if name.startswith("demo:"):
        wanted = name.removeprefix("demo:")
        if wanted not in stack_names():
            accepted = "one of demo:" + ", demo:".join(stack_names())
            raise InputError([Problem("STACK", repr(name), accepted)])
        path = _folder() / f"{wanted}.yaml"
    try:
        if path.stat().st_size > 1024 * 1024:
            raise InputError([Problem(name, "a file over 1 MiB", "a smaller file")])
        text = path.read_text("utf-8")
    except UnicodeDecodeError as error:
        raise InputError([Problem(name, "a file that isn't UTF-8", "UTF-8 text")]) from error
    except (OSError, ValueError) as error:
        said = getattr(error, "strerror", None) or "no file"
        raise InputError([Problem(name, said, "a readable file, or demo:NAME")]) from error
    return parse_stack(text, is_json=path.suffix.lower() == ".json")


def stack_names() -> list[str]:
    """Return the names of the invented stacks that come with the package."""
    return sorted(path.stem for path in _folder().glob("*.yaml"))


def _folder() -> Path:
    from importlib import resources  # noqa: PLC0415 - only for the invented stacks

    return Path(str(resources.files("leastwise.seed_data"))) / "demo" / "stacks"


def stack_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a STACK file."""
    schema = StackRecord.model_json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def load_schema() -> dict[str, Any]:
    """Return the JSON Schema (2020-12) of a load record."""
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **_LOADS.json_schema()}


@dataclass(frozen=True, slots=True)
class Laid:
    """A stack ready for the solver, with what is uncertain in it.

    `questions` holds one question for each neighbour, or a single one without a neighbour.
    """

    stack: Stack
    questions: tuple[Question, ...]
    uncertain: tuple[Uncertain, ...]
    hole_diameter_mm: float | None
    parts: Mapping[str, str]  # layer -> id of the part of a case


#: What may be said of a layer, besides role, name, part and how much colder it is.
OF_ROLE: Mapping[str, frozenset[str]] = {
    "support": frozenset({"areal_density_g_m2", "thickness_mm"}),
    "barrier": frozenset({"polymer", "thickness_um", "resistance_s_m"}),
    "blotter": frozenset({"areal_density_g_m2", "thickness_mm", "water_load_g_m2"}),
    "membrane": frozenset({"membrane", "face", "hole_diameter_mm", "resistance_s_m"}),
    "tissue": frozenset({"areal_density_g_m2"}),
    "textile": frozenset(
        {"fibre", "areal_density_g_m2", "thickness_mm", "weave", "regain_at_65_percent"}
    ),
    "air gap": frozenset({"thickness_mm"}),
    "cover": frozenset({"polymer", "thickness_um", "resistance_s_m"}),
}
ALWAYS = frozenset({"role", "name", "part", "colder_by_k"})
NEEDED: Mapping[str, tuple[str, ...]] = {
    "textile": ("fibre", "areal_density_g_m2", "thickness_mm"),
    "air gap": ("thickness_mm",),
}
#: Field of a record -> property of a layer, and the factor between their units.
AMOUNTS: Mapping[str, tuple[str, float]] = {
    "areal_density_g_m2": ("areal_density_g_m2", 1.0),
    "thickness_mm": ("thickness_mm", 1.0),
    "regain_at_65_percent": ("regain_at_65", 0.01),
    "resistance_s_m": ("resistance_s_m", 1.0),
    "water_load_g_m2": ("water_load_g_m2", 1.0),
}
WET_ABLE = ("textile", "tissue", "support")


def lay(record: StackRecord) -> Laid:
    """Return the stack of a record, with questions and uncertain properties.

    Raises:
        InputError: layers, treated layer or neighbours that don't fit together; all at once.

    >>> laid = lay(read_stack("demo:silk-over-lining"))
    >>> laid.questions[0].treated, laid.stack.layers[-1].role.value
    ('silk', 'cover')

    """
    from leastwise.graph.physics import PhysicsInputError  # noqa: PLC0415 - loads the solver

    problems = list(_problems(record))
    if problems:
        raise InputError(problems)
    try:
        stack = _stack(record)
        return Laid(
            stack=stack,
            questions=_questions(record),
            uncertain=tuple(_uncertain(record, stack)),
            hole_diameter_mm=next(
                (x.hole_diameter_mm for x in record.layers if x.hole_diameter_mm), None
            ),
            parts={x.called: x.part for x in record.layers if x.part},
        )
    except PhysicsInputError as error:
        raise InputError([error.problem]) from error


def _problems(record: StackRecord) -> Iterator[Problem]:
    """Yield what doesn't fit together in a stack."""
    for i, layer in enumerate(record.layers):
        yield from _layer_problems(f"layers[{i}]", layer)
    roles = {layer.called: layer.role for layer in record.layers}
    order = [layer.role for layer in record.layers]
    if "blotter" not in order:
        yield Problem("layers", "no blotter", "a blotter among them, as the source of water")
    if record.top == "open" and "cover" in order:
        yield Problem("top", "'open'", "sealed, or a stack without a cover")
    if "cover" in order[:-1]:
        yield Problem("layers", "a cover with layers over it", "a cover as the last layer")
    textiles = [name for name, role in roles.items() if role == "textile"]
    if record.treat.layer not in textiles:
        accepted = "the name of a textile layer: " + (", ".join(textiles) or "none is listed")
        yield Problem("treat.layer", repr(record.treat.layer), accepted)
    target, start = record.treat.target_rh_percent, record.start_rh_percent
    if target.low <= start or target.high < 60:
        accepted = f"above the start RH of {start:g} %, and its upper end at least 60 %"
        yield Problem("treat.target_rh_percent", f"{target.low:g} to {target.high:g}", accepted)
    beside = [n for n, role in roles.items() if role in WET_ABLE and n != record.treat.layer]
    for i, neighbour in enumerate(record.neighbours):
        if neighbour.layer not in beside:
            accepted = "another layer of fibres: " + (", ".join(beside) or "none is listed")
            yield Problem(f"neighbours[{i}].layer", repr(neighbour.layer), accepted)


def _layer_problems(path: str, layer: LayerRecord) -> Iterator[Problem]:
    """Yield what a layer of its role lacks, and what says nothing of it."""
    allowed = OF_ROLE[layer.role]
    for field in sorted(layer.model_fields_set - ALWAYS - allowed):
        given = getattr(layer, field)
        if given is not None:
            accepted = f"for the role {layer.role}: " + ", ".join(sorted(allowed))
            yield Problem(f"{path}.{field}", "a field of another role", accepted)
    for field in NEEDED.get(layer.role, ()):
        if getattr(layer, field) is None:
            yield missing(f"{path}.{field}", f"a value, for a {layer.role}")


def _stack(record: StackRecord) -> Stack:
    """Build the stack; a sealed one gets a cover over 1 mm of air if none is listed."""
    from leastwise.graph import physics  # noqa: PLC0415 - loads the solver

    layers = [_layer(one) for one in record.layers]
    if record.top == "sealed" and record.layers[-1].role != "cover":
        layers += [
            physics.air_gap("air under the cover"),
            physics.film("cover", physics.Role.COVER),
        ]
    patch, middle = record.patch, record.temperature_c.middle
    leak = None
    if patch.slit_mm > 0:
        edge = physics.PackEdge(patch.width_cm, patch.height_cm, patch.slit_mm)
        leak = physics.edge_leak_s_m(edge, middle)
    return physics.Stack(
        tuple(layers),
        temperature_c=middle,
        room_relative_humidity=record.room_rh_percent.middle / 100,
        start_relative_humidity=record.start_rh_percent / 100,
        edge_leak_s_m=leak,
    )


def _layer(one: LayerRecord) -> Layer:
    """Build a layer by its role, then set what was given."""
    from leastwise.graph import physics  # noqa: PLC0415 - loads the solver

    name = one.called
    if one.role == "textile":
        made = physics.textile(name, one.fibre or "", 100.0, 0.1, one.weave or "ordinary")
    elif one.role == "tissue":
        made = physics.tissue(name)
    elif one.role == "blotter":
        made = physics.blotter(name)
    elif one.role == "membrane":
        made = physics.membrane(name, one.membrane or "felt laminate", one.face or "plain")
    elif one.role == "support":
        made = physics.support(name)
    elif one.role == "air gap":
        made = physics.air_gap(name)
    else:
        role = physics.Role(one.role)
        made = physics.film(name, role, one.polymer or "LDPE", one.thickness_um or 50.0)
    given = {
        name: amount.middle * factor
        for field, (name, factor) in AMOUNTS.items()
        if (amount := _amount(one, field)) is not None
    }
    return replace(made, colder_by_k=one.colder_by_k, **given)  # type: ignore[arg-type]


def _amount(one: LayerRecord, field: str) -> Amount | None:
    found: Amount | None = getattr(one, field)
    return found


def _questions(record: StackRecord) -> tuple[Question, ...]:
    """Return one question a neighbour, or one without."""
    from leastwise.graph.physics import Question, Range  # noqa: PLC0415 - loads the solver

    low, high = (end / 100 for end in record.treat.target_rh_percent)
    ask = Question(record.treat.layer, Range(low, high), record.minutes * 60)
    return tuple(
        replace(
            ask,
            neighbour=one.layer,
            neighbour_limit=one.limit_rh_percent / 100,
            neighbour_reads=one.reads,
        )
        for one in record.neighbours
    ) or (ask,)


def _uncertain(record: StackRecord, stack: Stack) -> Iterator[Uncertain]:
    """Yield what is uncertain: what the sources leave open, unless the record says it."""
    from leastwise.graph.physics import (  # noqa: PLC0415 - loads the solver
        Range,
        Uncertain,
        default_uncertainties,
    )

    why = "given as a range"
    said: set[tuple[str, str]] = set()
    for one in record.layers:
        for field, (name, factor) in AMOUNTS.items():
            amount = _amount(one, field)
            if amount is None:
                continue
            said.add((one.called, name))
            if amount.is_range:
                ends = Range(amount.low * factor, amount.high * factor)
                yield Uncertain(one.called, name, ends, why)
    for name, amount, factor in (
        ("temperature_c", record.temperature_c, 1.0),
        ("room_relative_humidity", record.room_rh_percent, 0.01),
    ):
        if amount.is_range:
            yield Uncertain("", name, Range(amount.low * factor, amount.high * factor), why)
    yield from (u for u in default_uncertainties(stack) if (u.layer, u.field) not in said)
