"""Commands of the bench physics: moisture, air, light, load."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Annotated, Any

import typer

from leastwise.api.cli.shared import JsonOption, mendable
from leastwise.graph.errors import CaseError, Problem

__all__ = ["register"]

SvgOption = Annotated[
    Path | None, typer.Option("--svg", metavar="FILE", help="Write the drawing to a file.")
]
FRICTION = Annotated[
    tuple[float, float] | None,
    typer.Option(metavar="LOW HIGH", help="Static friction coefficient, from a tilt test."),
]


def moisture(
    stack: Annotated[
        str, typer.Argument(metavar="STACK", help="A stack file (YAML or JSON), or demo:NAME.")
    ],
    *,
    as_json: JsonOption = False,
    svg: SvgOption = None,
    samples: Annotated[
        int | None, typer.Option(help="Samples for the band; default: as the file says.")
    ] = None,
    radial: Annotated[
        bool, typer.Option("--radial", help="Also follow the spread past the pack's edge.")
    ] = False,
) -> None:
    """Say when to look, when to stop and what the neighbours get, for a pack of layers.

    Example: leastwise moisture demo:silk-over-lining

    Example: leastwise moisture my-stack.yaml --radial --svg stack.svg
    """
    with mendable():
        from leastwise.graph.setups.stack_file import read_record, read_stack  # noqa: PLC0415

        record = read_stack(stack)
        if samples is not None:
            record = read_record(
                type(record), record.model_dump(mode="json") | {"samples": samples}
            )
        with _progress() as report:
            from leastwise.graph.setups.answers import answer_moisture  # noqa: PLC0415

            answer = answer_moisture(record, radial=radial, progress=report)
        _tell(answer, as_json=as_json, svg=svg)


def air(  # noqa: PLR0913 - options
    *,
    temperature: Annotated[float, typer.Option(help="Of the air, in °C.")],
    rh: Annotated[float, typer.Option(help="Relative humidity in %.")],
    surface: Annotated[float | None, typer.Option(help="Temperature of a surface, °C.")] = None,
    heat_to: Annotated[float | None, typer.Option(help="The same air at this temperature.")] = None,
    chamber_m3: Annotated[float | None, typer.Option(help="Volume of a chamber or tent.")] = None,
    air_changes: Annotated[float, typer.Option(help="Its air changes in an hour.")] = 0.5,
    supply: Annotated[float, typer.Option(help="Water given to it, g an hour.")] = 5.0,
    target: Annotated[float, typer.Option(help="RH wanted in it, %.")] = 75.0,
    as_json: JsonOption = False,
    svg: SvgOption = None,
) -> None:
    """Say dew point, RH at a surface, mould, chemical life, and how a chamber fills.

    Example: leastwise air --temperature 20 --rh 50 --surface 15 --heat-to 25
    """
    data: dict[str, Any] = {"temperature_c": temperature, "rh_percent": rh}
    data |= {"surface_c": surface, "heat_to_c": heat_to}
    if chamber_m3 is not None:
        data["chamber"] = {
            "volume_m3": chamber_m3, "air_changes_per_h": air_changes,
            "supply_g_h": supply, "target_rh_percent": target,
        }  # fmt: skip
    names = {"temperature_c": "--temperature", "rh_percent": "--rh", "surface_c": "--surface"}
    names |= {"heat_to_c": "--heat-to", "chamber.volume_m3": "--chamber-m3"}
    names |= {"chamber.air_changes_per_h": "--air-changes", "chamber.supply_g_h": "--supply"}
    names |= {"chamber.target_rh_percent": "--target"}
    with mendable(), _named(names):
        from leastwise.graph.case.packs import AirRecord  # noqa: PLC0415
        from leastwise.graph.setups.checks import answer_air  # noqa: PLC0415
        from leastwise.graph.setups.stack_file import read_record  # noqa: PLC0415

        _tell(answer_air(read_record(AirRecord, data)), as_json=as_json, svg=svg)


def light(  # noqa: PLR0913 - options
    *,
    lux: Annotated[float, typer.Option(help="Light on the object.")],
    hours_per_day: Annotated[float, typer.Option(help="Hours of light a day.")],
    days: Annotated[int, typer.Option(help="Days on show, in one run.")],
    silk: Annotated[bool, typer.Option("--silk", help="There is silk in it.")] = False,
    fugitive: Annotated[bool, typer.Option("--fugitive", help="A dye may be fugitive.")] = False,
    blue_wool: Annotated[
        str | None, typer.Option(metavar="CLASS", help="Blue wool class: 3, or a range: 1-3.")
    ] = None,
    uv: Annotated[float | None, typer.Option(help="UV in microwatt per lumen.")] = None,
    rest_lux: Annotated[float, typer.Option(help="Light at rest.")] = 0.0,
    rest_hours: Annotated[float, typer.Option(help="Hours of light a day at rest.")] = 0.0,
    cycle_years: Annotated[int, typer.Option(help="Years of a rotation.")] = 1,
    as_json: JsonOption = False,
    svg: SvgOption = None,
) -> None:
    """Say dose, budget, years to a just noticeable fade, and a rotation that holds it.

    Example: leastwise light --lux 50 --hours-per-day 8 --days 225 --silk --blue-wool 1-3
    """
    names = {"lux": "--lux", "hours_per_day": "--hours-per-day", "days": "--days"}
    names |= {"blue_wool": "--blue-wool", "uv_microwatt_per_lumen": "--uv"}
    names |= {"rest_lux": "--rest-lux", "rest_illuminance_lx": "--rest-lux"}
    names |= {"rest_hours_per_day": "--rest-hours", "cycle_years": "--cycle-years"}
    with mendable(), _named(names):
        from leastwise.graph.case.packs import LightRecord  # noqa: PLC0415
        from leastwise.graph.setups.checks import answer_light  # noqa: PLC0415
        from leastwise.graph.setups.stack_file import read_record  # noqa: PLC0415

        data = {
            "lux": lux, "hours_per_day": hours_per_day, "days": days, "silk": silk,
            "fugitive": fugitive, "blue_wool": _classes(blue_wool), "uv_microwatt_per_lumen": uv,
            "rest_lux": rest_lux, "rest_hours_per_day": rest_hours, "cycle_years": cycle_years,
        }  # fmt: skip
        _tell(answer_light(read_record(LightRecord, data)), as_json=as_json, svg=svg)


def _classes(given: str | None) -> object:
    """Return one blue wool class or a range of them; what can't be read is left to the record."""
    if given is None:
        return None
    try:
        ends = [float(end) for end in given.split("-")]
    except ValueError:
        return given
    return ends[0] if len(ends) == 1 else ends


