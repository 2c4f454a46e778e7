"""Look-up of a thing by what somebody calls it: words in any order, in any form, and by meaning.

A name that stands in the words, or holds them, comes first; then what its definition and broader
terms say. Letters are compared only for a word that stands nowhere, and only where it can be a
slip: *creese* is crease, *wood* is never wool. A group answers with its kinds; a practice that is
refused is found with its reason.
"""

from __future__ import annotations

import difflib
import math
import re
from collections import Counter, defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.knowledge.languages import is_english
from leastwise.graph.knowledge.stems import stem, stems_of
from leastwise.graph.shacl.terms import split_literal

__all__ = ["Index", "Match", "look_up"]

_NAMES: Final = ("skos:prefLabel", "skos:altLabel", "skos:hiddenLabel")
#: What a word is worth that stands in a name, in the definition, in a name of a broader term.
_IN_NAME, _IN_DEFINITION, _IN_BROADER = 3.0, 0.8, 0.4
#: What the whole of a name is worth beyond its words, and how little a slip takes away.
_WHOLE_NAME, _SLIP = 2.5, 0.7
_LEAST_SLIP, _LEAST_HALF, _ALIKE = 4, 4, 0.8
#: How long a stem has to be that a word begins with whose ending is mistyped.
_LONG_STEM: Final = 8
#: What a name counts of a scheme that is only searched besides, where only some of it is said.
_BESIDE: Final = 0.4
#: Stems that ask for a scheme by themselves, so that it is not only searched besides.
_ASKS_FOR: Final = {"test:": frozenset(stems_of("test trial analyse identify"))}
_LONGEST = 400  # characters of a question
#: Classes with groups that can't be chosen themselves, as a record takes them.
_REFUSED: Final = "lw:RefusedPractice"


@dataclass(frozen=True, slots=True)
class Match:
    """A thing that a word may stand for, best first; *score* compares only within one answer.

    *by* is the name that fitted best, empty where only the definition or broader terms did.
    *kinds* are the narrower things of a group. *refused* says why a practice is not done, and
    *instead* what is done.
    """

    id: str
    label: str
    score: float
    by: str = ""
    slip: bool = False
    kinds: tuple[str, ...] = ()
    refused: str = ""
    instead: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class _Name:
    said: str
    stems: frozenset[str]
    of: str


def look_up(
    asked: str, schemes: Sequence[str], knowledge: Knowledge, most: int = 12
) -> list[Match]:
    """Return what *asked* may stand for among the concepts of some schemes, best first.

    The first scheme is the one asked for; of the others only what is nearly named counts fully.
    """
    key = ("look-up", tuple(schemes))
    index = knowledge.made(key, lambda known, k: Index(known, k[1]))
    return index.find(asked, most)


