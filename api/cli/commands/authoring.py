"""Commands for those who write knowledge: compare it, measure it, bring it in from a sheet."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from leastwise.api.cli.lines import say
from leastwise.api.cli.shared import (
    JsonOption,
    WithOption,
    day_of,
    mendable,
    open_adviser,
    print_json,
    settings_with,
    tell,
)
from leastwise.api.settings import Settings

if TYPE_CHECKING:
    from leastwise.graph.authoring.csv_import import Imported
    from leastwise.graph.reference.coverage import Coverage, Share

__all__ = ["register"]

SideArgument = Annotated[str, typer.Argument(help="The word shipped, or a folder of Turtle.")]


def register(app: typer.Typer) -> None:
    """Put the commands of this module on the command line."""
    app.command("check-knowledge")(check_knowledge)
    app.command("compare-knowledge")(compare_knowledge)
    app.command("coverage")(coverage)
    app.command("release")(release)
    app.command("import-csv")(import_csv)


def check_knowledge(
    paths: Annotated[
        list[Path] | None,
        typer.Argument(metavar="[PATH]...", help="Turtle files or folders; default: as shipped."),
    ] = None,
    *,
    as_json: JsonOption = False,
) -> None:
    """Check knowledge and rules: which file and line, what is wrong, how to mend it.

    Example: leastwise check-knowledge my-techniques.ttl
    """
    with mendable():
        from leastwise.graph.authoring.check_knowledge import check_files  # noqa: PLC0415

        faults, summary = check_files(paths or [])
    if as_json:
        told = {"summary": summary, "faults": [asdict(fault) for fault in faults]}
        print_json(told)
    else:
        for fault in faults:
            typer.echo(str(fault))  # unbroken at any width: editors follow "file:line"
        say(summary)
    if any(fault.level == "error" for fault in faults):
        raise typer.Exit(1)


def compare_knowledge(
    old: SideArgument,
    new: SideArgument,
    *,
    cases: Annotated[
        list[Path] | None,
        typer.Option("--case", metavar="FILE", help="A case beside the demo cases; repeatable."),
    ] = None,
    whole: Annotated[
        bool, typer.Option("--whole", help="The folders are complete, not laid over the shipped.")
    ] = False,
    as_json: JsonOption = False,
) -> None:
    """Show which claims, verdicts and ranks change from one knowledge to another.

    Leaves with 0 if no verdict or rank changes, with 1 if one does.

    Example: leastwise compare-knowledge shipped my-folder/ --case my-case.yaml
    """
    with mendable():
        from leastwise.graph.authoring.compare import compare, demo_cases  # noqa: PLC0415
        from leastwise.graph.authoring.compare_told import comparison_told  # noqa: PLC0415
        from leastwise.graph.load import open_side  # noqa: PLC0415

        cache = Settings.from_environment().cache
        before, after = (open_side(name, whole=whole, cache=cache) for name in (old, new))
        found = compare(before, after, [*demo_cases(), *(cases or ())])
    if as_json:
        whole_answer = {"verdicts_change": found.verdicts_change, **asdict(found)}
        print_json(whole_answer)
    else:
        say("\n".join(comparison_told(found)))
    if found.verdicts_change:
        raise typer.Exit(1)


def release(
    version: Annotated[str, typer.Argument(metavar="VERSION", help="What it is called: 1.2.0.")],
    *,
    since: Annotated[
        Path | None,
        typer.Option(
            "--since",
            metavar="FOLDER",
            help="The knowledge of the release before (seed_data, with its rules below rules/).",
        ),
    ] = None,
    issued: Annotated[
        str, typer.Option("--issued", metavar="DAY", help="The day of the release; default: today.")
    ] = "",
    overlays: WithOption = None,
    as_json: Annotated[
        bool, typer.Option("--json", help="Print it as JSON-LD instead of Turtle.")
    ] = False,
) -> None:
    """Describe a release of the knowledge as Turtle: version, digests, changed verdicts.

    Example: leastwise release 1.2.0 --since ../leastwise-1.1/seed_data --issued 2026-12-01
    """
    with mendable():
        from datetime import UTC, datetime  # noqa: PLC0415 - keeps --help quick

        from leastwise.graph.authoring.compare import Side, compare, demo_cases  # noqa: PLC0415
        from leastwise.graph.authoring.release import release_statements  # noqa: PLC0415
        from leastwise.graph.exchange.statements import write  # noqa: PLC0415
        from leastwise.graph.load import open_side  # noqa: PLC0415

        day = day_of("--issued", issued) if issued else datetime.now(UTC).date()
        settings = settings_with(overlays)
        now = open_side("shipped", cache=settings.cache)
        if settings.overlays:
            now = Side("shipped with overlays", open_adviser(settings), now.rules)
        before = since and open_side(str(since), whole=True, cache=settings.cache)
        found = compare(before, now, demo_cases()) if before else None
        form = "jsonld" if as_json else "ttl"
        typer.echo(write(release_statements(version, day, now, found), form, settings.base))


def coverage(*, overlays: WithOption = None, as_json: JsonOption = False) -> None:
    """Count what the knowledge and the rules hold, and how many grades are known.

    Example: leastwise coverage --json
    """
    with mendable():
        from leastwise.graph.reference.coverage import measure  # noqa: PLC0415 - keeps --help quick

        found = measure(open_adviser(settings_with(overlays)))
    if as_json:
        print_json(asdict(found))
    else:
        say("\n".join(_coverage(found)))


def _coverage(c: Coverage) -> Iterator[str]:
    rows = [
        ("claims", c.claims, f"{c.statements} numbered statements"),
        ("  by sheet", "", _counts(c.claims_by_sheet)),
        ("  by basis", "", _counts(c.claims_by_basis)),
        ("  by confidence", "", _counts(c.claims_by_confidence)),
        ("  by extent read", "", _counts(c.claims_by_extent_read)),
        ("  by kind", "", _counts(c.claims_by_kind)),
        ("  that disagree", c.claims_that_disagree, ""),
        ("  to be checked", c.claims_to_check, ""),
        ("cells of grades", c.grade_cells, "of one material for one agent, our judgement"),
        ("sources", c.sources, f"{c.sources_not_opened} of them not opened"),
        ("  incomplete", len(c.sources_incomplete), "without author or body, title, or year"),
        ("  undated", c.sources_undated, ""),
        ("  of no named author", len(c.sources_unnamed), "listed by --json"),
        ("  without DOI", len(c.sources_without_doi), "listed by --json"),
        ("techniques", c.techniques, f"in {c.technique_groups} groups"),
        ("materials, structures", c.materials_and_structures, _counts(c.materials_by_kind)),
        ("support materials", c.support_materials, ""),
        ("damages", c.damages, f"{c.damages_without_option} of them with no option but waiting"),
        ("tests", c.tests, ""),
        ("cautions", c.cautions, ""),
        ("conditions", c.conditions, ""),
        ("rules", c.rules, _counts(c.rules_by_severity)),
        ("  by theme", "", _counts(c.rules_by_theme)),
        ("grades known", _percent(c.grades), _share(c.grades)),
        ("  contested", c.grades_contested, ""),
        *((f"  {agent}", _percent(s), _share(s)) for agent, s in c.grades_by_agent.items()),
    ]
    for name, count, note in rows:
        yield f"{name:<28}{count!s:>6}  {note}".rstrip()


def _counts(counts: Mapping[str, int]) -> str:
    return ", ".join(f"{name} {count}" for name, count in counts.items())


def _percent(share: Share) -> str:
    return f"{100 * share.share:.0f} %"


def _share(share: Share) -> str:
    return f"{share.known} of {share.of} pairs of material and agent, {share.inherited} inherited"


def import_csv(
    kind: Annotated[
        str, typer.Argument(metavar="KIND", help="materials, sensitivities or techniques.")
    ],
    file: Annotated[
        Path | None, typer.Argument(metavar="[FILE]", help="The sheet; without it, the template.")
    ] = None,
    *,
    out: Annotated[
        Path | None, typer.Option("--out", metavar="FILE", help="Write the Turtle to a new file.")
    ] = None,
    overlays: WithOption = None,
    as_json: JsonOption = False,
) -> None:
    """Turn a sheet into Turtle; without a sheet print the template to fill in.

    Example: leastwise import-csv materials > my-materials.csv

    Example: leastwise import-csv materials my-materials.csv --out my-folder/materials.ttl
    """
    with mendable():
        from leastwise.graph import load_knowledge  # noqa: PLC0415
        from leastwise.graph.authoring import csv_import  # noqa: PLC0415

        if file is None:
            sheet = csv_import.template_path(kind).read_text("utf-8")
            tell(sheet.removesuffix("\n"), {"kind": kind, "template": sheet}, as_json=as_json)
            return
        settings = settings_with(overlays)
        knowledge = load_knowledge(settings.overlays, cache=settings.cache)
        text = csv_import.read_csv(file)
        found = csv_import.import_csv(kind, text, knowledge, place=str(file))
        if out is not None:
            _write_new(out, found.turtle)
        if as_json:
            print_json(asdict(found) | {"kind": kind, "file": out})
        elif out is None:
            typer.echo(found.turtle, nl=False)
    _tell_number(kind, found)


def _tell_number(kind: str, found: Imported) -> None:
    left_out = found.examples_left_out
    note = f", {left_out} example rows left out" if left_out else ""
    typer.echo(f"{len(found.subjects)} {kind} imported{note}.", err=True)


def _write_new(path: Path, text: str) -> None:
    """Write a file that isn't there yet; nobody's work is overwritten."""
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(text)
    except FileExistsError as error:
        raise ValueError(f"--out {path}: is there already; give the name of a new file") from error
    except OSError as error:
        raise ValueError(f"--out {path}: can't be written ({error.strerror})") from error
