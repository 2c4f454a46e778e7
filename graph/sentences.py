"""How sentences are put together: articles, lists, and verbs that agree with what they speak of."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Sequence

__all__ = [
    "against",
    "agreed",
    "counted",
    "hindering",
    "hours_at_most",
    "hours_in_words",
    "is_plural",
    "listed",
    "problem",
    "sentence_case",
    "still_hindering",
    "the",
    "the_all",
]

#: What a name may begin with that needs no article before it.
_DETERMINED = frozenset((
    "the", "a", "an", "this", "that", "these", "those", "its", "their", "his", "her",
    "each", "every", "all", "both", "some", "any", "no", "one",
))  # fmt: skip
#: Where the head of a name ends: "hooks" is the head of "hooks of the bodice".
_HEAD = re.compile(
    r",|\(|\b(?:of|with|in|on|for|at|from|under|over|that|which|to|by|behind|beside|round|without)\b"
)
#: Words in -s that are singular, and plurals without one.
_SINGULAR_IN_S = frozenset(("canvas", "bias", "lens", "damas", "atlas", "gas", "series", "iris"))
_PLURAL_WITHOUT_S = frozenset(("feet", "teeth", "people", "children", "men", "women"))

#: Verbs of sentences about a part or a material, singular to plural.
_IRREGULAR = {
    "is": "are", "isn't": "aren't", "has": "have", "was": "were", "does": "do", "doesn't": "don't",
    "goes": "go", "touches": "touch", "tarnishes": "tarnish",
}  # fmt: skip
_IN_S = (
    "bears", "bends", "burns", "comes", "cuts", "feeds", "gives", "grows", "holds", "lies",
    "loses", "makes", "moves", "needs", "rubs", "shatters", "speeds", "stays", "swells", "takes",
    "turns", "yields",
)  # fmt: skip
_VERB = re.compile(r" ([a-z']+)\b")
_ARTICLE = re.compile(r"\bthe $", re.IGNORECASE)
_PLURAL_VERB = _IRREGULAR | {verb: verb[:-1] for verb in _IN_S}
#: What stands before a subject: the beginning of a sentence or of a clause.
_BEFORE_A_SUBJECT = re.compile(
    r"(?:^|[.,:;] |\b(?:and|as|because|but|how|if|since|so|that|unless|until|what|when|where"
    r"|whether|which|while) )$",
    re.IGNORECASE,
)

EFFECTS = (
    "No effect against {}", "Barely effective against {}", "Partly effective against {}",
    "Effective against {}", "Fully effective against {}",
)  # fmt: skip
HINDERS = (
    ("does not hinder {}", "do not hinder {}"),
    ("barely hinders {}", "barely hinder {}"),
    ("noticeably hinders {}", "noticeably hinder {}"),
    ("seriously hinders {}", "seriously hinder {}"),
    ("rules out {}", "rule out {}"),
)


def the(name: str) -> str:
    """Return a name with the article that a sentence needs.

    >>> the("top tier"), the("the bodice"), the("E12"), the("its lining")
    ('the top tier', 'the bodice', 'E12', 'its lining')
    """
    words = name.split(maxsplit=1)
    if not words or words[0].lower() in _DETERMINED:
        return name
    first = words[0]
    if first.islower() and first.isalpha():  # as nearly all are, and no code
        return f"the {name}"
    code = any(letter.isdigit() for letter in first) or (first.isupper() and len(first) > 1)
    return name if code else f"the {name}"


def listed(names: Sequence[str], joined: str = "and") -> str:
    """Return names as a list in a sentence, the last *joined* by and, or, nor.

    >>> listed(["a"]), listed(["a", "b", "c"]), listed(["a", "b"], "or")
    ('a', 'a, b and c', 'a or b')
    """
    *most, last = names or [""]
    return f"{', '.join(most)} {joined} {last}" if most else last


def hours_in_words(low: float, high: float, *, to: str = " to ") -> str:
    """Return a span of working hours to the quarter, as one would say it, without its unit.

    Sums are made of exact hours and rounded last; the least work is told as a quarter.

    >>> hours_in_words(2.44, 13.25), hours_in_words(0.06, 0.06), hours_in_words(0.0, 1.0)
    ('2.5 to 13.25', '0.25', '0 to 1')
    """
    least, most = (max(round(4 * h) / 4, 0.25) if h else 0.0 for h in (low, high))
    return f"{least:g}{to}{most:g}" if most > least else f"{most:g}"


def hours_at_most(hours: float) -> str:
    """Return an upper end of hours to the next quarter: what is over a limit stays over it.

    >>> hours_at_most(20.01), hours_at_most(20)
    ('20.25', '20')
    """
    return f"{math.ceil(round(4 * hours, 6)) / 4:g}"


def counted(number: int, noun: str) -> str:
    """Return a number with its noun.

    >>> counted(1, "file"), counted(0, "error")
    ('1 file', '0 errors')
    """
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


def the_all(names: Iterable[str]) -> str:
    """Return names as a list, each with its article.

    >>> the_all(["collar", "left cuff"])
    'the collar and the left cuff'
    """
    return listed([the(name) for name in names])


def is_plural(name: str) -> bool:
    """Return whether a name speaks of several things, as its head noun says.

    >>> [is_plural(n) for n in ("worn stripes with a split", "dress of two parts", "hook and eye")]
    [True, False, True]
    """
    head = _HEAD.split(name, maxsplit=1)[0].strip().lower()
    last = head.rsplit(maxsplit=1)[-1] if head else ""
    if " and " in head or last in _PLURAL_WITHOUT_S:
        return True
    return last.endswith("s") and not last.endswith(("ss", "us")) and last not in _SINGULAR_IN_S


def agreed(before: str, after: str, *, plural: bool) -> str:
    """Return what follows a subject, with its verb in the plural if the subject is.

    *before* is what stands before the subject: only at the beginning of a clause is it one.

    >>> agreed("Whether ", " bears a needle.", plural=True)
    ' bear a needle.'
    >>> agreed("The colour of ", " is not known.", plural=True)
    ' is not known.'
    """
    verb = _VERB.match(after) if plural else None
    if not verb or not _BEFORE_A_SUBJECT.search(_ARTICLE.sub("", before)):
        return after
    return f" {_PLURAL_VERB.get(verb[1], verb[1])}{after[verb.end() :]}"


def sentence_case(text: str) -> str:
    """Return a sentence with a capital at its beginning; capitals within stay."""
    return text[:1].upper() + text[1:]


def against(damage: str, efficacy: int, *, need: bool) -> str:
    """Return how well something works, 0 to 4, as the beginning of a sentence.

    >>> against("split", 1, need=False), against("kept from light", 4, need=True)
    ('Barely effective against the split', 'Fully effective for “kept from light”')
    """
    if need:
        return EFFECTS[efficacy].replace("against", "for").format(f"\u201c{damage}\u201d")
    return EFFECTS[efficacy].format(the(damage))


def problem(label: str, *, need: bool) -> str:
    """Return a damage or a need that isn't met, as the subject of a sentence.

    >>> problem("split", need=False), problem("kept from light", need=True)
    ('the split', 'the unmet need “kept from light”')
    """
    return f"the unmet need \u201c{label}\u201d" if need else the(label)


def hindering(aim: str, grade: int, *, plural: bool = False) -> str:
    """Return how far something hinders an aim, 0 to 4, as the end of a sentence.

    >>> hindering("display", 3), hindering("study", 0, plural=True)
    ('seriously hinders display', 'do not hinder study')
    """
    return HINDERS[grade][plural].format(aim)


def still_hindering(aim: str, grade: int) -> str:
    """Return how far something goes on hindering an aim, after *would*.

    >>> still_hindering("display", 2), still_hindering("display", 0)
    ('still noticeably hinder display', 'no longer hinder display')
    """
    if not grade:
        return f"no longer hinder {aim}"
    return f"still {HINDERS[grade][1].format(aim)}"