class Index:
    """The words of some schemes, ready to be searched."""

    def __init__(self, knowledge: Knowledge, schemes: Sequence[str]) -> None:
        self._knowledge = knowledge
        prefixes = tuple(f"{scheme}:" for scheme in schemes)
        self._asked_for = prefixes[0]
        concepts = [c for c in knowledge.instances("skos:Concept") if c.startswith(prefixes)]
        self._concepts = concepts
        self._names = [name for concept in concepts for name in self._names_of(concept)]
        self._narrower: dict[str, list[str]] = defaultdict(list)
        for concept in concepts:
            for parent in knowledge.objects(concept, "skos:broader"):
                self._narrower[parent].append(concept)
        self._spread = self._worth()
        self._by_stem: dict[str, list[_Name]] = defaultdict(list)
        for name in self._names:
            for one in name.stems:
                self._by_stem[one].append(name)
        self._defined: dict[str, set[str]] = defaultdict(set)
        for concept in concepts:
            for one in self._defining(concept):
                self._defined[one].add(concept)
        for name in self._names:
            for one in {half for s in name.stems for half in self._halves(s)}:
                self._defined[one].add(name.of)

    def _names_of(self, concept: str) -> Iterable[_Name]:
        k = self._knowledge
        said = [
            split_literal(label)[0]
            for predicate in _NAMES
            for label in k.objects(concept, predicate)
            if label[:1] == '"' and (is_english(label) or predicate == "skos:prefLabel")
        ]
        said.append(concept.partition(":")[2].replace("-", " "))
        for one in dict.fromkeys(said):
            found = frozenset(stems_of(one))
            if found:
                yield _Name(one, found, concept)

    def _defining(self, concept: str) -> set[str]:
        texts = self._knowledge.texts(concept, "skos:definition")
        return {one for text in texts for one in stems_of(text)}

    def _worth(self) -> dict[str, float]:
        """Return stem -> how much it tells things apart: the rarer among them, the more."""
        holds: Counter[str] = Counter()
        for concept in self._concepts:
            own = {s for name in self._names if name.of == concept for s in name.stems}
            holds.update(own | self._defining(concept))
        total = max(1, len(self._concepts))
        return {one: math.log(1 + total / n) for one, n in holds.items()}

    def find(self, asked: str, most: int) -> list[Match]:
        """Return the things that fit, best first."""
        words = dict.fromkeys(stems_of(asked[:_LONGEST]))
        meant = {word: self._meant(word) for word in words}
        wanted = {one for stems in meant.values() for one in stems}
        slips = {one for word, stems in meant.items() if len(stems) < 2 for one in stems} - {*words}
        if not wanted:
            return []
        scores, by = self._scored(wanted, slips)
        order = sorted(scores, key=lambda c: (-scores[c], len(by.get(c, "")), c))
        guess = slips >= wanted
        return [
            self._match(c, scores[c], by.get(c, ""), slips, only_slips=guess) for c in order[:most]
        ]

    def _meant(self, word: str) -> list[str]:
        """Return the stem itself, or those that it is a slip of where it stands nowhere."""
        if word in self._spread:
            return [word]
        if len(word) < _LEAST_SLIP:
            return []
        near = difflib.get_close_matches(word, self._spread, n=12, cutoff=0.6)
        slips = [one for one in near if _is_slip(word, one)][:2]
        return slips or list(self._halves(word))

    def _halves(self, word: str) -> tuple[str, ...]:
        """Return the two known words that a compound is put together from: *colour*, *fast*."""
        for place in range(_LEAST_HALF, len(word) - _LEAST_HALF + 1):
            first, second = stem(word[:place]), stem(word[place:])
            if first in self._spread and second in self._spread:
                return first, second
        return ()

    def _scored(self, wanted: set[str], slips: set[str]) -> tuple[dict[str, float], dict[str, str]]:
        weight = {s: self._spread[s] * (_SLIP if s in slips else 1.0) for s in wanted}
        asked = sum(weight.values())
        asked_for = {self._asked_for, *(s for s, own in _ASKS_FOR.items() if own & wanted)}
        best: dict[str, tuple[float, str]] = {}
        words: dict[str, set[str]] = defaultdict(set)
        for name in {id(n): n for s in wanted for n in self._by_stem.get(s, ())}.values():
            shared = name.stems & wanted
            words[name.of] |= shared
            got = sum(weight[s] for s in shared)
            whole = sum(self._spread[s] for s in name.stems)
            fit = got / whole * got / asked  # how much of the name, and of what was asked
            is_whole = got >= whole * 0.99
            score = _IN_NAME * got * (0.5 + fit) + (_WHOLE_NAME * got if is_whole else 0)
            if not is_whole and name.of.partition(":")[0] + ":" not in asked_for:
                score *= _BESIDE
            best[name.of] = max(best.get(name.of, (0.0, "")), (score, name.said))
        scores: dict[str, float] = {c: score for c, (score, _) in best.items()}
        for s in wanted:
            for concept in self._defined.get(s, ()):
                if s not in words.get(concept, ()):
                    scores[concept] = scores.get(concept, 0.0) + _IN_DEFINITION * weight[s]
        self._add_broader(scores, words, best, weight)
        return scores, {c: said for c, (_, said) in best.items()}

    def _add_broader(
        self,
        scores: dict[str, float],
        words: dict[str, set[str]],
        best: dict[str, tuple[float, str]],
        weight: dict[str, float],
    ) -> None:
        for parent in [c for c in best if c in self._narrower]:
            for child in self._narrower[parent]:
                more = [s for s in words[parent] if s not in words.get(child, ())]
                if child in scores and more:
                    scores[child] += _IN_BROADER * sum(weight[s] for s in more)

    def _match(
        self, concept: str, score: float, by: str, slips: set[str], *, only_slips: bool
    ) -> Match:
        k = self._knowledge
        refused = _REFUSED in k.objects(concept, "rdf:type")
        return Match(
            concept,
            k.label(concept),
            round(score, 3),
            by,
            bool(slips & set(stems_of(by))) if by else only_slips,
            tuple(self._narrower.get(concept, ())),
            k.text(concept, "skos:definition") if refused else "",
            tuple(k.objects(concept, "lw:insteadUse")) if refused else (),
        )


def _once(word: str) -> str:
    return re.sub(r"(.)\1+", r"\1", word)


def _is_slip(word: str, other: str) -> bool:
    """Return whether one word may be the other mistyped: two letters turned, or nearly all alike.

    Short words differ too easily: *wood* is not *wool*, *horn* not *Orlon*.

    >>> _is_slip("slik", "silk"), _is_slip("crees", "creas"), _is_slip("wood", "wool")
    (True, True, False)
    """
    if word[0] != other[0]:
        return False
    if len(other) >= _LONG_STEM and word.startswith(other):
        return True  # the ending is mistyped, so that it was not taken off: *encapsulatoin*
    if sorted(word) == sorted(other) or _once(word) == _once(other):
        return True
    shorter = min(len(word), len(other))
    return shorter > _LEAST_SLIP and difflib.SequenceMatcher(None, word, other).ratio() >= _ALIKE
