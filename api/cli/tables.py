"""An answer as tables on a terminal. Meaning stands in words; colour is only an addition."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence

from rich.console import Console
from rich.padding import Padding
from rich.table import Table
from rich.text import Text
from rich.tree import Tree

from leastwise.graph.answer import (
    Answer,
    DamageAnswer,
    FindingView,
    OptionAnswer,
    Reason,
    SettleFirst,
)
from leastwise.graph.meanings import Verdict
from leastwise.graph.sentences import hours_in_words, sentence_case

__all__ = ["print_answer", "print_lines", "print_option"]

#: What a test costs the object, by its grade.
LOST = ("nothing", "a mark or loose fibre", "a crumb or yarn", "a cut piece")
STYLE = {Verdict.ACCEPTED: "green", Verdict.UNDECIDED: "yellow", Verdict.DEFEATED: "red"}
DEFERENCE = (
    "Advice for a conservator's own judgement. Where people or objects could come to harm, "
    "local codes, safety data sheets and licensed practice decide."
)


def print_answer(
    answer: Answer, console: Console | None = None, *, everything: bool = False
) -> None:
    """Print the answer in short, then for every problem the options worth weighing.

    With *everything* options that are dominated, idle or defeated are printed too.
    """
    console = console or Console()
    demo = "  (invented demo case)" if answer.case.demo else ""
    console.print(Text(f"{answer.case.title}{demo}", style="bold"))
    console.print(f"Aim: {answer.case.aim}, {answer.case.mounting.replace('-', ' ')}")
    _print_people(answer, console)
    _print_headline(answer, console)
    for damage in answer.damages:
        _print_damage(damage, console, everything=everything)
    if not answer.damages:
        console.print("\nNo damage is recorded, so nothing has to be done.")
    if everything:
        _print_tests(answer, console)
    _print_record(answer, console)
    console.print(f"\nOrder: {answer.policy.label}. {answer.policy.definition}")
    console.print(answer.stamp.in_words)
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


def _print_headline(answer: Answer, console: Console) -> None:
    """Print whether the object can serve, what to do now, to settle first and not to do."""
    h, called = answer.headline, {d.id: _called(d) for d in answer.damages}
    console.print(Text(f"\n{h.in_words}", style="bold"))
    print_lines(
        "Do now",
        (f"{called[d.problem]}: {d.in_words} ({_hours(d.hours)} h)" for d in h.do_now),
        console,
    )
    print_lines("Taken as settled", (one.says for one in answer.settled), console)
    print_lines("Settle first", (_settling(s, answer) for s in h.settle_first), console)
    print_lines(
        "Don't",
        (f"{r.label} ({', '.join(called[p] for p in r.problems)}): {r.why}" for r in h.refrain),
        console,
    )


def print_lines(
    title: str, lines: Iterable[str], console: Console, *, numbered: bool = False
) -> None:
    """Print lines under a title, each once; nothing where there are none."""
    for number, line in enumerate(dict.fromkeys(lines), 1):
        if number == 1:
            console.print(Text(f"\n{title}", style="bold"))
        mark = f"{number}." if numbered else "-"
        console.print(Padding(Text(f"{mark} {line}"), (0, 0, 0, 1)))


def _called(damage: DamageAnswer) -> str:
    """Return what a problem is called: the record's own id, a derived need by its label."""
    return damage.label if damage.derived else damage.id


def _settling(s: SettleFirst, answer: Answer) -> str:
    labels = {o.id: f"{o.label} for {_called(d)}" for d in answer.damages for o in d.options}
    on = f" on {', '.join(s.parts)}" if s.parts and s.kind.is_test else ""
    cost = f" ({s.minutes} min, costs {LOST[min(s.material_lost, 3)]})" if s.minutes else ""
    return f"{s.label}{on}{cost}: opens {'; '.join(labels[o] for o in s.opens)}"


HEADING = {
    "meets-aim": "meets the aim",
    "helps": "helps in part",
    "idle": "does nothing for the aim",
    "out": "not to be done",
}


def _print_damage(damage: DamageAnswer, console: Console, *, everything: bool) -> None:
    parts = ", ".join(damage.parts)
    title = f"\n{_called(damage)}: {damage.label} ({damage.activity}) on {parts}"
    if damage.derived:
        title = f"\n{sentence_case(damage.label)}: {parts}"
    console.print(Text(title, style="bold"))
    table = Table(box=None, pad_edge=False, header_style="underline")
    table.add_column("", justify="right")
    table.add_column("option, and what is open or against it", ratio=1)
    table.add_column("verdict")
    table.add_column("burden", justify="right")
    table.add_column("hours", justify="right")
    if everything:
        _add_options(table, damage.options)
    else:
        _add_places(table, damage)
    console.print(table)
    folded = len(damage.options) - sum(len(place.options) for place in damage.places)
    if folded and not everything:
        console.print(Text(f"   {folded} more, beaten, idle or refused: --all", style="dim"))


def _add_options(table: Table, options: Iterable[OptionAnswer], heading: str = "") -> str:
    """Add options in their order, each heading once; return the last heading."""
    for option in options:
        if option.heading != heading:
            heading = option.heading
            table.add_row("", Text(HEADING[heading], style="italic"))
        table.add_row(
            str(option.rank),
            _named(option),
            Text(option.verdict, style=STYLE[option.verdict]),
            f"{option.burden:.2f}",
            _hours(option.hours),
        )
    return heading


def _add_places(table: Table, damage: DamageAnswer) -> None:
    """Add what leads each place, and below it in short what goes the same way."""
    options, heading = {o.id: o for o in damage.options}, ""
    for place in damage.places:
        heading = _add_options(table, [options[place.leads]], heading)
        for number, one in enumerate(options[o] for o in place.beside):
            before = "" if number else f"or, as {place.way}: "
            table.add_row(
                "",
                Text(f"{before or 'or '}{one.label} ({HEADING[one.heading]})", style="dim"),
                Text(one.verdict, style=STYLE[one.verdict]),
                f"{one.burden:.2f}",
                _hours(one.hours),
            )
        if place.choice:
            table.add_row("", Text(place.choice, style="dim italic"))


def _named(option: OptionAnswer) -> Text:
    """Return the option's name, with the first ground below it where it isn't accepted."""
    name, ground = Text(option.label), _because(option)
    return name.append(f"\n{ground}", style="dim") if ground else name


def _because(option: OptionAnswer) -> str:
    effect = option.verdict.decided_by
    grounds = [f.message for f in option.findings if f.effect == effect]
    if not grounds:
        return ""
    more = f" (+{len(grounds) - 1})" if len(grounds) > 1 else ""
    return textwrap.shorten(grounds[0], 160, placeholder="...") + more


def _hours(hours: Sequence[float]) -> str:
    low, high = hours
    return hours_in_words(low, high, to="-")


def _print_tests(answer: Answer, console: Console) -> None:
    if not answer.tests_first:
        return
    console.print(Text("\nTest first", style="bold"))
    table = Table(box=None, pad_edge=False, header_style="underline")
    for title in ("test", "on", "minutes", "costs the object", "options waiting"):
        table.add_column(title, overflow="fold")
    for advice in answer.tests_first[:12]:
        table.add_row(
            advice.label,
            advice.part_name,
            str(advice.minutes),
            LOST[min(advice.material_lost, 3)],
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
