"""Commands: the invented cases, the form of a record, and the answer to one."""

from __future__ import annotations

import json
import sys
from typing import Annotated

import typer

from leastwise.api.cli.commands.weighing import (
    ChangeOption,
    DrawOption,
    FindOutOption,
    OverOption,
    PolicyOption,
    PreferredOption,
    Question,
    ScoresOption,
    SharesOption,
    WhyOption,
    ask,
)
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
from leastwise.api.services.questions import as_json_text

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Put the commands of this module on the command line."""
    app.command()(demo)
    app.command()(schema)
    app.command()(weigh)


def demo(
    name: Annotated[
        str | None, typer.Argument(metavar="[NAME]", help="One of them; without it, all names.")
    ] = None,
    *,
    as_json: JsonOption = False,
) -> None:
    """List the invented cases, or print one as a pattern for your own.

    Example: leastwise demo guild-banner > my-case.yaml
    """
    with mendable():
        from leastwise.graph.case.demo import demo_names, demo_path  # noqa: PLC0415 - as above
        from leastwise.graph.case.text import load_text  # noqa: PLC0415

        if name is None:
            names = list(demo_names())
            typer.echo(as_json_text(names) if as_json else "\n".join(names), nl=not as_json)
            return
        text = demo_path(name).read_text("utf-8")
        if as_json:
            text = as_json_text(load_text(text, is_json=False))
        typer.echo(text, nl=False)


def schema() -> None:
    """Print the JSON Schema of a case record.

    Example: leastwise schema > case.schema.json
    """
    from leastwise.graph.case.reading import case_schema  # noqa: PLC0415 - keeps the others quick

    typer.echo(json.dumps(case_schema(), indent=1, sort_keys=True))


def weigh(  # noqa: PLR0913 - one argument for each option of the command
    case: CaseArgument,
    *,
    as_json: JsonOption = False,
    explain: Annotated[
        str | None,
        typer.Option("--explain", metavar="OPTION", hidden=True),
    ] = None,
    policy: PolicyOption = "",
    why: WhyOption = None,
    over: OverOption = None,
    what_would_change: ChangeOption = None,
    find_out_first: FindOutOption = False,
    shares: SharesOption = False,
    scores: ScoresOption = None,
    preferred: PreferredOption = None,
    draw: DrawOption = None,
    everything: Annotated[
        bool, typer.Option("--all", help="Also show options that are dominated, idle or refused.")
    ] = False,
    once: Annotated[
        bool, typer.Option("--once", help="In JSON, write each finding and reason once.")
    ] = False,
    overlays: WithOption = None,
    language: LangOption = None,
) -> None:
    """Rank what could be done, least intrusive first.

    Example: leastwise weigh demo:festival-dancer

    Example: leastwise weigh demo:guild-banner --lang de

    Then ask further: leastwise explain, why, what-if, tests, shares, scores, arguments.
    """
    question = Question(
        explain, why, over, what_would_change, find_out_first, shares, scores, preferred, draw
    )
    if question.hint:
        typer.echo(f"leastwise: {question.hint}", err=True)
    if explain is not None or over is not None or question.is_beyond_the_answer:
        ask(question, case, policy, overlays, language, as_json=as_json)
        return
    with mendable():
        from leastwise.api.cli.tables import print_answer  # noqa: PLC0415 - not for JSON
        from leastwise.graph.weighing.once import answer_once  # noqa: PLC0415 - as above

        adviser = open_adviser(settings_with(overlays, language)).under(policy)
        answer = adviser.weigh(open_case(case, adviser.knowledge))
        if as_json:
            sys.stdout.write(answer_once(answer) if once else answer.as_json())
        else:
            print_answer(answer, everything=everything)
