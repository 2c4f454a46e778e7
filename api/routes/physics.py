"""POST /physics/...: moisture, air, light and load, as JSON or as a drawing."""

from __future__ import annotations

from collections.abc import Callable, Coroutine
from typing import TYPE_CHECKING, Annotated, Any, Final, Literal

from fastapi import APIRouter, Body, Header, Query, Request, Response
from fastapi.exceptions import RequestValidationError

from leastwise.api.asking.weighty import Weighty, work
from leastwise.api.http.state import adviser_of
from leastwise.api.identity.access import Access, Action
from leastwise.graph.case.packs import AirRecord, LightRecord, LoadRecord, StackRecord
from leastwise.graph.errors import NotFound, Problem
from leastwise.graph.setups.stack_file import InputError, as_problems

if TYPE_CHECKING:
    from leastwise.graph.setups.dose import DoseScale

__all__ = ["ACCESS", "router"]

#: What one request may ask for; the command line takes more.
SAMPLES_MOST: Final = 256
MINUTES_MOST: Final = 1440
SVG: Final = "image/svg+xml"


class _Route(Weighty):
    """Tells a wrong field as the other doors do: its path in the record, what is accepted."""

    def get_route_handler(self) -> Callable[[Request], Coroutine[Any, Any, Response]]:
        handle = super().get_route_handler()

        async def told(request: Request) -> Response:
            try:
                return await handle(request)
            except RequestValidationError as error:
                raise InputError(_problems(error)) from error

        return told


def _problems(error: RequestValidationError) -> list[Problem]:
    found = error.errors()
    if any(one["type"] == "json_invalid" for one in found):
        said = str(found[0].get("ctx", {}).get("error", "text that isn't JSON"))
        return [Problem("the body", said, "valid JSON")]
    return as_problems({**one, "loc": tuple(one["loc"])[1:]} for one in found)


router = APIRouter(tags=["physics"], prefix="/physics", route_class=_Route)
ACCESS: Access = {
    "POST /physics/moisture": Action.USE,
    "POST /physics/air": Action.USE,
    "POST /physics/light": Action.USE,
    "POST /physics/load": Action.USE,
}

Drawing = Annotated[Literal["svg"] | None, Query(description="svg for the drawing instead of JSON")]
Accept = Annotated[str, Header(include_in_schema=False)]
RESPONSES: dict[int | str, dict[str, Any]] = {
    200: {
        "description": "The answer as JSON, or its drawing",
        "content": {"application/json": {"schema": {"type": "object"}}, SVG: {}},
    },
    422: {"description": "A field can't be used; each with its path (RFC 9457)"},
}
LAYERS = [
    {"role": "support"},
    {"role": "barrier"},
    {"role": "blotter", "water_load_g_m2": [120, 240]},
    {"role": "membrane", "membrane": "felt laminate"},
    {"role": "tissue"},
    {"role": "textile", "name": "silk", "fibre": "silk", "areal_density_g_m2": [50, 70],
     "thickness_mm": 0.12},
    {"role": "textile", "name": "lining", "fibre": "cotton", "areal_density_g_m2": 110,
     "thickness_mm": 0.25},
]  # fmt: skip
STACK = {
    "leastwise_stack": 1,
    "title": "Crushed silk over a cotton lining (invented)",
    "demo": True,
    "layers": LAYERS,
    "treat": {"layer": "silk", "target_rh_percent": [70, 80]},
    "neighbours": [{"layer": "lining", "limit_rh_percent": 65}],
    "minutes": 60,
    "samples": 32,
}
AIR = {"temperature_c": 20, "rh_percent": 50, "surface_c": 15, "heat_to_c": 25}
LIGHT = {"lux": 50, "hours_per_day": 8, "days": 225, "silk": True, "blue_wool": [1, 3]}
SLOPE = {"kind": "slope", "mass_kg": 3, "angle_from_vertical_deg": 30, "friction": [0.5, 1.0]}
LINES = {"kind": "lines", "areal_density_g_m2": 200, "drop_cm": 150, "allowed_load_n_m": 1}


