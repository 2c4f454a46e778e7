"""The answers to questions beyond the answer, as text on a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from leastwise.api.cli.lines import say
from leastwise.graph.meanings import Verdict

if TYPE_CHECKING:
    from leastwise.graph.questions.acceptability import CaseShares, OptionShares
    from leastwise.graph.questions.preferred import ArgumentsView
    from leastwise.graph.questions.tests_first import FindOutFirst
    from leastwise.graph.questions.what_if import WhatWouldChange
    from leastwise.graph.questions.why import Contrast
    from leastwise.graph.weighing.scores import OptionScores

__all__ = [
    "print_arguments",
    "print_changes",
    "print_contrast",
    "print_scores",
    "print_shares",
    "print_tests",
]


def print_contrast(found: Contrast) -> None:
    """Print why one option stands above another."""
    if not found.as_asked:
        say("It is the other way round.")
    say(found.sentence)
    for title, grounds in (("Because", found.reasons), ("Although", found.although)):
        for ground in grounds:
            claims = f"  [{', '.join(ground.claims)}]" if ground.claims else ""
            weighted = f" ({ground.weighted:+.3f} of burden)" if ground.weighted else ""
            say(f"{title.lower()}: {ground.text}{weighted}{claims}")
    say(f"Decided by: {found.decided_by}.")
    say(f"It stays above in {found.ahead_share:.0%} of the weightings that the policy allows.")
    if found.same_way:
        say(f"Both go much the same way: {found.same_way}")
    if found.left_alone:
        say(f"Leaving alone: {found.left_alone}")


def print_changes(found: WhatWouldChange) -> None:
    """Print what would change a verdict."""
    say(found.sentence)
    for way in found.ways:
        note = ", against the record" if way.against_record else ""
        least = "no smaller set does it" if way.smallest else "none of these can be left out"
        say(f"\n{way.verdict} (then rank {way.rank_then}; {least}{note}):")
        for change in way.changes:
            say(f"  - {change.label}{_cost(change.minutes, change.material_lost)}")
    if found.still_against:
        say("\nWhat no open test or entry would resolve:")
        for text in found.still_against:
            say(f"  - {text}")
    if found.left_alone:
        say(f"\nLeaving alone: {found.left_alone}")
    tried = "every single change and pair was" if found.all_pairs_tried else "not every pair was"
    say(
        f"\n{found.open_changes} open changes; weighed again {found.runs} times, {tried} tried "
        f"(bound {found.bound})."
    )


def _cost(minutes: int, lost: int) -> str:
    words = ("nothing lost", "a mark or loose fibre", "a crumb or yarn", "a cut piece")
    return f" ({minutes} min, {words[min(lost, 3)]})" if minutes else ""


def print_tests(found: FindOutFirst) -> None:
    """Print which tests to do first."""
    say(found.sentence)
    for number, step in enumerate(found.steps, 1):
        lost = step.material_lost
        loss = f"a loss of {lost:g} expected" if lost else "no loss of material"
        say(
            f"\n{number}. {step.expected_change:.1%} chance of changing the choice; about "
            f"{step.minutes:g} min, {loss} (gain {step.gain:.3f})"
        )
        for test in step.tests:
            say(f"   - {test.label}{_cost(test.minutes, test.material_lost)}")
        for other in step.also_needed:
            say(f"   - besides: {other.label}")
        for then in step.then:
            say(f"   {then}")
    for line in found.without_tests:
        say(f"\nNo test is needed, only this, for {line}")
    if found.changes_nothing:
        say(f"\n{len(found.changes_nothing)} open tests would change no choice as things stand.")
    say(f"Priors: {found.prior_in_words}. Weighed again {found.runs} times.")


def print_shares(found: CaseShares) -> None:
    """Print how often each way is first and each option takes each rank; what is out, in a line."""
    for damage in found.damages:
        say(f"\n{damage.damage} (how open the first place is: {damage.entropy_bits:.2f} bits)")
        options = {one.option: one for one in damage.options}
        for way in damage.ways:
            if way.way:
                say(f"  {way.way} ({len(way.options)} options): first in {way.first:.0%}")
            for name in way.options:
                say(f"{'  ' * bool(way.way)}  {_ranks_of(options[name])}")
        out = [one.label for one in damage.options if one.verdict == Verdict.DEFEATED]
        if out:
            say(f"  defeated, whatever the weights: {', '.join(out)}")
    say(
        f"\n{found.draws} weightings that {found.policy} allows, case digest {found.digest}, seed "
        f"{found.seed}; standard error at most {found.standard_error:.3f}."
    )


def _ranks_of(option: OptionShares) -> str:
    held = [(r, s) for r, s in enumerate(option.shares, 1) if s >= 0.005]
    ranks = ", ".join(f"rank {r}: {s:.0%}" for r, s in held[:4])
    sure = "" if option.confidence is None else f"; confidence {option.confidence:.0%}"
    return f"{option.label} ({option.verdict}): {ranks}{sure}"


def print_scores(found: OptionScores) -> None:
    """Print each grade of an option with its interval and grounds."""
    for graded in (*found.burdens.values(), found.benefit):
        name = graded.axis.partition(":")[2].replace("-", " ")
        say(f"{name}: {graded.value:g} ({graded.low:g} to {graded.high:g})")
        claims = f"  [{', '.join(graded.claims)}]" if graded.claims else ""
        say(f"    {graded.because}{claims}")


def print_arguments(found: ArgumentsView) -> None:
    """Print the arguments on an option, and what can be held together."""
    say(f"{found.option}: {found.verdict}")
    for one in found.arguments:
        attacks = f" -> {', '.join(one.attacks)}" if one.attacks else ""
        say(f"  {one.id} ({one.kind}, {one.label}){attacks}: {one.text}")
    for number, extension in enumerate(found.preferred or [], 1):
        say(f"What can be held together, {number}: {', '.join(extension) or 'nothing'}")
