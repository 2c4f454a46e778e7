"""Sources as references that others can use: BibTeX, CSL-JSON and plain text.

An author is given as it stands, as one name in braces (BibTeX) or one literal name (CSL), since a
source may be by a body as well as by people. What a source doesn't say is left out, never guessed.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from leastwise.graph.errors import NotFound
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["FORMATS", "Citation", "cite_as", "find_citations"]

FORMATS = ("text", "bibtex", "csl-json")
#: A journal counts its parts; a page, a list or a thesis does not.
JOURNAL = re.compile(r"\b(Journal|Studies|Science|Bulletin|Conservator|Heritage|Restaurator)\b")
#: What BibTeX reads as a command.
ESCAPED = str.maketrans({c: f"\\{c}" for c in "&%$#_"} | {"{": r"\{", "}": r"\}"})


@dataclass(frozen=True, slots=True)
class Citation:
    """A source with its fields; "" is one that it doesn't have, *year* "" means no date."""

    id: str
    author: str
    year: str
    title: str
    container: str
    pages: str
    doi: str
    address: str
    text: str

    @property
    def in_journal(self) -> bool:
        """Whether it is an article: its container is a journal that gives pages or a DOI."""
        return bool(JOURNAL.search(self.container) and (self.pages or self.doi))


def find_citations(knowledge: Knowledge, names: Sequence[str]) -> list[Citation]:
    """Return the sources that are named, or that the named claims come from; all if none is.

    Raises:
        NotFound: a name is neither a source nor a claim.

    """
    sources = sorted(knowledge.instances("lw:Source"))
    if not names:
        return [_citation(knowledge, one) for one in sources]
    claims = knowledge.instances("lw:Claim")
    wanted: dict[str, None] = {}
    for name in names:
        if (source := _full(name, "source")) in sources:
            wanted[source] = None
        elif (claim := _full(name, "claim")) in claims:
            wanted.update(dict.fromkeys(_sources_of(knowledge, claim)))
        else:
            raise NotFound("source or claim", name, [*sources, *sorted(claims)])
    return [_citation(knowledge, one) for one in wanted]


def cite_as(form: str, citations: Iterable[Citation]) -> str:
    """Return references in one of FORMATS.

    Raises:
        ValueError: there is no such format.

    """
    if form == "bibtex":
        return "\n\n".join(_bibtex(one) for one in citations)
    if form == "csl-json":
        return json.dumps([_csl(one) for one in citations], ensure_ascii=False, indent=1)
    if form == "text":
        return "\n".join(f"{one.text}{_at(one)}" for one in citations)
    raise ValueError(f"--format: got {form!r}; expected {', '.join(FORMATS)}")


def _full(name: str, prefix: str) -> str:
    return name if ":" in name else f"{prefix}:{name}"


def _sources_of(k: Knowledge, claim: str) -> list[str]:
    """Return the sources of a claim, and of the claims that it rests on."""
    claims = [claim, *k.objects(claim, "lw:restsOn")]
    return [source for one in claims for source in k.objects(one, "dcterms:source")]


def _citation(k: Knowledge, source: str) -> Citation:
    return Citation(
        id=source.partition(":")[2],
        author=k.text(source, "dcterms:creator"),
        year=k.text(source, "dcterms:date"),
        title=k.text(source, "dcterms:title"),
        container=k.text(source, "lw:container"),
        pages=k.text(source, "lw:pages"),
        doi=k.text(source, "lw:hasDoi"),
        address=k.object(source, "rdfs:seeAlso") or "",
        text=k.text(source, "dcterms:bibliographicCitation"),
    )


def _at(one: Citation) -> str:
    return f", {one.address}" if one.address else ""


def _bibtex(one: Citation) -> str:
    place = "journal" if one.in_journal else "howpublished"
    fields = (
        ("author", f"{{{_tex(one.author)}}}" if one.author else ""),
        ("title", f"{{{_tex(one.title or one.text)}}}"),
        ("year", one.year),
        (place, _tex(one.container)),
        ("pages", one.pages.replace("-", "--")),
        ("doi", one.doi),
        ("url", one.address),
    )
    said = "".join(f",\n  {name} = {{{value}}}" for name, value in fields if value)
    return f"@{'article' if one.in_journal else 'misc'}{{{one.id}{said}\n}}"


def _tex(text: str) -> str:
    return text.translate(ESCAPED)


def _csl(one: Citation) -> dict[str, object]:
    kind = "article-journal" if one.in_journal else "webpage" if one.address else "document"
    found: dict[str, object] = {"id": one.id, "type": kind, "title": one.title or one.text}
    if one.author:
        found["author"] = [{"literal": one.author}]
    if one.year:
        found["issued"] = {"date-parts": [[int(one.year[:4])]]}
    further = {
        "container-title": one.container,
        "page": one.pages,
        "DOI": one.doi,
        "URL": one.address,
    }
    return found | {name: value for name, value in further.items() if value}
