"""A plan and a review as tables on a terminal. Meaning stands in words; colour only adds to it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text

from leastwise.api.cli.tables import DEFERENCE, STYLE, print_lines
from leastwise.graph.planning.values import LeftUndone, Material, Plan, Step, StepTime
from leastwise.graph.proposal.check import Review
from leastwise.graph.sentences import hours_in_words, listed

__all__ = ["print_plan", "print_review"]

LEVEL_STYLE = {"must": "red", "should": "yellow", "note": "none"}


def print_plan(plan: Plan, console: Console | None = None) -> None:
    """Print a plan: people first, what to settle, the steps in order, what is left, the limits."""
    console = console or Console()
    _print_head(plan, console)
    print_lines("People first", (f.message for f in plan.people_first), console)
    _print_before(plan, console)
    _print_steps(plan, console)
    for step in plan.steps:
        _print_step(step, console)
    _print_left(plan, console)
    _print_limits(plan, console)
    print_lines(
        "What limits it",
        (f"{b.limit}: at hand {b.at_hand}, needed {b.needed}. {b.in_words}" for b in plan.binding),
        console,
    )
    _print_frontier(plan, console)
    print_lines("The record", (f.message for f in plan.record), console)
    console.print(f"\nOrder: {plan.policy.label}. {plan.policy.definition}")
    console.print(plan.stamp.in_words)
    console.print(Text(DEFERENCE, style="italic"))


def _print_head(plan: Plan, console: Console) -> None:
    demo = "  (invented demo case)" if plan.case.demo else ""
    console.print(Text(f"{plan.case.title}{demo}", style="bold"))
    console.print(f"Aim: {plan.case.aim}, {plan.case.mounting.replace('-', ' ')}")
    console.print(Text(plan.in_words))


def _print_before(plan: Plan, console: Console) -> None:
    tests: dict[tuple[str, int], list[str]] = {}
    for t in plan.tests_first:
        tests.setdefault((t.label, t.minutes), []).append(t.part_name)
    print_lines(
        "Test first",
        (
            f"{label} on {listed(list(dict.fromkeys(parts)))} "
            f"({minutes} minutes{' each' if len(parts) > 1 else ''})"
            for (label, minutes), parts in tests.items()
        ),
        console,
    )
    print_lines(
        "Settle first",
        (
            f"{p.message} {p.how}: {'; '.join(p.any_of)}" if p.any_of else p.message
            for p in plan.settle_first
        ),
        console,
    )


def _table(*titles: tuple[str, str]) -> Table:
    table = Table(box=None, pad_edge=False, header_style="underline")
    for title, justify in titles:
        table.add_column(title, justify=justify, overflow="fold")  # type: ignore[arg-type]
    return table


def _print_steps(plan: Plan, console: Console) -> None:
    if not plan.steps:
        return
    console.print(Text("\nSteps", style="bold"))
    table = _table(
        ("", "right"), ("work", "left"), ("for", "left"), ("verdict", "left"),
        ("burden", "right"), ("hours", "right"),
    )  # fmt: skip
    for step in plan.steps:
        table.add_row(
            str(step.number),
            step.label,
            ", ".join(step.damages),
            Text(step.verdict, style=STYLE[step.verdict]),
            f"{step.burden:.2f}",
            _hours(step.hours),
        )
    console.print(table)
    saved = f"; {_hours(plan.hours_saved)} saved by sharing set-ups" if plan.hours_saved[1] else ""
    console.print(f"In all {_hours(plan.hours)} h, recording and watching included{saved}.")
    if plan.hours_of_projects is not None:
        console.print(f"{plan.hours_of_projects.in_words}.")


def _time(one: StepTime) -> str:
    words = f"{one.what.lower()} {one.value} ({one.basis})"
    return f"{words}. {one.remark}".rstrip(".") if one.remark else words


def _print_step(step: Step, console: Console) -> None:
    console.print(Text(f"\n{step.number}. {step.label}", style="bold"))
    for title, text in _told_of(step):
        if text:
            console.print(Padding(Text(f"{title}: {text}"), (0, 0, 0, 1)))


def _told_of(step: Step) -> tuple[tuple[str, str], ...]:
    """Return what is told of a step, each with its title; a text may be empty."""
    shared = step.shares_set_up_with
    return (
        ("Why", step.because),
        ("Try first", " ".join(one.in_words for one in step.tried_first)),
        ("Waits for", "; ".join(step.waits_for)),
        ("If that comes out badly", "; ".join(step.otherwise)),
        ("After", "; ".join(dict.fromkeys(_after(step)))),
        ("First", "; ".join(act.in_words for act in step.acts)),
        ("Parts", " ".join(s.in_words for s in step.sections)),
        ("Hours", step.hours_basis),
        ("Times", "; ".join(_time(t) for t in step.times)),
        ("Worked out", "; ".join(_time(t) for t in step.worked)),
        ("Limits", " ".join(step.limits)),
        ("Set-up", (f"(shared with step {shared}) " if shared else "") + step.set_up),
        ("Equipment", step.equipment),
        ("Materials", "; ".join(_material(m) for m in step.materials)),
        ("Watch", step.monitoring),
        ("Stop", step.stop_sign),
        ("Take care", " ".join(step.take_care)),
    )


def _after(step: Step) -> Iterable[str]:
    for reason in step.after:
        wait = f", waiting until {reason.wait_until}" if reason.wait_until else ""
        yield f"step {reason.step}{wait}: {reason.because.rstrip('.')}"


def _material(m: Material) -> str:
    if not m.amount:
        return f"{m.item} ({m.because})"
    low, high = m.amount
    span = f"{low:g}-{high:g}" if high > low else f"{low:g}"
    return f"{m.item} {span} {m.unit.replace('2', '²')}"


def _print_left(plan: Plan, console: Console) -> None:
    if not plan.left_undone:
        return
    console.print(Text("\nLeft undone", style="bold"))
    for left in plan.left_undone:
        console.print(Padding(Text(f"- {left.damage}: {left.because}{_watch(left)}"), (0, 0, 0, 1)))
        for barred in left.barred:
            line = f"{barred.label} ({barred.verdict}): {barred.because}."
            console.print(Padding(Text(line), (0, 0, 0, 5)))


def _watch(left: LeftUndone) -> str:
    return "" if left.done or not left.watch else f" Watch: {left.watch}"


def _print_limits(plan: Plan, console: Console) -> None:
    if not plan.use_limits:
        return
    console.print(Text("\nLimits to use", style="bold"))
    table = _table(
        ("limit", "left"), ("allowed", "left"), ("planned", "left"), ("kept", "left"), ("", "left")
    )
    for limit in plan.use_limits:
        basis = "" if limit.basis == "read" else " (recalled)" if limit.basis == "memory" else ""
        table.add_row(
            limit.quantity, limit.allowed + basis, limit.planned, limit.kept,
            f"{limit.remark} {_few(limit.parts)}".strip(),
        )  # fmt: skip
    console.print(table)


def _few(parts: Sequence[str]) -> str:
    return ", ".join(parts) if len(parts) <= 5 else f"{', '.join(parts[:4])} and others"


def _print_frontier(plan: Plan, console: Console) -> None:
    if len(plan.frontier) < 2:
        return
    console.print(Text("\nWhat hours buy", style="bold"))
    table = _table(
        ("hours", "right"), ("grades of hindrance taken away", "right"),
        ("damages that meet the aim", "right"), ("burden", "right"), ("within the means", "left"),
    )  # fmt: skip
    for point in plan.frontier:
        table.add_row(
            _hours(point.hours),
            str(point.benefit),
            str(point.damages_that_meet_the_aim),
            f"{point.burden:.2f}",
            "yes" if point.within_means else "no",
        )
    console.print(table)


def _hours(span: Sequence[float]) -> str:
    low, high = span
    return hours_in_words(low, high, to="-")


def print_review(review: Review, console: Console | None = None) -> None:
    """Print a review: findings by weight, each with its reason, what would settle it and claims."""
    console = console or Console()
    demo = "  (invented demo proposal)" if review.demo else ""
    console.print(Text(f"{review.title}{demo}", style="bold"))
    console.print(f"Case: {review.case.title}. Stage: {review.stage}.")
    console.print(review.in_words)
    level = ""
    for finding in review.findings:
        if finding.level != level:
            level = finding.level
            console.print(Text(f"\n{level.capitalize()}", style=f"bold {LEVEL_STYLE[level]}"))
        where = f"{finding.kind}, {finding.about}"
        console.print(Padding(Text(f"- [{where}] {finding.message}"), (0, 0, 0, 1)))
        console.print(Padding(Text(f"Because: {finding.because}"), (0, 0, 0, 5)))
        if finding.would_settle:
            line = f"Would settle it: {'; '.join(finding.would_settle[:4])}."
            console.print(Padding(Text(line), (0, 0, 0, 5)))
        if finding.claims:
            named = ", ".join(c.partition(":")[2] for c in finding.claims[:6])
            console.print(Padding(Text(f"Rests on: {named}"), (0, 0, 0, 5)))
    if not review.findings:
        console.print("Nothing was found.")
    console.print(f"\n{review.stamp.in_words}")
    console.print(Text(DEFERENCE, style="italic"))
