"""What settles a finding: one of its mends, or one for each condition that it asks for."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence

from leastwise.graph.answer import MendView
from leastwise.graph.meanings import Remedy
from leastwise.graph.sentences import listed

__all__ = ["each_needed", "first_of_all", "in_lines", "settled_by", "settling"]

Mends = Sequence[MendView]


def each_needed(mends: Iterable[MendView]) -> list[list[MendView]]:
    """Return mends in groups: one of each group is needed, tests before all else in it."""
    groups: dict[str, list[MendView]] = {}
    for mend in mends:
        groups.setdefault(mend.condition, []).append(mend)
    return [sorted(group, key=lambda m: not m.kind.is_test) for group in groups.values()]


def first_of_all(group: Mends) -> list[MendView]:
    """Return what leads a group: a test on every part that it is asked of, else one thing."""
    same = [m for m in group if _what(m) == _what(group[0])]
    return same if group[0].kind.is_test else same[:1]


def _what(mend: MendView) -> tuple[Remedy, str, str]:
    return mend.kind, mend.what, mend.material


def settling(mends: Iterable[MendView]) -> Iterator[str]:
    """Yield each mend in words, with the condition that it settles where there are several."""
    groups = each_needed(mends)
    for group in groups:
        name = f"“{group[0].condition}”: " if len(groups) > 1 and group[0].condition else ""
        yield from dict.fromkeys(name + mend.label for mend in group)


def in_lines(mends: Mends, names: Mapping[str, str], label: Callable[[str], str]) -> list[str]:
    """Return mends in words, a test that is asked of several parts in one line."""
    groups: dict[tuple[str, str, str], list[MendView]] = {}
    for m in mends:
        key = _what(m) if m.kind.is_test else (m.kind, m.label, "")
        groups.setdefault(key, []).append(m)
    return [
        same[0].label
        if len(same) == 1 or not same[0].kind.is_test
        else f"{label(what)} on {listed([names[m.part] for m in same])}"
        for (_, what, _), same in groups.items()
    ]


def _labels(mends: Mends) -> list[str]:
    """Return mends in words, each once."""
    return list(dict.fromkeys(mend.label for mend in mends))


def settled_by(
    mends: Iterable[MendView], told: Callable[[Mends], Sequence[str]] = _labels
) -> tuple[str, list[str]]:
    """Return what settles a finding: "Any of" or "Each of", and the things, in words.

    Each of several conditions has a line of its own, with what would settle that one.
    """
    groups = each_needed(mends)
    if len(groups) < 2:
        return "Any of", [one for group in groups for one in told(group)]
    lines = [(group[0].condition, ", or ".join(told(group))) for group in groups]
    return "Each of", [f"“{name}”: {line}" if name else line for name, line in lines]
