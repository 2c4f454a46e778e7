"""Search over the knowledge: labels, synonyms, definitions, statements, sources, rules, ids.

An inverted index made once. Words are compared without case, accents and a plural s; the last
word of a query also counts as the beginning of a word. What is named so comes before what only
speaks of it.
"""

from __future__ import annotations

import math
import re
import unicodedata
from bisect import bisect_left
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from functools import cached_property, lru_cache

from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.reference.values import Reference

__all__ = ["Found", "Hit", "Piece", "SearchIndex", "Text", "build_index", "fold", "words_of"]

#: What a word is worth by the field that it stands in.
FIELDS = {
    "id": 9.0, "label": 8.0, "also": 6.0, "definition": 2.5, "about": 2.0, "statement": 1.5,
}  # fmt: skip
#: What a hit is worth by its kind; concepts are what most people look for, and count 1.
KINDS = {"claim": 0.8, "rule": 0.8, "caution": 0.9, "source": 0.6, "term": 0.4}
#: What a query is worth that is the whole of a label, or its beginning.
WHOLE_LABEL, START_OF_LABEL, WHOLE_SYNONYM = 100.0, 30.0, 60.0
WHOLE_ID, START_OF_ID = 200.0, 40.0
PREFIX_SHARE = 0.6  # of a word that is only begun
_MOST_WORDS = 400  # that one beginning stands for
_SNIPPET = 180  # characters
#: Words that say nothing by themselves; they count only where a query has no others.
_SMALL = frozenset(
    ["a", "an", "and", "by", "for", "in", "is", "of", "on", "or", "that", "the", "to"]
)
_WORD = re.compile(r"[^\W_]+")


@lru_cache(maxsize=65536)
def fold(text: str) -> str:
    """Return text as it is compared: no case, no accents.

    >>> fold("Crêpeline"), fold("STRASS")
    ('crepeline', 'strass')
    """
    parts = unicodedata.normalize("NFKD", text.casefold())
    return "".join(c for c in parts if not unicodedata.combining(c))


def _stem(word: str) -> str:
    return word[:-1] if len(word) > 3 and word[-1] == "s" and word[-2] not in "su" else word


def words_of(text: str) -> list[str]:
    """Return the words of a text as they are compared.

    >>> words_of("Gelatin sequins, Crêpeline")
    ['gelatin', 'sequin', 'crepeline']
    """
    return [_stem(word) for word in _WORD.findall(fold(text))]


