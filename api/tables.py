"""An answer as tables on a terminal. Meaning stands in words; colour is only an addition."""

from __future__ import annotations

import difflib
import textwrap
from collections.abc import Iterable

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text
from rich.tree import Tree

from leastwise.graph.answer import Answer, DamageAnswer, FindingView, OptionAnswer, Reason
from leastwise.graph.errors import UnknownOption

__all__ = ["find_option", "print_answer", "print_option"]

STYLE = {"accepted": "green", "undecided": "yellow", "defeated": "red"}
DEFERENCE = (
    "Advice for a conservator's own judgement. Where people or objects could come to harm, "
    "local codes, safety data sheets and licensed practice decide."
)


def find_option(answer: Answer, name: str) -> OptionAnswer:
    """Return an option by its id, or by its last part if only one option has it.

    Raises:
        UnknownOption: none or several fit; names near to it are suggested.

    """
    options = answer.options()
    exact = [o for o in options if o.id == name]
    loose = exact or [o for o in options if o.id.partition("/")[2] == name]
    if len(loose) == 1:
        return loose[0]
    names = [o.id for o in loose] or difflib.get_close_matches(name, [o.id for o in options], n=3)
    raise UnknownOption("option", name, names)


def print_answer(answer: Answer, console: Console | None = None) -> None:
    """Print the options of every damage, the tests to do first and what protects people."""
    console = console or Console()
    demo = "  (invented demo case)" if answer.case.demo else ""
    console.print(Text(f"{answer.case.title}{demo}", style="bold"))
    console.print(f"Aim: {answer.case.aim}, {answer.case.mounting.replace('-', ' ')}")
    _print_people(answer, console)
    for damage in answer.damages:
        _print_damage(answer, damage, console)
    if not answer.damages:
        console.print("\nNo damage is recorded, so nothing has to be done.")
    _print_tests(answer, console)
    _print_record(answer, console)
    console.print(f"\nOrder: {answer.policy.label}. {answer.policy.definition}")
    console.print(f"Knowledge {answer.stamp.knowledge}, rules {answer.stamp.rules}.")
    _print_overlays(answer, console)
    console.print(Text(DEFERENCE, style="italic"))


def _print_overlays(answer: Answer, console: Console) -> None:
    """Print each folder laid over the knowledge with what it overrides, and never pass over one."""
    for overlay in answer.stamp.overlays:
        if overlay.overrides:
            console.print(Text(f"Overrides by {overlay.folder}:", style="bold"))
            for sentence in overlay.overrides:
                console.print(Padding(Text(f"- {sentence}"), (0, 0, 0, 1)))
        else:
            console.print(f"Overrides by {overlay.folder}: none.")


def _print_people(answer: Answer, console: Console) -> None:
    if answer.people_first:
        console.print(Text("\nPeople first", style="bold"))
        for view in answer.people_first:
            console.print(Padding(f"- {view.message}", (0, 0, 0, 1)))


def _print_damage(answer: Answer, damage: DamageAnswer, console: Console) -> None:
    parts = ", ".join(damage.parts)
    console.print(
        Text(f"\n{damage.id}: {damage.label} ({damage.activity}) on {parts}", style="bold")
    )
    table = Table(box=None, pad_edge=False, header_style="underline")
    table.add_column("", justify="right")
    table.add_column("verdict")
    table.add_column("option, and why it isn't accepted", ratio=1)
    table.add_column("aim")
    table.add_column("burden", justify="right")
    table.add_column("hours", justify="right")
    for option in damage.options:
        table.add_row(
            str(option.rank),
            Text(option.verdict, style=STYLE[option.verdict]),
            _named(option),
            "met" if option.meets_aim else "not met",
            f"{option.burden:.2f}",
            _hours(option.hours),
        )
    console.print(table)


def _named(option: OptionAnswer) -> Text:
    """Return the option's name, with the first ground below it where it isn't accepted."""
    name, ground = Text(option.label), _because(option)
    return name.append(f"\n{ground}", style="dim") if ground else name


