"""Commands: questions on the options of a case, beyond the answer; one command for each."""

from __future__ import annotations

import inspect
from collections.abc import Callable
from functools import wraps
from typing import Annotated, Any

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
    for name, question in (
        ("explain", explain),
        ("why", why),
        ("what-if", what_if),
        ("scores", scores),
        ("arguments", arguments),
        ("tests", find_out_first),
        ("shares", shares),
    ):
        app.command(name)(_asked(question))


def _asked(question: Callable[..., Question]) -> Callable[..., None]:
    """Return the command that answers what *question* makes of its arguments.

    Every question is asked of a case and takes the same options, which are declared here, once.
    """

    def command(
        case: CaseArgument,
        *,
        as_json: JsonOption = False,
        policy: PolicyOption = "",
        overlays: WithOption = None,
        language: LangOption = None,
        **own: Any,
    ) -> None:
        ask(question(**own), case, policy, overlays, language, as_json=as_json)

    case, *options, _ = inspect.signature(command, eval_str=True).parameters.values()
    own = inspect.signature(question, eval_str=True).parameters.values()
    found = wraps(question)(command)
    found.__signature__ = inspect.Signature([case, *own, *options])  # type: ignore[attr-defined]
    return found


def explain(option: OptionArgument) -> Question:
    """Show the reasons for one option's verdict, with claims and sources.

    Example: leastwise explain demo:festival-dancer crushed-tiers/membrane-pack-suspended
    """
    return Question(explain=option)


def why(
    option: OptionArgument,
    other: Annotated[str, typer.Argument(metavar="OTHER", help="The option it is beside.")],
) -> Question:
    """Say why one option stands above another.

    Example: leastwise why demo:guild-banner splits/encapsulation splits/laid-couching
    """
    return Question(why=option, over=other)


def what_if(option: OptionArgument) -> Question:
    """Find the fewest tests, barriers, entries or means that change a verdict.

    Example: leastwise what-if demo:guild-banner splits/pressure-mount
    """
    return Question(what_would_change=option)


def scores(option: OptionArgument) -> Question:
    """Show every grade of an option, its interval and what it rests on.

    Example: leastwise scores demo:guild-banner splits/encapsulation
    """
    return Question(scores=option)


def arguments(
    option: OptionArgument,
    *,
    svg: Annotated[bool, typer.Option("--svg", help="Draw them, as SVG.")] = False,
) -> Question:
    """Show the arguments for and against an option, and what can be held together.

    Example: leastwise arguments demo:guild-banner splits/encapsulation --svg > arguments.svg
    """
    return Question(draw=option) if svg else Question(preferred=option)


def find_out_first() -> Question:
    """Say which tests to do first: the most change of choice for the least loss.

    Example: leastwise tests demo:furnishing-panel
    """
    return Question(find_out_first=True)


def shares() -> Question:
    """Show how far the order of the options depends on weights and scores.

    Example: leastwise shares demo:guild-banner
    """
    return Question(shares=True)
