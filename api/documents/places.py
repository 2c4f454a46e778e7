"""Where everything in the book stands: pages, anchors and the links between them."""

from __future__ import annotations

import hashlib
import posixpath
import re
from dataclasses import dataclass
from functools import cached_property, lru_cache

from leastwise.graph.reference.values import ClaimEntry, Entry, Reference

__all__ = ["Places", "anchor_of", "file_name", "web_address"]

#: Names that are ours, or that a file can't have everywhere.
_TAKEN = frozenset(
    ["index", "con", "prn", "aux", "nul"]
    + [f"{port}{number}" for port in ("com", "lpt") for number in range(10)]
)
LONGEST = 80


def file_name(text: str) -> str:
    """Return a file name that is safe on every system; different texts never share one.

    >>> file_name("gelatin-sequins")
    'gelatin-sequins'
    >>> file_name("../Silk")
    'silk-b7bb6e79de'
    """
    plain = re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", text) and len(text) <= LONGEST
    # a hash at the end is kept for names that are mended
    if plain and text not in _TAKEN and not re.search(r"-[0-9a-f]{10}$", text):
        return text
    readable = re.sub(r"[^a-z0-9]+", "-", text.lower()).strip("-")[:40].strip("-")
    mark = hashlib.sha256(text.encode()).hexdigest()[:10]
    return f"{readable}-{mark}" if readable else f"x-{mark}"


@lru_cache(maxsize=65536)
def anchor_of(curie: str) -> str:
    """Return the anchor of a claim, source or rule.

    >>> anchor_of("claim:M-093")
    'claim-M-093'
    """
    kind, _, local = curie.partition(":")
    if re.fullmatch(r"[A-Za-z0-9]+(-[A-Za-z0-9]+)*", local) and re.fullmatch(r"[a-z]+", kind):
        return f"{kind}-{local}"
    return f"at-{file_name(curie)}"


def web_address(text: str) -> str:
    """Return an address that may be linked (http or https), or "" for anything else."""
    return text if re.match(r"https?://[^\s]+$", text) else ""


@dataclass(frozen=True)
class Places:
    """The pages of a book of reference, as paths below its folder, with *suffix*."""

    book: Reference
    suffix: str

    @property
    def front(self) -> str:
        """Return the path of the first page."""
        return f"index{self.suffix}"

    def page(self, name: str) -> str:
        """Return the path of a page of its own, such as coverage."""
        return f"{name}{self.suffix}"

    def scheme(self, key: str) -> str:
        """Return the path of the page that lists a kind of concept."""
        return f"{key}/index{self.suffix}"

    def concept(self, entry: Entry) -> str:
        """Return the path of the page of a concept."""
        prefix, _, local = entry.id.partition(":")
        name = local if prefix == entry.scheme else entry.id
        return f"{entry.scheme}/{file_name(name)}{self.suffix}"

    def theme(self, theme: str) -> str:
        """Return the path of the page of the rules of one theme."""
        return f"rules/{file_name(theme or 'no theme')}{self.suffix}"

    @property
    def pages(self) -> tuple[str, ...]:
        """Return the paths of all pages."""
        themes = sorted({r.rule.theme for r in self.book.rules.values()})
        own = ["sources/without", "grades", "disagreements", "coverage"]
        own += ["further-claims"] if self.homeless else []
        return (
            self.front,
            *(self.scheme(one.key) for one in self.book.schemes),
            *self._paths.values(),
            self.scheme("rules"),
            *(self.theme(theme) for theme in themes),
            self.scheme("sources"),
            *(self.page(name) for name in own),
        )

    @cached_property
    def homes(self) -> dict[str, str]:
        """Return claim -> path of the page on which it has its card."""
        return {one.id: self._home(one) for one in self.book.claims.values()}

    def _home(self, claim: ClaimEntry) -> str:
        for concept in claim.about:
            if concept in self.book.entries:
                return self.concept(self.book.entries[concept])
        return self.page("further-claims")

    @cached_property
    def homeless(self) -> tuple[str, ...]:
        """Return the claims that are about no concept of the knowledge."""
        page = self.page("further-claims")
        return tuple(one for one, home in self.homes.items() if home == page)

    @cached_property
    def cards(self) -> dict[str, frozenset[str]]:
        """Return page -> claims that have a card, and so an anchor, on it."""
        found = {
            self.concept(e): frozenset((*e.claims, *e.sensitivities, *e.effects))
            for e in self.book.entries.values()
        }
        found[self.page("further-claims")] = frozenset(self.homeless)
        return found

    @cached_property
    def _paths(self) -> dict[str, str]:
        return {one: self.concept(entry) for one, entry in self.book.entries.items()}

    def href(self, here: str, name: str) -> str:
        """Return the link from the page *here* to a concept, claim, source or rule; "" if none."""
        if name in self._paths:
            return _relative(here, self._paths[name])
        if name in self.homes:
            mine = name in self.cards.get(here, ())
            return _relative(here, here if mine else self.homes[name], anchor_of(name))
        if name in self.book.sources:
            return _relative(here, self.scheme("sources"), anchor_of(name))
        if name in self.book.rules:
            theme = self.theme(self.book.rules[name].rule.theme)
            return _relative(here, theme, anchor_of(name))
        return ""

    def link(self, here: str, path: str) -> str:
        """Return the link from the page *here* to another page or file of the book."""
        return _relative(here, path)


def _relative(here: str, there: str, anchor: str = "") -> str:
    if anchor and here == there:
        return f"#{anchor}"
    path = _way(posixpath.dirname(here) or ".", there)
    return f"{path}#{anchor}" if anchor else path


@lru_cache(maxsize=65536)
def _way(folder: str, there: str) -> str:
    return posixpath.relpath(there, folder)
