"""Labels in the language asked for, with English behind it; which languages there are.

A tag follows BCP 47: asked for ``de``, a label tagged ``de-AT`` will do.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from leastwise.graph.errors import LeastwiseError
from leastwise.graph.names import ENGLISH
from leastwise.graph.shacl.terms import split_literal

__all__ = ["UnknownLanguage", "choose", "has_tag", "is_english", "known_language", "tags_of"]


class UnknownLanguage(LeastwiseError):  # noqa: N818 - reads as what happened
    """A language in which the knowledge has no labels; names those there are."""

    def __init__(self, given: str, there_are: Iterable[str]) -> None:
        self.given, self.accepted = given, tuple(there_are)
        super().__init__(f"language: got {given!r}; expected one of {', '.join(self.accepted)}.")


def choose(terms: Sequence[str], language: str = ENGLISH) -> str | None:
    """Return the lexical form of the literal in *language*, else English, else untagged, else any.

    Of several that are equally good the first one counts. None if no term is a literal.

    >>> choose(['"Staub"@de', '"dust"@en'], "de"), choose(['"Staub"@de', '"dust"@en'], "fr")
    ('Staub', 'dust')
    """
    literals = [term for term in terms if term[:1] == '"']
    if not literals:
        return None
    return split_literal(min(literals, key=lambda term: _distance(_tag(term), language)))[0]


def _distance(tag: str, language: str) -> int:
    """Return how far a tag is from what was asked for; ``min`` keeps the first of equals."""
    for far, wanted in enumerate((language, ENGLISH)):
        if tag == wanted:
            return 2 * far
        if tag.startswith(f"{wanted}-"):
            return 2 * far + 1
    return 5 if tag else 4


def _tag(term: str) -> str:
    mark = term.rpartition('"')[2]
    return mark[1:].lower() if mark[:1] == "@" else ""


def has_tag(term: str, tag: str) -> bool:
    """Return whether a literal term has exactly this language tag, given in lower case.

    >>> has_tag('"fiber"@en-US', "en-us"), has_tag('"fibre"@en', "en-us")
    (True, False)
    """
    return term[:1] == '"' and _tag(term) == tag


def is_english(term: str) -> bool:
    """Return whether a literal term is in English, or in no language at all.

    >>> is_english('"dust"@en-GB'), is_english('"dust"'), is_english('"Staub"@de')
    (True, True, False)
    """
    tag = _tag(term)
    return tag in ("", ENGLISH) or tag.startswith(f"{ENGLISH}-")


def tags_of(terms: Iterable[str]) -> tuple[str, ...]:
    """Return the tags of the languages that literal terms are in, sorted.

    >>> tags_of(['"Staub"@de', '"dust"@en', '"dust"'])
    ('de', 'en')
    """
    return tuple(sorted({_tag(term) for term in terms} - {""}))


def known_language(given: str, there_are: Sequence[str]) -> str:
    """Return the tag that *given* stands for: in lower case, and English or one of *there_are*.

    Raises:
        UnknownLanguage: none of the tags stands for it; the message lists the languages there are.

    """
    asked = given.strip().replace("_", "-").lower()
    if asked == ENGLISH:
        return asked
    if not any(tag == asked or tag.startswith(f"{asked}-") for tag in there_are):
        raise UnknownLanguage(given, {ENGLISH: None, **dict.fromkeys(there_are)})
    return asked
