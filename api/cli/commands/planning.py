"""Commands: a plan for a case, and the check of a colleague's proposal."""

from __future__ import annotations

import json
import sys
from pathlib import Path
from typing import Annotated

import typer

from leastwise.api.cli.shared import (
    CaseArgument,
    JsonOption,
    WithOption,
    mendable,
    open_adviser,
    open_case,
    settings_with,
)

__all__ = ["register"]


def plan(
    case: CaseArgument,
    *,
    undecided: Annotated[
        bool,
        typer.Option(
            "--undecided/--accepted-only",
            help="Plan what waits for a test where nothing accepted meets the aim, or don't.",
        ),
    ] = True,
    as_json: JsonOption = False,
    overlays: WithOption = None,
) -> None:
    """Choose one option for each damage, together, and put the work in order.

    Least burden that meets the aim, within the hours, skill and equipment of the case.

    Example: leastwise plan demo:festival-dancer

    Example: leastwise plan my-case.yaml --accepted-only --json
    """
    with mendable():
        from leastwise.graph.planning.make import make_plan  # noqa: PLC0415 - keeps the others quick

        adviser = open_adviser(settings_with(overlays))
        made = make_plan(open_case(case, adviser.knowledge), adviser, undecided=undecided)
        if as_json:
            sys.stdout.write(made.as_json())
        else:
            from leastwise.api.cli.plan_tables import print_plan  # noqa: PLC0415

            print_plan(made)


def review(
    proposal: Annotated[
        str | None,
        typer.Argument(
            metavar="PROPOSAL",
            help="A proposal file (JSON or YAML), or demo:hasty-dancer for an invented one.",
        ),
    ] = None,
    *,
    as_json: JsonOption = False,
    schema: Annotated[
        bool, typer.Option("--schema", help="Print the JSON Schema of a proposal instead.")
    ] = False,
    overlays: WithOption = None,
) -> None:
    """Check a proposal: what speaks against it, what is missing, what would be gentler.

    Example: leastwise review demo:hasty-dancer

    Example: leastwise review --schema > proposal.schema.json
    """
    with mendable():
        from leastwise.graph.proposal.received import (  # noqa: PLC0415 - keeps the others quick
            demo_proposal,
            proposal_schema,
            read_proposal,
        )

        if schema:
            typer.echo(json.dumps(proposal_schema(), indent=1, sort_keys=True))
            return
        if proposal is None:
            raise ValueError("review: no PROPOSAL; expected a proposal file or demo:NAME")
        from leastwise.graph.proposal.check import review as check  # noqa: PLC0415

        is_demo = proposal.startswith("demo:")
        path = demo_proposal(proposal.removeprefix("demo:")) if is_demo else Path(proposal)
        adviser = open_adviser(settings_with(overlays))
        checked = check(*read_proposal(path, adviser.knowledge), adviser)
        if as_json:
            sys.stdout.write(checked.as_json())
        else:
            from leastwise.api.cli.plan_tables import print_review  # noqa: PLC0415

            print_review(checked)


def path(
    case: CaseArgument,
    *,
    most_tests: Annotated[
        int, typer.Option(min=0, max=6, help="Tests to look at; each one triples the work.")
    ] = 4,
    as_json: JsonOption = False,
    overlays: WithOption = None,
) -> None:
    """Say which test comes first for the whole object, and what to do after each result.

    Example: leastwise path demo:festival-dancer

    Example: leastwise path my-case.yaml --most-tests 5 --json
    """
    with mendable():
        from leastwise.graph.questions.path import find_path  # noqa: PLC0415 - keeps others quick

        adviser = open_adviser(settings_with(overlays))
        found = find_path(adviser, open_case(case, adviser.knowledge), most_tests=most_tests)
        if as_json:
            sys.stdout.write(found.as_json())
        else:
            from leastwise.api.cli.path_tables import print_path  # noqa: PLC0415

            print_path(found)


def register(app: typer.Typer) -> None:
    """Put the commands of this module on the command line."""
    app.command()(plan)
    app.command()(path)
    app.command()(review)