@dataclass(frozen=True, slots=True)
class Text:
    """What is searched of one thing. *kind* is its scheme, or claim, source, rule, term."""

    id: str
    kind: str
    label: str
    also: tuple[str, ...] = ()
    definition: str = ""
    statement: str = ""
    about: str = ""  # found by it, but never shown
    hidden: tuple[str, ...] = ()  # names that people use and no page shows, found like synonyms


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of a snippet, and whether it is what was looked for."""

    text: str
    is_match: bool


@dataclass(frozen=True, slots=True)
class Hit:
    """One thing that was found: its label and the place in its text, both in pieces."""

    id: str
    kind: str
    label: tuple[Piece, ...]
    snippet: tuple[Piece, ...]
    score: float


@dataclass(frozen=True, slots=True)
class Found:
    """The hits of one page, how many there are in all, and how many of each kind.

    *every_word* is False where nothing holds all words; what holds most of them is then shown.
    """

    hits: tuple[Hit, ...]
    total: int
    kinds: Mapping[str, int]
    every_word: bool = True


@dataclass(frozen=True)
class SearchIndex:
    """The texts and, for each word, where it stands and what it is worth there."""

    texts: tuple[Text, ...]
    postings: Mapping[str, Mapping[int, float]]
    vocabulary: tuple[str, ...]  # sorted, for beginnings of words
    ids: Mapping[str, int] = field(default_factory=dict)  # folded id and local id -> text

    def search(self, query: str, kind: str = "", *, most: int = 30, skip: int = 0) -> Found:
        """Return what is found, best first; with *kind* only of that kind.

        The counts by kind are those of the whole.
        """
        asked = list(dict.fromkeys(words_of(query)))
        words = ([word for word in asked if word not in _SMALL] or asked)[:12]
        if not words:
            return Found((), 0, {})
        scores, every_word = self._scores(words)
        self._add_names(query, scores, every_word=every_word)
        kinds = Counter(self.texts[number].kind for number in scores)
        chosen = [n for n in scores if kind in ("", self.texts[n].kind)]
        chosen.sort(key=lambda n: (-scores[n], self.texts[n].label.casefold(), self.texts[n].id))
        hits = tuple(self._hit(n, words, scores[n]) for n in chosen[skip : skip + most])
        return Found(hits, len(chosen), dict(kinds), every_word)

    def nearest(self, query: str, kinds: Iterable[str], most: int = 5) -> tuple[Hit, ...]:
        """Return the best hits among some kinds."""
        wanted = set(kinds)
        found = self.search(query, most=len(self.texts)).hits
        return tuple(hit for hit in found if hit.kind in wanted)[:most]

    def _scores(self, words: list[str]) -> tuple[dict[int, float], bool]:
        by_word = [self._of_word(w, is_last=w == words[-1]) for w in words]
        held = Counter(number for found in by_word for number in found)
        most = max(held.values(), default=0)
        numbers = [number for number, count in held.items() if count == most]
        scores = {n: sum(found.get(n, 0.0) for found in by_word) for n in numbers}
        return scores, most == len(words)

    def _of_word(self, word: str, *, is_last: bool) -> dict[int, float]:
        best: dict[int, float] = {}
        for other in self._begun(word) if is_last else [word]:
            postings = self.postings.get(other)
            if not postings:
                continue
            rarity = math.log(1.0 + len(self.texts) / len(postings))
            share = 1.0 if other == word else PREFIX_SHARE
            for number, worth in postings.items():
                best[number] = max(best.get(number, 0.0), worth * rarity * share)
        return best

    def _begun(self, word: str) -> list[str]:
        if len(word) < 2:  # nearly everything begins with it
            return [word]
        start = bisect_left(self.vocabulary, word)
        end = bisect_left(self.vocabulary, word + "\U0010ffff")
        return [word, *self.vocabulary[start : min(end, start + _MOST_WORDS)]]

    def _add_names(self, query: str, scores: dict[int, float], *, every_word: bool) -> None:
        """Lift what is named by the whole query, or whose name begins with it."""
        asked = fold(" ".join(query.split()))
        whole = self.ids.get(asked)
        is_id = " " not in asked and any(c.isdigit() for c in asked)
        if whole is not None and is_id and not every_word:
            scores.clear()  # pieces of an id say nothing
        if is_id:
            for name, number in self.ids.items():
                if name.startswith(asked):
                    scores[number] = scores.get(number, 0.0) + START_OF_ID
        if whole is not None:
            scores[whole] = scores.get(whole, 0.0) + WHOLE_ID * is_id
        for number in scores:
            scores[number] += self._by_label(number, asked)
            scores[number] *= KINDS.get(self.texts[number].kind, 1.0)

    def _by_label(self, number: int, asked: str) -> float:
        label, also = self._folded[number]
        if label == asked:
            return WHOLE_LABEL
        if label.startswith(asked):
            return START_OF_LABEL
        return WHOLE_SYNONYM if asked in also else 0.0

    @cached_property
    def _folded(self) -> list[tuple[str, tuple[str, ...]]]:
        """Label and synonyms of each text, as they are compared."""
        return [(fold(t.label), tuple(map(fold, (*t.also, *t.hidden)))) for t in self.texts]

    def _hit(self, number: int, words: list[str], score: float) -> Hit:
        text = self.texts[number]
        said = [text.definition, text.statement, ", ".join(text.also)]
        # the text that holds the words, else the first that says anything
        body = next((one for one in said if _holds(one, words)), "") or next(filter(None, said), "")
        label = tuple(_marked(text.label, words))
        return Hit(text.id, text.kind, label, tuple(_marked(_around(body, words), words)), score)


def _is_match(word: str, words: list[str]) -> bool:
    found = _stem(fold(word))
    return found in words or found.startswith(words[-1])


def _holds(text: str, words: list[str]) -> bool:
    return any(_is_match(match.group(), words) for match in _WORD.finditer(text))


def _around(text: str, words: list[str]) -> str:
    """Return the part of a long text around the first match, cut at spaces."""
    if len(text) <= _SNIPPET:
        return text
    at = next((m.start() for m in _WORD.finditer(text) if _is_match(m.group(), words)), 0)
    start = max(0, min(at - _SNIPPET // 3, len(text) - _SNIPPET))
    if start:
        start = text.find(" ", start, at) + 1 or start
    end = start + _SNIPPET
    if end < len(text):
        end = max(text.rfind(" ", start, end), at + 1)
    return ("… " if start else "") + text[start:end] + (" …" if end < len(text) else "")


def _marked(text: str, words: list[str]) -> Iterator[Piece]:
    last = 0
    for match in _WORD.finditer(text):
        if _is_match(match.group(), words):
            if match.start() > last:
                yield Piece(text[last : match.start()], False)
            yield Piece(match.group(), True)
            last = match.end()
    if last < len(text):
        yield Piece(text[last:], False)


def build_index(book: Reference, knowledge: Knowledge) -> SearchIndex:
    """Return the index over everything in a book of reference, and over the vocabulary."""
    texts = tuple(_texts(book, knowledge))
    postings: dict[str, dict[int, float]] = {}
    ids: dict[str, int] = {}
    for number, text in enumerate(texts):
        ids[fold(text.id)] = number
        ids.setdefault(fold(text.id.rpartition(":")[2]), number)
        for worth, said in _fields(text):
            for word in words_of(said):
                at = postings.setdefault(word, {})
                at[number] = max(at.get(number, 0.0), worth)
    return SearchIndex(texts, postings, tuple(sorted(postings)), ids)


def _fields(text: Text) -> Iterator[tuple[float, str]]:
    yield FIELDS["id"], text.id.rpartition(":")[2]
    yield FIELDS["label"], text.label
    yield FIELDS["definition"], text.definition
    yield FIELDS["about"], text.about
    yield FIELDS["statement"], text.statement
    for one in (*text.also, *text.hidden):
        yield FIELDS["also"], one


def _texts(book: Reference, knowledge: Knowledge) -> Iterator[Text]:
    for one, entry in book.entries.items():
        labels = (*knowledge.texts(one, "skos:prefLabel"), *entry.also)
        also = tuple(dict.fromkeys(label for label in labels if label != entry.label))
        hidden = tuple(knowledge.texts(one, "skos:hiddenLabel"))
        yield Text(one, entry.scheme, entry.label, also, entry.definition, hidden=hidden)
    for one, rule in book.rules.items():
        yield Text(one, "rule", book.label(one), (), rule.rule.message, rule.rule.note)
    for one, claim in book.claims.items():
        about = ", ".join(book.label(c) for c in (*claim.about, *claim.agents))
        yield Text(one, "claim", book.label(one), (), "", claim.statement, about)
    for one, source in book.sources.items():
        yield Text(one, "source", book.label(one), (), "", source.citation)
    for one in sorted(knowledge.subjects()):
        if one.startswith("lw:"):
            comment = knowledge.text(one, "rdfs:comment")
            yield Text(one, "term", knowledge.label(one), (), comment)
