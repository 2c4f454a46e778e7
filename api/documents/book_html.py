"""The book of reference as static HTML: pages that need no script and no network."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import cached_property
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup, escape

from leastwise.api.documents import words
from leastwise.api.documents.citations import titled
from leastwise.api.documents.places import Places, anchor_of, web_address
from leastwise.api.documents.sections import (
    concept_sections,
    grade_matrix,
    sources_in_order,
    unsourced,
)
from leastwise.api.drawings.told_apart.draw import DRAWN, drawing_of
from leastwise.graph.reference.counts import count_book
from leastwise.graph.reference.values import Entry, Reference

__all__ = ["HtmlBook"]

HERE = Path(__file__).parent
STYLE = "style.css"


class HtmlBook:
    """Renders the pages; each is independent of the order in which they are asked for."""

    suffix = ".html"

    def __init__(self, book: Reference) -> None:
        self.book = book
        self.places = Places(book, self.suffix)

    def files(self) -> Iterator[tuple[str, str]]:
        """Yield path below the folder and text of every file, in a fixed order."""
        book, places = self.book, self.places
        coverage = count_book(book)
        yield STYLE, (HERE / "static" / STYLE).read_text("utf-8")
        yield self._page(places.front, "index.html", "front", coverage=coverage)
        for scheme in book.schemes:
            yield self._page(places.scheme(scheme.key), "scheme.html", scheme.key, scheme=scheme)
        for entry in book.entries.values():
            yield self._concept(entry)
        themes = self._themes()
        yield self._page(places.scheme("rules"), "rules.html", "rules", themes=themes)
        for theme, rules in themes.items():
            yield self._page(places.theme(theme), "theme.html", "rules", theme=theme, rules=rules)
        yield self._page(
            places.scheme("sources"), "sources.html", "sources", groups=sources_in_order(book)
        )
        yield self._page(
            places.page("sources/without"), "unsourced.html", "sources", groups=unsourced(book)
        )
        yield self._page(places.page("grades"), "grades.html", "grades", rows=grade_matrix(book))
        yield self._page(places.page("disagreements"), "disagreements.html", "disagreements")
        yield self._page(places.page("coverage"), "coverage.html", "coverage", coverage=coverage)
        if places.homeless:
            yield self._page(places.page("further-claims"), "further.html", "front")

    def _themes(self) -> dict[str, list[str]]:
        themes: dict[str, list[str]] = {}
        for entry in self.book.rules.values():
            themes.setdefault(entry.rule.theme, []).append(entry.rule.id)
        return dict(sorted(themes.items()))

    def _concept(self, entry: Entry) -> tuple[str, str]:
        scheme = next(s for s in self.book.schemes if s.key == entry.scheme)
        return self._page(
            self.places.concept(entry),
            "concept.html",
            entry.scheme,
            entry=entry,
            scheme=scheme,
            sections=concept_sections(entry),
        )

    def _page(self, path: str, template: str, part: str, **values: Any) -> tuple[str, str]:
        text = self._templates.get_template(template).render(
            here=_Here(self.places, path), part=part, **values
        )
        return path, re.sub(r"\n\s*\n+", "\n", text)

    @cached_property
    def _templates(self) -> Environment:
        env = Environment(
            loader=FileSystemLoader(HERE / "templates"),
            autoescape=True,
            undefined=StrictUndefined,
            trim_blocks=True,
            lstrip_blocks=True,
        )
        env.globals.update(book=self.book, words=words, anchor=anchor_of, places=self.places)
        env.globals.update(drawn=DRAWN, drawing=_drawing)
        env.filters.update(
            capital=words.capital, citation=titled, rule_text=_rule_text, address=web_address
        )
        return env


def _drawing(entry: Entry) -> Markup:
    """Return the small drawing of an entry; the page it stands on shows each only once."""
    shows = entry.drawing_shows or entry.look_for
    return Markup(drawing_of(entry.id, entry.label, shows))  # noqa: S704 - its texts are escaped


class _Here:
    """Links as seen from one page."""

    def __init__(self, places: Places, path: str) -> None:
        self.places, self.path = places, path

    def to(self, name: str) -> str:
        """Return the link to a concept, claim, source or rule, or "" if it has no place."""
        return self.places.href(self.path, name)

    def link(self, path: str) -> str:
        """Return the link to a page of the book."""
        return self.places.link(self.path, path)

    # What follows is asked for tens of thousands of times, too often for macros.

    def name(self, one: str, shout: bool = False) -> Markup:
        """Return the label of a name as a link, if it has a place; *shout* gives it a capital."""
        label = self.places.book.label(one)
        text, to = escape(words.capital(label) if shout else label), self.to(one)
        return Markup(f'<a href="{escape(to)}">{text}</a>') if to else text  # noqa: S704 - escaped

    def names(self, many: Iterable[str]) -> Markup:
        """Return names as links, separated by commas."""
        return Markup(", ").join(self.name(one) for one in many)

    def claim_links(self, many: Iterable[str]) -> Markup:
        """Return the ids of claims as links, separated by commas."""
        return Markup(", ").join(self._claim_link(one) for one in many)

    def _claim_link(self, one: str) -> Markup:
        text, to = escape(self.places.book.label(one)), escape(self.to(one))
        link = f'<a class="id" href="{to}">{text}</a>' if to else f'<span class="id">{text}</span>'
        return Markup(link)  # noqa: S704 - its parts are escaped

    @staticmethod
    def pips(grade: int) -> Markup:
        """Return a grade of 0 to 4 as four boxes; its figure and word stand beside them."""
        return _PIPS[max(0, min(grade, 4))]


_PIPS = [
    Markup(f'<span class="pips" aria-hidden="true">{on * n}{"<i></i>" * (4 - n)}</span>')  # noqa: S704
    for on in ['<i class="on"></i>']
    for n in range(5)
]


def _rule_text(message: str) -> Markup:
    """Return the message of a rule with its placeholders marked as variables."""
    return Markup(  # noqa: S704 - escaped before the marks are set
        re.sub(r"\{(\w+)\}", r"<var>\1</var>", str(escape(message)))
    )
