"""Whether words speak of a practice as something undone, old or ruled out, and not as to be done.

"Remove the tape" and "no bleach" speak of what a conservator does about it; "remove the stain with
bleach" doesn't: what stands after *with* is the means.
"""

from __future__ import annotations

from collections.abc import Sequence

__all__ = ["is_undone"]

#: Beginnings of words that take away what is named after them, unless it is their means.
_TAKEN_AWAY = (
    "remov", "unpick", "replac", "residu", "peel", "discard", "revers", "undo", "releas",
)  # fmt: skip
_TAKE, _AWAY = ("take", "taking", "took", "taken"), ("out", "off", "away")
#: Beginnings of words that rule out what comes after them.
_RULED_OUT = (
    "not", "never", "no", "without", "avoid", "instead", "rather", "refus", "don't", "nor",
    "neither", "isn't", "wasn't", "stop",
)  # fmt: skip
#: Beginnings of words that say so of what stands close behind them.
_CLOSE = ("old", "earlier", "former", "previous", "existing", "yellowed", "free", "against")
_HOW_CLOSE = 3
#: Beginnings of words behind it that do the same.
_AFTER = (
    "remov", "residu", "peel", "replac", "avoid", "refus", "ruled", "taken", "discard", "thrown",
)  # fmt: skip
_MEANS = ("with", "using", "by", "in")
#: What stands after these is said of the thing and isn't a means: "paper that was stuffed with".
_SAID_OF_IT = ("was", "were", "been", "is", "are")
_WHOLE = frozenset(("no", "not", "nor", "old", "free", "stop"))


def is_undone(words: Sequence[str], first: int, last: int) -> bool:
    """Return whether what stands from *first* to *last* is said to be undone, old or ruled out.

    >>> is_undone("remove the tape with a spatula".split(), 2, 2)
    True
    >>> is_undone("remove the stain with bleach".split(), 4, 4)
    False
    """
    before, after = words[:first], words[last + 1 :]
    direct = before[_behind_means(before) :]
    return (
        _takes_away(direct)
        or any(_begins(word, _RULED_OUT) for word in before)
        or any(_begins(word, _CLOSE) for word in direct[-_HOW_CLOSE:])
        or any(_begins(word, _AFTER) for word in after)
    )


def _behind_means(before: Sequence[str]) -> int:
    """Return the place behind the last word for a means, 0 where none is named."""
    for i in range(len(before) - 1, -1, -1):
        if before[i] in _MEANS:
            return i + 1 if not any(word in _SAID_OF_IT for word in before[:i]) else 0
    return 0


def _takes_away(words: Sequence[str]) -> bool:
    taken = [i for i, word in enumerate(words) if word in _TAKE]
    return any(_begins(word, _TAKEN_AWAY) for word in words) or any(
        word in _AWAY for i in taken for word in words[i + 1 :]
    )


def _begins(word: str, beginnings: tuple[str, ...]) -> bool:
    return any(word == b if b in _WHOLE else word.startswith(b) for b in beginnings)