load = typer.Typer(
    no_args_is_help=True,
    rich_markup_mode=None,
    help="Forces on a textile: slope, hung, lines, weights, tape.\n\n"
    "Example: leastwise load slope --mass 3 --angle 30 --friction 0.5 1.0",
)


@load.command("slope")
def load_slope(
    *,
    mass: Annotated[float, typer.Option(help="In kg.")],
    angle: Annotated[float, typer.Option(help="Of the board from the vertical, in degrees.")],
    friction: FRICTION = None,
    as_json: JsonOption = False,
    svg: SvgOption = None,
) -> None:
    """Say what pulls and what presses on a slanted board, and the friction it takes.

    Example: leastwise load slope --mass 3 --angle 30 --friction 0.5 1.0
    """
    data = {"mass_kg": mass, "angle_from_vertical_deg": angle, "friction": friction}
    names = {"mass_kg": "--mass", "angle_from_vertical_deg": "--angle", "friction": "--friction"}
    _load("slope", data, names, as_json=as_json, svg=svg)


@load.command("hung")
def load_hung(  # noqa: PLR0913 - options
    *,
    density: Annotated[float, typer.Option(help="Mass per area of the cloth, g/m².")],
    drop: Annotated[float, typer.Option(help="Length from the top edge, cm.")],
    fullness: Annotated[float, typer.Option(help="Width of cloth over width of line.")] = 1.0,
    strength: Annotated[
        tuple[float, float] | None, typer.Option(metavar="LOW HIGH", help="N/m, from a trial.")
    ] = None,
    factor: Annotated[float, typer.Option(help="Wanted strength over load.")] = 5.0,
    as_json: JsonOption = False,
    svg: SvgOption = None,
) -> None:
    """Say what the top edge of a hung textile carries.

    Example: leastwise load hung --density 200 --drop 150
    """
    data = {"areal_density_g_m2": density, "drop_cm": drop, "fullness": fullness}
    data |= {"strength_n_m": strength, "wanted_factor": factor}  # type: ignore[dict-item]
    names = {"areal_density_g_m2": "--density", "drop_cm": "--drop", "fullness": "--fullness"}
    names |= {"strength_n_m": "--strength", "wanted_factor": "--factor"}
    _load("hung", data, names, as_json=as_json, svg=svg)


