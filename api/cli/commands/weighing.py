"""The questions beyond the answer: why, what would change it, what to find out first, and how far.

They are options of ``leastwise weigh``; this module declares them, checks that one is asked at a
time, calls and prints.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Annotated, Any

import typer

from leastwise.api.services.questions import (
    arguments_of,
    as_json_text,
    drawing_of,
    option_id,
    scores_of,
)

if TYPE_CHECKING:
    from leastwise.graph import Adviser, Case
    from leastwise.graph.questions.acceptability import CaseShares
    from leastwise.graph.questions.preferred import ArgumentsView
    from leastwise.graph.questions.tests_first import FindOutFirst
    from leastwise.graph.questions.why import Contrast, WhatWouldChange
    from leastwise.graph.weighing.scores import OptionScores

__all__ = ["Question", "register", "reply"]

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
    typer.Option("--why", metavar="OPTION", help="Why this option, and not the one of --over."),
]
OverOption = Annotated[
    str | None, typer.Option("--over", metavar="OPTION", help="The other option of --why.")
]
ChangeOption = Annotated[
    str | None,
    typer.Option(
        "--what-would-change",
        metavar="OPTION",
        help="The fewest tests, barriers, entries or means that change an option's verdict.",
    ),
]
FindOutOption = Annotated[
    bool,
    typer.Option("--find-out-first", help="Tests by the change of choice that they promise."),
]
SharesOption = Annotated[
    bool,
    typer.Option("--shares", help="How often each option takes each rank if weights vary."),
]
ScoresOption = Annotated[
    str | None,
    typer.Option("--scores", metavar="OPTION", help="Every grade of an option, and its grounds."),
]
PreferredOption = Annotated[
    str | None,
    typer.Option(
        "--preferred", metavar="OPTION", help="The arguments on an option and what can be held."
    ),
]
DrawOption = Annotated[
    str | None,
    typer.Option("--draw", metavar="OPTION", help="Draw the arguments on an option, as SVG."),
]
EVERY = 50  # runs between two lines of progress


def register(app: typer.Typer) -> None:
    """Put the commands of this module on the command line: none, they are options of weigh."""


@dataclass(frozen=True, slots=True)
class Question:
    """What is asked of a case besides its answer."""

    explain: str | None
    why: str | None
    over: str | None
    what_would_change: str | None
    find_out_first: bool
    shares: bool
    scores: str | None
    preferred: str | None
    draw: str | None

    def check(self) -> None:
        """Raise ValueError unless at most one question is asked, and that whole."""
        names = ("why", "over", "explain", "what_would_change", "find_out_first", "shares",
                 "scores", "preferred", "draw")  # fmt: skip
        asked = [f"--{n.replace('_', '-')}" for n in names if getattr(self, n)]
        if (self.why is None) != (self.over is None):
            raise ValueError(f"{asked[0]}: accepted is --why OPTION together with --over OPTION")
        if len(asked) > 1 + (self.why is not None):
            raise ValueError(f"{' and '.join(asked)}: accepted is one question at a time")

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


def reply(question: Question, adviser: Adviser, case: Case, *, as_json: bool) -> None:
    """Answer a question on standard output, as text or as JSON."""
    if question.draw:
        if as_json:
            raise ValueError("--draw and --json: accepted is --draw alone, which gives SVG")
        sys.stdout.write(drawing_of(adviser, case, option_id(adviser, case, question.draw)))
        return
    result, show = _ask(question, adviser, case)
    if as_json:
        sys.stdout.write(as_json_text(result))
    else:
        show(result)


def _ask(question: Question, adviser: Adviser, case: Case) -> tuple[Any, Callable[[Any], None]]:
    def named(name: str) -> str:
        return option_id(adviser, case, name)

    if question.why and question.over:
        from leastwise.graph.questions.why import why  # noqa: PLC0415 - only for this question

        return why(adviser, case, named(question.why), named(question.over)), _show_contrast
    if question.what_would_change:
        from leastwise.graph.questions.why import what_would_change  # noqa: PLC0415

        option = named(question.what_would_change)
        return what_would_change(adviser, case, option, progress=_progress), _show_change
    if question.find_out_first:
        from leastwise.graph.questions.tests_first import find_out_first  # noqa: PLC0415

        return find_out_first(adviser, case, progress=_progress), _show_tests
    if question.scores:
        return scores_of(adviser, case, named(question.scores)), _show_scores
    if question.preferred:
        return arguments_of(adviser, case, named(question.preferred), preferred=True), _show_args
    from leastwise.graph.questions.acceptability import case_shares  # noqa: PLC0415

    return case_shares(adviser, case), _show_shares


def _progress(runs: int) -> None:
    if runs % EVERY == 0:
        typer.echo(f"weighed again {runs} times ...", err=True)


def _show_contrast(found: Contrast) -> None:
    echo = typer.echo
    if not found.as_asked:
        echo("It is the other way round.")
    echo(found.sentence)
    for title, grounds in (("Because", found.reasons), ("Although", found.although)):
        for ground in grounds:
            claims = f"  [{', '.join(ground.claims)}]" if ground.claims else ""
            weighted = f" ({ground.weighted:+.3f} of burden)" if ground.weighted else ""
            echo(f"{title.lower()}: {ground.text}{weighted}{claims}")
    echo(f"Decided by: {found.decided_by}.")
    echo(f"It stays above in {found.ahead_share:.0%} of the weightings that the policy allows.")
    if found.left_alone:
        echo(f"Leaving alone: {found.left_alone}")


def _show_change(found: WhatWouldChange) -> None:
    echo = typer.echo
    echo(found.sentence)
    for way in found.ways:
        note = ", against the record" if way.against_record else ""
        least = "no smaller set does it" if way.smallest else "none of these can be left out"
        echo(f"\n{way.verdict} (then rank {way.rank_then}; {least}{note}):")
        for change in way.changes:
            echo(f"  - {change.label}{_cost(change.minutes, change.material_lost)}")
    if found.still_against:
        echo("\nWhat nothing that is open lifts:")
        for text in found.still_against:
            echo(f"  - {text}")
    if found.left_alone:
        echo(f"\nLeaving alone: {found.left_alone}")
    tried = "every single change and pair was" if found.all_pairs_tried else "not every pair was"
    echo(
        f"\n{found.open_changes} open changes; weighed again {found.runs} times, {tried} tried "
        f"(bound {found.bound})."
    )


def _cost(minutes: int, lost: int) -> str:
    words = ("nothing lost", "a mark or loose fibre", "a crumb or yarn", "a cut piece")
    return f" ({minutes} min, {words[min(lost, 3)]})" if minutes else ""


def _show_tests(found: FindOutFirst) -> None:
    echo = typer.echo
    echo(found.sentence)
    for number, step in enumerate(found.steps, 1):
        echo(
            f"\n{number}. changes the choice with a chance of {step.expected_change:.1%}; expect "
            f"{step.minutes:g} min and a loss of {step.material_lost:g}; gain {step.gain:.3f}"
        )
        for test in step.tests:
            echo(f"   - {test.label}{_cost(test.minutes, test.material_lost)}")
        for other in step.also_needed:
            echo(f"   - besides: {other.label}")
        for then in step.then:
            echo(f"   {then}")
    for line in found.without_tests:
        echo(f"\nNo test is needed, only this, for {line}")
    if found.changes_nothing:
        echo(f"\n{len(found.changes_nothing)} open tests would change no choice as things stand.")
    echo(f"Priors: {found.prior_in_words}. Weighed again {found.runs} times.")


def _show_shares(found: CaseShares) -> None:
    echo = typer.echo
    for damage in found.damages:
        echo(f"\n{damage.damage} (first place open by {damage.entropy_bits:.2f} bits)")
        for option in damage.options:
            held = [(r, s) for r, s in enumerate(option.shares, 1) if s >= 0.005]
            ranks = ", ".join(f"rank {r}: {s:.0%}" for r, s in held[:4])
            sure = "" if option.confidence is None else f"; confidence {option.confidence:.0%}"
            echo(f"  {option.label} ({option.verdict}): {ranks}{sure}")
    echo(
        f"\n{found.draws} weightings that {found.policy} allows, case digest {found.digest}, seed "
        f"{found.seed}; standard error at most {found.standard_error:.3f}."
    )


def _show_scores(found: OptionScores) -> None:
    for graded in (*found.burdens.values(), found.benefit):
        name = graded.axis.partition(":")[2].replace("-", " ")
        typer.echo(f"{name}: {graded.value:g} ({graded.low:g} to {graded.high:g})")
        claims = f"  [{', '.join(graded.claims)}]" if graded.claims else ""
        typer.echo(f"    {graded.because}{claims}")


def _show_args(found: ArgumentsView) -> None:
    typer.echo(f"{found.option}: {found.verdict}")
    for one in found.arguments:
        attacks = f" -> {', '.join(one.attacks)}" if one.attacks else ""
        typer.echo(f"  {one.id} ({one.kind}, {one.label}){attacks}: {one.text}")
    for number, extension in enumerate(found.preferred or [], 1):
        typer.echo(f"What can be held together, {number}: {', '.join(extension) or 'nothing'}")