def _because(option: OptionAnswer) -> str:
    effect = {"defeated": "defeats", "undecided": "leavesUndecided"}.get(option.verdict)
    grounds = [f.message for f in option.findings if f.effect == effect]
    if not grounds:
        return ""
    more = f" (+{len(grounds) - 1})" if len(grounds) > 1 else ""
    return textwrap.shorten(grounds[0], 160, placeholder="...") + more


def _hours(hours: list[float]) -> str:
    low, high = hours
    return f"{low:g}-{high:g}" if high > low else f"{low:g}"


def _print_tests(answer: Answer, console: Console) -> None:
    if not answer.tests_first:
        return
    console.print(Text("\nTest first", style="bold"))
    table = Table(box=None, pad_edge=False, header_style="underline")
    for title in ("test", "on", "minutes", "costs the object", "options waiting"):
        table.add_column(title)
    lost = ("nothing", "a mark or loose fibre", "a crumb or yarn", "a cut piece")
    for advice in answer.tests_first[:12]:
        table.add_row(
            advice.label,
            advice.part_name,
            str(advice.minutes),
            lost[min(advice.material_lost, 3)],
            str(len(advice.options)),
        )
    console.print(table)
    if len(answer.tests_first) > 12:
        console.print(f"and {len(answer.tests_first) - 12} more (see --json)")


def _print_record(answer: Answer, console: Console) -> None:
    if answer.record:
        console.print(Text("\nThe record", style="bold"))
        for view in answer.record:
            console.print(Padding(f"- {view.message}", (0, 0, 0, 1)))


def print_option(answer: Answer, option: OptionAnswer, console: Console | None = None) -> None:
    """Print one option whole: set-up, reasons as a tree, cautions, claims and their sources."""
    console = console or Console()
    console.print(
        Text(option.label, style="bold"), Text(option.verdict, style=STYLE[option.verdict])
    )
    console.print(option.definition)
    for title, text in (
        ("Set-up", option.set_up),
        ("Equipment", option.equipment),
        ("Watch", option.monitoring),
        ("Stop", option.stop_sign),
    ):
        if text:
            console.print(f"{title}: {text}")
    tree = Tree(Text(option.verdict_in_words, style="bold"))
    _grow(tree, option.reasons.reasons)
    console.print(tree)
    _print_cautions(answer, option.findings, console)
    _print_claims(answer, option, console)
    console.print(Text(DEFERENCE, style="italic"))


def _grow(tree: Tree, reasons: Iterable[Reason]) -> None:
    for reason in reasons:
        claims = (
            f"  [{', '.join(c.partition(':')[2] for c in reason.claims)}]" if reason.claims else ""
        )
        branch = tree.add(Text(f"{reason.stance}: {reason.text}{claims}"))
        _grow(branch, reason.reasons)


def _print_cautions(answer: Answer, findings: Iterable[FindingView], console: Console) -> None:
    names = dict.fromkeys(caution for view in findings for caution in view.cautions)
    if names:
        console.print(Text("\nCautions", style="bold"))
        for name in names:
            console.print(Padding(f"- {answer.cautions.get(name) or name}", (0, 0, 0, 1)))


def _print_claims(answer: Answer, option: OptionAnswer, console: Console) -> None:
    cited = dict.fromkeys(_claims(option.reasons))
    console.print(Text("\nClaims", style="bold"))
    for claim in cited:
        view = answer.claims.get(claim)
        if view is None or not view.statement:
            continue
        source = answer.sources.get(view.source)
        origin = source.citation if source else "common practice"
        known = {"read": "", "memory": " (recalled, not opened)"}.get(view.basis, "")
        said = f"{claim.partition(':')[2]}: {view.statement}"
        line = f"{said} {origin}{known}; {view.confidence} confidence."
        console.print(Padding(Text(line), (0, 0, 0, 1)))


def _claims(reason: Reason) -> Iterable[str]:
    yield from reason.claims
    for inner in reason.reasons:
        yield from _claims(inner)
