"""The command line: each command reads, calls, prints.

A mistake of the user is one sentence and exit code 2, never a traceback.
"""

from __future__ import annotations

import json
import sys
from dataclasses import asdict
from pathlib import Path
from typing import Annotated

import typer

from leastwise.api.cli.commands import (
    accounts,
    authoring,
    book,
    checking,
    exchange,
    physics,
    planning,
    proposing,
    questions,
    serving,
    storing,
    weighing,
)
from leastwise.api.cli.grouped import Grouped
from leastwise.api.cli.shared import (
    CaseArgument,
    JsonOption,
    LangOption,
    WithOption,
    mendable,
    open_adviser,
    open_case,
    settings_with,
)

__all__ = ["app"]

app = typer.Typer(
    name="leastwise",
    cls=Grouped,
    no_args_is_help=True,
    rich_markup_mode=None,
    pretty_exceptions_enable=False,
    help="What is the least that has to be done to this textile so that it can serve its purpose?",
    epilog="Exit codes: 0 done; 1 done, and something is wrong with what was checked or a verdict "
    "changed; 2 a mistake, told in one sentence.",
)


@app.command()
def weigh(  # noqa: PLR0913 - one argument for each option of the command
    case: CaseArgument,
    *,
    as_json: JsonOption = False,
    explain: Annotated[
        str | None,
        typer.Option("--explain", metavar="OPTION", hidden=True),
    ] = None,
    policy: weighing.PolicyOption = "",
    why: weighing.WhyOption = None,
    over: weighing.OverOption = None,
    what_would_change: weighing.ChangeOption = None,
    find_out_first: weighing.FindOutOption = False,
    shares: weighing.SharesOption = False,
    scores: weighing.ScoresOption = None,
    preferred: weighing.PreferredOption = None,
    draw: weighing.DrawOption = None,
    everything: Annotated[
        bool, typer.Option("--all", help="Options that are beaten, idle or refused too.")
    ] = False,
    overlays: WithOption = None,
    language: LangOption = None,
) -> None:
    """Rank what could be done, least intrusive first.

    Example: leastwise weigh demo:festival-dancer

    Example: leastwise weigh demo:guild-banner --lang de

    Then ask further: leastwise explain, why, what-if, tests, shares, scores, arguments.
    """
    question = weighing.Question(
        explain, why, over, what_would_change, find_out_first, shares, scores, preferred, draw
    )
    if question.hint:
        typer.echo(f"leastwise: {question.hint}", err=True)
    if explain is not None or over is not None or question.is_beyond_the_answer:
        weighing.ask(question, case, policy, overlays, language, as_json=as_json)
        return
    with mendable():
        from leastwise.api.cli import tables  # noqa: PLC0415 - keeps the other commands quick

        adviser = open_adviser(settings_with(overlays, language)).under(policy)
        answer = adviser.weigh(open_case(case, adviser.knowledge))
        if as_json:
            sys.stdout.write(answer.as_json())
        else:
            tables.print_answer(answer, everything=everything)


@app.command("check-knowledge")
def check_knowledge(
    paths: Annotated[
        list[Path] | None,
        typer.Argument(metavar="[PATH]...", help="Turtle files or folders; default: as shipped."),
    ] = None,
    *,
    as_json: JsonOption = False,
) -> None:
    """Check knowledge and rules: says which file, which line, what is wrong and how to mend it.

    Example: leastwise check-knowledge my-techniques.ttl
    """
    with mendable():
        from leastwise.graph.authoring.check_knowledge import check_files  # noqa: PLC0415

        faults, summary = check_files(paths or [])
    if as_json:
        told = {"summary": summary, "faults": [asdict(fault) for fault in faults]}
        typer.echo(json.dumps(told, ensure_ascii=False, indent=1, sort_keys=True))
    else:
        typer.echo("\n".join([*map(str, faults), summary]))
    if any(fault.level == "error" for fault in faults):
        raise typer.Exit(1)


@app.command()
def schema() -> None:
    """Print the JSON Schema of a case record.

    Example: leastwise schema > case.schema.json
    """
    from leastwise.graph.case.reading import case_schema  # noqa: PLC0415

    typer.echo(json.dumps(case_schema(), indent=1, sort_keys=True))


@app.command()
def concept(
    name: Annotated[str, typer.Argument(metavar="CONCEPT", help="A CURIE or a label.")],
    overlays: WithOption = None,
) -> None:
    """Show what the knowledge says of a concept, a claim, a source or a rule.

    Example: leastwise concept material:gelatin-sequins
    """
    with mendable():
        from leastwise.graph.case.reading import find_concept  # noqa: PLC0415
        from leastwise.graph.names import SCHEMES  # noqa: PLC0415
        from leastwise.graph.reference.concept_view import view_concept  # noqa: PLC0415

        settings = settings_with(overlays)
        adviser = open_adviser(settings)
        k = adviser.knowledge
        found = name
        if ":" not in name:
            matches = (find_concept(name, scheme, k) for scheme in SCHEMES)
            found = next((m for m in matches if m), name)
        view = view_concept(found, k, adviser.rules, settings.base)
        typer.echo(json.dumps(asdict(view), ensure_ascii=False, indent=1, sort_keys=True))


@app.command()
def demo(
    name: Annotated[str | None, typer.Argument(metavar="[NAME]")] = None,
) -> None:
    """List the invented cases, or print one as a pattern for your own.

    Example: leastwise demo guild-banner > my-case.yaml
    """
    with mendable():
        from leastwise.graph.case.demo import demo_names, demo_path  # noqa: PLC0415

        if name is None:
            typer.echo("\n".join(demo_names()))
        else:
            typer.echo(demo_path(name).read_text("utf-8"), nl=False)


def _version(*, wanted: bool) -> None:
    if wanted:
        from leastwise.graph.version import program_version  # noqa: PLC0415

        typer.echo(f"leastwise {program_version()}")
        raise typer.Exit


@app.callback()
def _root(
    *,
    version: Annotated[
        bool,
        typer.Option(
            "--version",
            callback=lambda v: _version(wanted=v),
            is_eager=True,
            help="Show the version and exit.",
        ),
    ] = False,
) -> None:
    pass


for _commands in (
    authoring,
    book,
    checking,
    exchange,
    physics,
    planning,
    proposing,
    questions,
    serving,
    storing,
    accounts,
):
    _commands.register(app)