def _example(name: str, value: dict[str, Any]) -> dict[str, Any]:
    return {name: {"summary": "Invented", "value": value}}


def _answered(answer: Any, drawing: str | None, accept: str) -> Response:
    text, media = _written(answer, drawing, accept)
    return Response(text, media_type=media)


def _written(answer: Any, drawing: str | None, accept: str) -> tuple[str, str]:
    """Return an answer as the caller wants it, with its media type."""
    from leastwise.graph.setups.answers import as_json  # noqa: PLC0415 - loads the solver

    if drawing != "svg" and SVG not in accept:
        return as_json(answer), "application/json"
    from leastwise.api.drawings.choose import drawing_of  # noqa: PLC0415 - loads the solver

    text = drawing_of(answer)
    if text is None:
        raise NotFound("drawing", getattr(answer, "kind", "this"), ["slope", "hung", "lines"])
    return text, SVG


# These are plain functions, so that the framework runs them in its thread pool.


@router.post("/moisture", summary="When to look and stop, for a pack", responses=RESPONSES)
def moisture(
    body: Annotated[StackRecord, Body(openapi_examples=_example("silk", STACK))],
    request: Request,
    drawing: Drawing = None,
    radial: Annotated[bool, Query(description="also the spread past the edge")] = False,
    accept: Accept = "",
) -> Response:
    """Return times as bands, advice for the bench and the doses on the neighbours.

    The body is what a STACK file holds. Same content as `leastwise moisture STACK --json`.
    """
    problems = []
    most = SAMPLES_MOST // max(1, len(body.neighbours))  # each neighbour takes a band of its own
    if body.samples > most:
        accepted = f"at most {most} over HTTP ({SAMPLES_MOST} shared by the neighbours)"
        problems.append(Problem("samples", str(body.samples), accepted))
    if body.minutes > MINUTES_MOST:
        problems.append(
            Problem("minutes", f"{body.minutes:g}", f"at most {MINUTES_MOST} over HTTP")
        )
    if problems:
        raise InputError(problems)
    from leastwise.graph.setups.dose import dose_scale  # noqa: PLC0415 - loads the solver

    scale = dose_scale(adviser_of(request).knowledge)
    text, media = work(request, _moisture, body, radial, scale, drawing, accept)
    return Response(text, media_type=media)


def _moisture(
    body: StackRecord, radial: bool, scale: DoseScale, drawing: str | None, accept: str
) -> tuple[str, str]:
    from leastwise.graph.setups.answers import answer_moisture  # noqa: PLC0415 - as above

    return _written(answer_moisture(body, radial=radial, scale=scale), drawing, accept)


@router.post("/air", summary="Dew point, surfaces, mould, a chamber", responses=RESPONSES)
def air(
    body: Annotated[AirRecord, Body(openapi_examples=_example("room", AIR))],
    drawing: Drawing = None,
    accept: Accept = "",
) -> Response:
    """Return what follows for some air. Same content as `leastwise air --json`."""
    from leastwise.graph.setups.checks import answer_air  # noqa: PLC0415

    return _answered(answer_air(body), drawing, accept)


@router.post("/light", summary="Light dose, budget, fading, rotation", responses=RESPONSES)
def light(
    body: Annotated[LightRecord, Body(openapi_examples=_example("silk", LIGHT))],
    drawing: Drawing = None,
    accept: Accept = "",
) -> Response:
    """Return a display's light against its budget. Same content as `leastwise light --json`."""
    from leastwise.graph.setups.checks import answer_light  # noqa: PLC0415

    return _answered(answer_light(body), drawing, accept)


@router.post("/load", summary="Slope, hung, lines, weights, tape", responses=RESPONSES)
def load(
    body: Annotated[
        LoadRecord,
        Body(openapi_examples=_example("slope", SLOPE) | _example("lines", LINES)),
    ],
    drawing: Drawing = None,
    accept: Accept = "",
) -> Response:
    """Return the forces on a textile. Same content as `leastwise load ... --json`."""
    from leastwise.graph.setups.checks import answer_load  # noqa: PLC0415

    return _answered(answer_load(body), drawing, accept)
