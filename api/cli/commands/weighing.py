"""The questions beyond the answer: why, what would change it, what to find out first, and how far.

Each is a command of its own. They were options of ``leastwise weigh``, where they still work for
one release, with a hint to the command.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Callable
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Any

import typer

from leastwise.api.cli.question_tables import (
    print_arguments,
    print_changes,
    print_contrast,
    print_scores,
    print_shares,
    print_tests,
)
from leastwise.api.cli.shared import (
    mendable,
    open_adviser,
    open_case,
    settings_with,
)
from leastwise.api.services.questions import (
    arguments_of,
    as_json_text,
    drawing_of,
    find_option,
    option_id,
    scores_of,
)

if TYPE_CHECKING:
    from leastwise.graph import Adviser, Case
    from leastwise.graph.ids import OptionId

__all__ = ["PolicyOption", "Question", "ask"]

PolicyOption = Annotated[
    str,
    typer.Option(
        "--policy",
        metavar="POLICY",
        help="Order the options by another policy, such as policy:display-driven.",
    ),
]
WhyOption = Annotated[
    str | None,
    typer.Option("--why", metavar="OPTION", hidden=True),
]
OverOption = Annotated[
    str | None,
    typer.Option("--over", metavar="OPTION", hidden=True),
]
ChangeOption = Annotated[
    str | None,
    typer.Option("--what-would-change", metavar="OPTION", hidden=True),
]
FindOutOption = Annotated[
    bool,
    typer.Option("--find-out-first", hidden=True),
]
SharesOption = Annotated[
    bool,
    typer.Option("--shares", hidden=True),
]
ScoresOption = Annotated[
    str | None,
    typer.Option("--scores", metavar="OPTION", hidden=True),
]
PreferredOption = Annotated[
    str | None,
    typer.Option("--preferred", metavar="OPTION", hidden=True),
]
DrawOption = Annotated[
    str | None,
    typer.Option("--draw", metavar="OPTION", hidden=True),
]
EVERY = 50  # runs between two lines of progress
#: What was an option of weigh -> the command that asks the same.
NOW = (
    ("explain", "explain CASE OPTION"),
    ("why", "why CASE OPTION OTHER"),
    ("what_would_change", "what-if CASE OPTION"),
    ("find_out_first", "tests CASE"),
    ("shares", "shares CASE"),
    ("scores", "scores CASE OPTION"),
    ("preferred", "arguments CASE OPTION"),
    ("draw", "arguments CASE OPTION --svg"),
)


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked of a case besides its answer."""

    explain: str | None = None
    why: str | None = None
    over: str | None = None
    what_would_change: str | None = None
    find_out_first: bool = False
    shares: bool = False
    scores: str | None = None
    preferred: str | None = None
    draw: str | None = None

    def check(self) -> None:
        """Raise ValueError unless at most one question is asked, and that whole."""
        names = ("why", "over", "explain", "what_would_change", "find_out_first", "shares",
                 "scores", "preferred", "draw")  # fmt: skip
        asked = [f"--{n.replace('_', '-')}" for n in names if getattr(self, n)]
        if (self.why is None) != (self.over is None):
            raise ValueError(f"{asked[0]}: expected --why OPTION together with --over OPTION")
        if len(asked) > 1 + (self.why is not None):
            raise ValueError(f"{' and '.join(asked)}: expected one question at a time")

    @property
    def hint(self) -> str:
        """Which command asks what an option of ``weigh`` asks, or an empty text."""
        found = next((command for name, command in NOW if getattr(self, name)), "")
        return f"This is a command of its own now: leastwise {found}" if found else ""

    @property
    def is_beyond_the_answer(self) -> bool:
        """Whether more than the answer itself is asked for."""
        return bool(
            self.why
            or self.what_would_change
            or self.find_out_first
            or self.shares
            or self.scores
            or self.preferred
            or self.draw
        )


def ask(  # noqa: PLR0913 - what every question is asked with
    question: Question,
    case: str,
    policy: str,
    overlays: list[Path] | None,
    language: str | None,
    *,
    as_json: bool,
) -> None:
    """Answer a question on a case file or demo case."""
    with mendable():
        question.check()
        adviser = open_adviser(settings_with(overlays, language)).under(policy)
        found = open_case(case, adviser.knowledge)
        if question.explain is not None:
            _explain(adviser, found, question.explain, as_json=as_json)
        else:
            _reply(question, adviser, found, as_json=as_json)


def _explain(adviser: Adviser, case: Case, name: str, *, as_json: bool) -> None:
    from leastwise.api.cli.tables import print_option  # noqa: PLC0415 - only for this question

    answer = adviser.weigh(case)
    option = find_option(answer, name)
    if as_json:
        typer.echo(json.dumps(asdict(option), ensure_ascii=False, indent=1, sort_keys=True))
    else:
        print_option(answer, option)


def _reply(question: Question, adviser: Adviser, case: Case, *, as_json: bool) -> None:
    """Answer a question on standard output, as text or as JSON."""
    if question.draw:
        if as_json:
            raise ValueError("--json beside a drawing: expected the drawing alone, which is SVG")
        sys.stdout.write(drawing_of(adviser, case, option_id(adviser, case, question.draw)))
        return
    result, show = _ask(question, adviser, case)
    if as_json:
        sys.stdout.write(as_json_text(result))
    else:
        show(result)


def _ask(question: Question, adviser: Adviser, case: Case) -> tuple[Any, Callable[[Any], None]]:
    def named(name: str) -> OptionId:
        return option_id(adviser, case, name)

    if question.why and question.over:
        from leastwise.graph.questions.why import why  # noqa: PLC0415 - only for this question

        return why(adviser, case, named(question.why), named(question.over)), print_contrast
    if question.what_would_change:
        from leastwise.graph.questions.what_if import what_would_change  # noqa: PLC0415

        option = named(question.what_would_change)
        return what_would_change(adviser, case, option, progress=_progress), print_changes
    if question.find_out_first:
        from leastwise.graph.questions.tests_first import find_out_first  # noqa: PLC0415

        return find_out_first(adviser, case, progress=_progress), print_tests
    if question.scores:
        return scores_of(adviser, case, named(question.scores)), print_scores
    if question.preferred:
        return arguments_of(
            adviser, case, named(question.preferred), preferred=True
        ), print_arguments
    from leastwise.graph.questions.acceptability import case_shares  # noqa: PLC0415

    return case_shares(adviser, case), print_shares


def _progress(runs: int) -> None:
    if runs % EVERY == 0:
        typer.echo(f"weighed again {runs} times ...", err=True)