@load.command("lines")
def load_lines(
    *,
    density: Annotated[float, typer.Option(help="Mass per area of the cloth, g/m².")],
    drop: Annotated[float, typer.Option(help="Length from the top edge, cm.")],
    allowed: Annotated[
        float | None, typer.Option(help="Load that a line may carry, N/m, from a trial.")
    ] = None,
    as_json: JsonOption = False,
    svg: SvgOption = None,
) -> None:
    """Say how many lines of support a hung textile needs.

    Example: leastwise load lines --density 200 --drop 150 --allowed 1
    """
    data = {"areal_density_g_m2": density, "drop_cm": drop, "allowed_load_n_m": allowed}
    names = {"areal_density_g_m2": "--density", "drop_cm": "--drop"}
    names |= {"allowed_load_n_m": "--allowed"}
    _load("lines", data, names, as_json=as_json, svg=svg)


@load.command("weights")
def load_weights(
    *,
    pressure: Annotated[float, typer.Option(help="Wanted pressure, g/cm².")],
    area: Annotated[float, typer.Option(help="Area of the patch, cm².")],
    cloth: Annotated[str, typer.Option(help="fragile, ordinary or robust.")] = "fragile",
    as_json: JsonOption = False,
) -> None:
    """Say which weights give a pressure on a patch.

    Example: leastwise load weights --pressure 1 --area 400
    """
    data = {"pressure_g_cm2": pressure, "area_cm2": area, "cloth": cloth}
    names = {"pressure_g_cm2": "--pressure", "area_cm2": "--area", "cloth": "--cloth"}
    _load("weights", data, names, as_json=as_json, svg=None)


@load.command("tape")
def load_tape(
    *,
    mass: Annotated[float, typer.Option(help="Of the skirt, kg.")],
    waist: Annotated[float, typer.Option(help="Waist of the figure, cm.")],
    tape_width: Annotated[float, typer.Option(help="In cm.")] = 2.5,
    as_json: JsonOption = False,
) -> None:
    """Say how a waist tape and the shoulders share a skirt's weight.

    Example: leastwise load tape --mass 3 --waist 62
    """
    data = {"mass_kg": mass, "waist_cm": waist, "tape_width_cm": tape_width}
    names = {"mass_kg": "--mass", "waist_cm": "--waist", "tape_width_cm": "--tape-width"}
    _load("tape", data, names, as_json=as_json, svg=None)


def _load(
    kind: str, data: Mapping[str, Any], names: dict[str, str], *, as_json: bool, svg: Path | None
) -> None:
    with mendable(), _named(names):
        from leastwise.graph.setups.checks import answer_load  # noqa: PLC0415
        from leastwise.graph.setups.stack_file import read_load  # noqa: PLC0415

        answer = answer_load(read_load({"kind": kind, **data}))
        _tell(answer, as_json=as_json, svg=svg)


@contextmanager
def _named(names: Mapping[str, str]) -> Iterator[None]:
    """Call a wrong field by the option that the user typed."""
    try:
        yield
    except CaseError as error:
        raise CaseError(
            [Problem(names.get(p.path, p.path), p.given, p.accepted) for p in error.problems]
        ) from error


@contextmanager
def _progress() -> Iterator[Callable[[int, int], None]]:
    """Show how far the band is, on stderr and only where someone looks."""
    from rich.console import Console  # noqa: PLC0415 - keeps --help quick
    from rich.progress import Progress  # noqa: PLC0415

    console = Console(stderr=True)
    with Progress(console=console, transient=True, disable=not console.is_terminal) as bar:
        task = bar.add_task("samples", total=None)
        yield lambda done, total: bar.update(task, completed=done, total=total)


def _tell(answer: Any, *, as_json: bool, svg: Path | None) -> None:
    """Write the drawing, and print the answer as JSON or in words."""
    from leastwise.api.cli import physics_tables  # noqa: PLC0415 - keeps --help quick
    from leastwise.api.drawings.choose import drawing_of  # noqa: PLC0415
    from leastwise.graph.setups.answers import as_json as json_of  # noqa: PLC0415

    if svg is not None:
        _write(svg, drawing_of(answer) or "")
    if as_json:
        sys.stdout.write(json_of(answer))
        return
    shown: dict[str, Callable[[Any], None]] = {
        "MoistureAnswer": physics_tables.print_moisture,
        "AirAnswer": physics_tables.print_air,
        "LightAnswer": physics_tables.print_light,
        "LoadAnswer": physics_tables.print_load,
    }
    shown[type(answer).__name__](answer)


def _write(path: Path, text: str) -> None:
    try:
        path.write_text(text, "utf-8")
    except OSError as error:
        said = error.strerror or "can't be written"
        raise CaseError([Problem(f"--svg {path}", said, "a file that can be written")]) from error


def register(app: typer.Typer) -> None:
    """Put the commands of this module on the command line."""
    app.command()(moisture)
    app.command()(air)
    app.command()(light)
    app.add_typer(load, name="load")
