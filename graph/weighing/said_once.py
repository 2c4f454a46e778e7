"""What rules say, each sentence once: where only the part differs, the parts are listed in it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace

from leastwise.graph.answer import FindingView, OptionAnswer
from leastwise.graph.sentences import agreed, listed, the

__all__ = ["PEOPLE", "protecting", "said_once"]

#: The theme of rules that protect people.
PEOPLE = "people"
_HERE = "\0"


def said_once(findings: Iterable[FindingView], part_names: Mapping[str, str]) -> list[FindingView]:
    """Return the findings with those put together that a rule says of several parts alike.

    *part_names* maps the id of a part to its name. Sentences of one rule are alike if they are
    the same but for the name of the part; the parts are listed in the order of the findings, and
    claims, cautions and mends of all are kept.
    """
    groups: dict[tuple[str, str], list[FindingView]] = {}
    names: dict[tuple[str, str], list[str]] = {}
    for one in findings:
        name = part_names.get(one.part, "")
        before, held, after = one.message.partition(name) if name else (one.message, "", "")
        key = (one.rule, f"{before}{_HERE}{after}" if held else one.message)
        groups.setdefault(key, []).append(one)
        if held and name not in names.setdefault(key, []):
            names[key].append(name)
    return [
        replace(
            same[0],
            message=_put_together(key[1], names.get(key, [])),
            claims=tuple(dict.fromkeys(c for f in same for c in f.claims)),
            cautions=tuple(dict.fromkeys(c for f in same for c in f.cautions)),
            mends=tuple(dict.fromkeys(m for f in same for m in f.mends)),
        )
        for key, same in groups.items()
    ]


def protecting(
    first: Sequence[FindingView], options: Iterable[OptionAnswer], chosen: Sequence[OptionAnswer]
) -> list[FindingView]:
    """Return what protects people at the object and in the chosen work.

    *first* is what an answer says of people, *options* all of its options. What belongs to options
    that weren't chosen is left out; what belongs to a chosen one is there wherever it stood.
    """
    of_options = {f.rule for o in options for f in o.findings if f.theme == PEOPLE}
    mine = {f.rule for o in chosen for f in o.findings if f.theme == PEOPLE}
    kept = [f for f in first if f.rule in mine or f.rule not in of_options]
    told = {f.rule for f in kept}
    further = {
        f.message: f for o in chosen for f in o.findings if f.theme == PEOPLE and f.rule not in told
    }
    return [*kept, *further.values()]


def _put_together(sentence: str, names: Sequence[str]) -> str:
    """Return a sentence with the parts in their place, its verb agreeing with them."""
    before, here, after = sentence.partition(_HERE)
    if not here or not names:
        return sentence
    first, *more = names
    after = agreed(before, after, plural=True) if more else after
    if before.lower().endswith("the "):
        more = [the(name) for name in more]
    return f"{before}{listed([first, *more])}{after}"
