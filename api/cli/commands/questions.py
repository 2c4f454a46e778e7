"""Commands: questions on the options of a case, beyond the answer; one command for each."""

from __future__ import annotations

from typing import Annotated

import typer

from leastwise.api.cli.commands.weighing import PolicyOption, Question, ask
from leastwise.api.cli.shared import CaseArgument, JsonOption, LangOption, WithOption

__all__ = ["register"]

OptionArgument = Annotated[
    str,
    typer.Argument(metavar="OPTION", help="An option's id, or its last part if only one has it."),
]


def register(app: typer.Typer) -> None:
    """Put a command for each question on the command line."""
    app.command()(explain)
    app.command()(why)
    app.command("what-if")(what_if)
    app.command()(scores)
    app.command()(arguments)
    app.command("tests")(find_out_first)
    app.command()(shares)


def explain(  # noqa: PLR0913 - one argument for each option of the command
    case: CaseArgument,
    option: OptionArgument,
    *,
    as_json: JsonOption = False,
    policy: PolicyOption = "",
    overlays: WithOption = None,
    language: LangOption = None,
) -> None:
    """Show the reasons for one option's verdict, with claims and sources.

    Example: leastwise explain demo:festival-dancer crushed-tiers/membrane-pack-suspended
    """
    ask(Question(explain=option), case, policy, overlays, language, as_json=as_json)


def why(  # noqa: PLR0913 - as above
    case: CaseArgument,
    option: OptionArgument,
    other: Annotated[str, typer.Argument(metavar="OTHER", help="The option it is beside.")],
    *,
    as_json: JsonOption = False,
    policy: PolicyOption = "",
    overlays: WithOption = None,
    language: LangOption = None,
) -> None:
    """Say why one option stands above another.

    Example: leastwise why demo:guild-banner splits/encapsulation splits/laid-couching
    """
    ask(Question(why=option, over=other), case, policy, overlays, language, as_json=as_json)


def what_if(  # noqa: PLR0913 - as above
    case: CaseArgument,
    option: OptionArgument,
    *,
    as_json: JsonOption = False,
    policy: PolicyOption = "",
    overlays: WithOption = None,
    language: LangOption = None,
) -> None:
    """Find the fewest tests, barriers, entries or means that change a verdict.

    Example: leastwise what-if demo:guild-banner splits/pressure-mount
    """
    ask(Question(what_would_change=option), case, policy, overlays, language, as_json=as_json)


def scores(  # noqa: PLR0913 - as above
    case: CaseArgument,
    option: OptionArgument,
    *,
    as_json: JsonOption = False,
    policy: PolicyOption = "",
    overlays: WithOption = None,
    language: LangOption = None,
) -> None:
    """Show every grade of an option, its interval and what it rests on.

    Example: leastwise scores demo:guild-banner splits/encapsulation
    """
    ask(Question(scores=option), case, policy, overlays, language, as_json=as_json)


def arguments(  # noqa: PLR0913 - as above
    case: CaseArgument,
    option: OptionArgument,
    *,
    svg: Annotated[bool, typer.Option("--svg", help="Draw them, as SVG.")] = False,
    as_json: JsonOption = False,
    policy: PolicyOption = "",
    overlays: WithOption = None,
    language: LangOption = None,
) -> None:
    """Show the arguments for and against an option, and what can be held together.

    Example: leastwise arguments demo:guild-banner splits/encapsulation --svg > arguments.svg
    """
    asked = Question(draw=option) if svg else Question(preferred=option)
    ask(asked, case, policy, overlays, language, as_json=as_json)


def find_out_first(
    case: CaseArgument,
    *,
    as_json: JsonOption = False,
    policy: PolicyOption = "",
    overlays: WithOption = None,
    language: LangOption = None,
) -> None:
    """Say which tests to do first: the most change of choice for the least loss.

    Example: leastwise tests demo:furnishing-panel
    """
    ask(Question(find_out_first=True), case, policy, overlays, language, as_json=as_json)


def shares(
    case: CaseArgument,
    *,
    as_json: JsonOption = False,
    policy: PolicyOption = "",
    overlays: WithOption = None,
    language: LangOption = None,
) -> None:
    """Show how far the order of the options depends on weights and scores.

    Example: leastwise shares demo:guild-banner
    """
    ask(Question(shares=True), case, policy, overlays, language, as_json=as_json)
