"""Practices not to use, found in what somebody writes, by the words that people use for them.

A practice is data (``lw:RefusedPractice``): its labels, what it does, and the gentler way. Words
that speak of taking such a thing away ("remove the tape", "the old staples") don't count: that is
what a conservator does about it.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.reference.search import fold

__all__ = ["RefusedHit", "RefusedPractice", "RefusedWords", "refused_words"]

LABELS = ("skos:prefLabel", "skos:altLabel", "skos:hiddenLabel")
#: Begins a new clause: what is said of one thing isn't said of the next.
_CLAUSE = re.compile(r"[.;:,()!?\n]| but | then | and then ")
_WORD = re.compile(r"[\w-]+(?:'\w+)?")
#: Beginnings of words before a practice that turn it into something undone or refused.
_BEFORE = (
    "remov", "unpick", "not", "never", "no", "without", "avoid", "replac", "instead", "old",
    "earlier", "former", "previous", "existing", "residu", "peel", "discard", "rather", "refus",
    "don't", "against", "revers", "undo", "free", "releas", "yellowed", "stuffed",
)  # fmt: skip
#: Beginnings of words after it that do the same.
_AFTER = ("remov", "residu", "peel", "replac", "avoid", "refus", "ruled", "taken")
_WHOLE = frozenset(("no", "not", "old", "free"))


@dataclass(frozen=True, slots=True)
class RefusedPractice:
    """A practice not to use: *why* not, the gentler techniques and the claims it rests on."""

    id: str
    label: str
    why: str
    instead: tuple[str, ...]
    claims: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class RefusedHit:
    """A practice that a text speaks of, with the words that say so."""

    practice: RefusedPractice
    words: str


@dataclass(frozen=True)
class RefusedWords:
    """The words of all practices not to use, for looking through texts."""

    practices: dict[str, RefusedPractice]
    phrases: dict[tuple[str, ...], str]

    @cached_property
    def _longest(self) -> int:
        return max(map(len, self.phrases), default=0)

    def named(self, name: str) -> RefusedPractice | None:
        """Return the practice that a name or CURIE stands for, if any."""
        return self.practices.get(name) or self.practices.get(
            self.phrases.get(tuple(_words(name)), "")
        )

    def found_in(self, text: str) -> list[RefusedHit]:
        """Return the practices that a text speaks of, each once, in the order of the text."""
        found = {
            hit.practice.id: hit
            for clause in reversed(_CLAUSE.split(text.casefold()))
            for hit in reversed(list(self._in_clause(_words(clause))))
        }
        return list(reversed(found.values()))

    def _in_clause(self, words: list[str]) -> Iterator[RefusedHit]:
        at = 0
        while at < len(words):
            phrase = self._phrase_at(words, at)
            if not phrase:
                at += 1
                continue
            if not _is_undone(words[:at], words[at + len(phrase) :]):
                practice = self.practices[self.phrases[phrase]]
                yield RefusedHit(practice, " ".join(phrase))
            at += len(phrase)

    def _phrase_at(self, words: list[str], at: int) -> tuple[str, ...]:
        for length in range(min(self._longest, len(words) - at), 0, -1):
            phrase = tuple(words[at : at + length])
            if phrase in self.phrases:
                return phrase
        return ()


def _words(text: str) -> list[str]:
    return [word for word in _WORD.findall(fold(text).replace("-", " ")) if word]


def _is_undone(before: list[str], after: list[str]) -> bool:
    return any(_begins(word, _BEFORE) for word in before) or any(
        _begins(word, _AFTER) for word in after
    )


def _begins(word: str, beginnings: tuple[str, ...]) -> bool:
    return any(word == b if b in _WHOLE else word.startswith(b) for b in beginnings)


def refused_words(knowledge: Knowledge) -> RefusedWords:
    """Return the words of all practices not to use, made once for a knowledge."""
    return knowledge.made(("refused-words",), _read)


def _read(knowledge: Knowledge, _: tuple[str]) -> RefusedWords:
    practices: dict[str, RefusedPractice] = {}
    phrases: dict[tuple[str, ...], str] = {}
    for one in knowledge.instances("lw:RefusedPractice"):
        practices[one] = RefusedPractice(
            one,
            knowledge.label(one),
            knowledge.text(one, "skos:definition"),
            tuple(knowledge.objects(one, "lw:insteadUse")),
            tuple(knowledge.objects(one, "lw:restsOn")),
        )
        for predicate in LABELS:
            for label in knowledge.texts(one, predicate):
                phrases.setdefault(tuple(_words(label)), one)
    return RefusedWords(practices, phrases)
