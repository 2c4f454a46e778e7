"""Practices not to use, found in what somebody writes, by the words that people use for them.

A practice is data (``lw:RefusedPractice``): its labels, the words that together speak of it
(``lw:spokenOf``), what it does, and the gentler way. Words that speak of taking such a thing away
("remove the tape", "the old staples") don't count: that is what a conservator does about it. Nor
do words by which it is none (``lw:harmlessAs``): bubble wrap outside the box.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.knowledge.stems import stem
from leastwise.graph.proposal.undone import is_undone
from leastwise.graph.reference.search import fold

__all__ = ["RefusedHit", "RefusedPractice", "RefusedWords", "refused_words"]

LABELS = ("skos:prefLabel", "skos:altLabel", "skos:hiddenLabel")
#: Begins a new clause: what is said of one thing isn't said of the next.
_CLAUSE = re.compile(r"[.;:,()!?\n]| but | then | and then ")
_WORD = re.compile(r"[\w-]+(?:'\w+)?")
#: How far apart, in words, the first and the last word of one practice may stand.
_SPAN = 12


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


@dataclass(frozen=True, slots=True)
class _Group:
    """Words of which one has to be there, by stem or as it is written."""

    stems: frozenset[str]
    written: frozenset[str]

    def places(self, words: Sequence[str], stems: Sequence[str]) -> list[int]:
        """Return where one of the words stands."""
        return [
            i
            for i, (word, one) in enumerate(zip(words, stems, strict=True))
            if one in self.stems or word in self.written
        ]


@dataclass(frozen=True)
class RefusedWords:
    """The words of all practices not to use, for looking through texts."""

    practices: Mapping[str, RefusedPractice]
    phrases: Mapping[tuple[str, ...], str]
    spoken: tuple[tuple[str, tuple[_Group, ...]], ...] = ()
    harmless: tuple[tuple[str, tuple[str, ...]], ...] = ()

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
        found: dict[str, RefusedHit] = {}
        for clause in _CLAUSE.split(text.casefold()):
            words = _words(clause)
            hits = [*self._in_phrases(words), *self._in_speech(words)]
            harmless = self._harmless(words)
            for first, last, practice in sorted(hits, key=lambda hit: hit[0]):
                if practice in harmless:
                    continue
                said = " ".join(words[first : last + 1])
                found.setdefault(practice, RefusedHit(self.practices[practice], said))
        return list(found.values())

    def _harmless(self, words: list[str]) -> set[str]:
        """Return the practices that only sound so in a clause, by words that stand in it."""
        clause = f" {' '.join(words)} "
        return {practice for practice, said in self.harmless if f" {' '.join(said)} " in clause}

    def _in_phrases(self, words: list[str]) -> Iterator[tuple[int, int, str]]:
        at = 0
        while at < len(words):
            phrase = self._phrase_at(words, at)
            if not phrase:
                at += 1
                continue
            last = at + len(phrase) - 1
            if not is_undone(words, at, last):
                yield at, last, self.phrases[phrase]
            at = last + 1

    def _phrase_at(self, words: list[str], at: int) -> tuple[str, ...]:
        for length in range(min(self._longest, len(words) - at), 0, -1):
            phrase = tuple(words[at : at + length])
            if phrase in self.phrases:
                return phrase
        return ()

    def _in_speech(self, words: list[str]) -> Iterator[tuple[int, int, str]]:
        stems = [stem(word) for word in words]
        for practice, groups in self.spoken:
            places = [group.places(words, stems) for group in groups]
            spans = [span for span in _spans(places) if not is_undone(words, *span)]
            if spans:
                yield *min(spans, key=lambda span: span[1] - span[0]), practice


def _spans(places: list[list[int]]) -> Iterator[tuple[int, int]]:
    """Yield the first and last place of words that stand near, one of each group, none twice."""
    for at in places[0] if all(places) else ():
        for side in (0, 1):  # the nearest word before comes first, or the nearest behind
            taken = {at}
            for others in places[1:]:
                free = [one for one in others if one not in taken]
                if not free:
                    break
                taken.add(min(free, key=lambda one: ((one > at) != side, abs(one - at))))
            else:
                if max(taken) - min(taken) < _SPAN:
                    yield min(taken), max(taken)


def _words(text: str) -> list[str]:
    return [word for word in _WORD.findall(fold(text).replace("-", " ")) if word]


def _groups(pattern: str) -> tuple[_Group, ...]:
    return tuple(_group(group.split("|")) for group in pattern.split())


def _group(words: Sequence[str]) -> _Group:
    return _Group(
        frozenset(stem(word) for word in words if word[:1] != "="),
        frozenset(word[1:] for word in words if word[:1] == "="),
    )


def refused_words(knowledge: Knowledge) -> RefusedWords:
    """Return the words of all practices not to use, made once for a knowledge."""
    return knowledge.made(("refused-words",), _read)


def _read(knowledge: Knowledge, _: tuple[str]) -> RefusedWords:
    practices: dict[str, RefusedPractice] = {}
    phrases: dict[tuple[str, ...], str] = {}
    spoken: list[tuple[str, tuple[_Group, ...]]] = []
    harmless: list[tuple[str, tuple[str, ...]]] = []
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
        spoken += [(one, _groups(said)) for said in knowledge.texts(one, "lw:spokenOf")]
        harmless += [(one, tuple(_words(said))) for said in knowledge.texts(one, "lw:harmlessAs")]
    return RefusedWords(practices, phrases, tuple(spoken), tuple(harmless))
