"""What a written proposal holds, as frozen values: sections, passages and their blocks.

A passage says whose word it is: the tool's (*derived*), the recorder's (*record*), the writer's
own (*own*) or that of those who reviewed it (*review*). Every door that writes a proposal knows the
same few kinds of block.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import Literal

from leastwise.graph.answer import ClaimView, SourceView
from leastwise.graph.meanings import Verdict
from leastwise.graph.proposal.report.reviews import Reviews

__all__ = [
    "BY_WORDS",
    "STATE_WORDS",
    "Block",
    "Bullets",
    "By",
    "ChosenOption",
    "Edition",
    "Element",
    "Facts",
    "Figure",
    "Heading",
    "Line",
    "Notice",
    "Para",
    "Passage",
    "Reference",
    "Report",
    "Section",
    "Sign",
    "Table",
]

By = Literal["own", "record", "derived", "review"]
State = Literal["record", "derived", "own", "signed", "missing", "not due"]

#: Whose word a passage is, as a reader sees it.
BY_WORDS: dict[str, str] = {
    "own": "own words",
    "record": "from the record",
    "derived": "derived",
    "review": "said in Review",
}
#: How a required element is met, as a reader sees it.
STATE_WORDS: dict[str, str] = {
    "record": "in the record",
    "derived": "derived",
    "own": "in own words",
    "signed": "signed off",
    "missing": "still missing",
    "not due": "not due",
}


@dataclass(frozen=True, slots=True)
class Line:
    """A sentence or two, with the claims it rests on."""

    text: str
    claims: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Para:
    """A paragraph; a line break in the text is kept."""

    line: Line
    kind: Literal["para"] = "para"


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list; *ordered* where the sequence matters."""

    items: tuple[Line, ...]
    ordered: bool = False
    kind: Literal["bullets"] = "bullets"


@dataclass(frozen=True, slots=True)
class Facts:
    """Terms and what is said of each; an empty text is still missing."""

    rows: tuple[tuple[str, Line], ...]
    kind: Literal["facts"] = "facts"


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under a head that is repeated on every page; *widths* are shares of the line.

    *marked* are the rows that were chosen; their first cell says so in words too.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[Line, ...], ...]
    widths: tuple[float, ...]
    marked: tuple[int, ...] = ()
    kind: Literal["table"] = "table"

    def trimmed(self) -> Table:
        """Return the table without the columns in which nothing stands."""
        full = [j for j in range(len(self.head)) if any(row[j].text.strip() for row in self.rows)]
        if len(full) == len(self.head):
            return self
        return Table(
            self.caption,
            tuple(self.head[j] for j in full),
            tuple(tuple(row[j] for j in full) for row in self.rows),
            tuple(self.widths[j] for j in full),
            self.marked,
        )


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading inside a section."""

    text: str
    anchor: str = ""
    kind: Literal["heading"] = "heading"


@dataclass(frozen=True, slots=True)
class Notice:
    """Something that nobody may overlook: *defeated*, *undecided*, *missing*, *people*, *note*."""

    about: str
    line: Line
    kind: Literal["notice"] = "notice"


@dataclass(frozen=True, slots=True)
class Figure:
    """A drawing or photograph, which the door that writes the document holds under *key*."""

    key: str
    caption: str
    alt: str
    kind: Literal["figure"] = "figure"


@dataclass(frozen=True, slots=True)
class Sign:
    """Lines to be signed: who, then name, signature and date."""

    roles: tuple[str, ...]
    names: tuple[str, ...]
    kind: Literal["sign"] = "sign"


Block = Para | Bullets | Facts | Table | Heading | Notice | Figure | Sign


@dataclass(frozen=True, slots=True)
class Passage:
    """Blocks that are one voice's word."""

    by: By
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Section:
    """One section; *replaced* says that own words stand instead of what was derived.

    *derived* keeps what is replaced, so that the editor can go on showing it.
    """

    key: str
    title: str
    passages: tuple[Passage, ...]
    replaced: bool = False
    derived: tuple[Passage, ...] = ()


@dataclass(frozen=True, slots=True)
class Element:
    """One thing that the documentation standards ask for, and how this proposal meets it."""

    key: str
    label: str
    duty: str  # must, should
    state: State
    remark: str
    section: str
    claims: tuple[str, ...]

    @property
    def is_missing(self) -> bool:
        """Return whether it is due and not there."""
        return self.state == "missing"


@dataclass(frozen=True, slots=True)
class ChosenOption:
    """What is proposed for one damage; empty where nothing may be planned and nothing is chosen.

    *planned* is what the plan would choose. *rules* are those that speak against a choice that
    isn't accepted. *dropped* is an earlier choice that the record no longer offers.
    """

    damage: str
    damage_label: str
    option: str
    label: str
    technique: str
    verdict: Verdict | Literal[""]  # empty where nothing is chosen yet
    planned: str
    planned_label: str
    because: Line
    reason: str  # in own words
    against: tuple[Line, ...]
    rules: tuple[str, ...]
    dropped: str = ""
    where: str = ""  # the parts with the damage, by name

    @property
    def is_own_choice(self) -> bool:
        """Return whether somebody chose otherwise than the plan."""
        return self.option != self.planned

    @property
    def needs_reason(self) -> bool:
        """Return whether a reason in own words is due and still missing."""
        open_or_barred = self.verdict in (Verdict.UNDECIDED, Verdict.DEFEATED)
        return self.is_own_choice and open_or_barred and not self.reason.strip()


@dataclass(frozen=True, slots=True)
class Edition:
    """Which state of what a proposal was written from.

    *case_version* and *words_version* are 0 outside the store. *date* is ISO 8601.
    """

    date: str
    case_digest: str
    case_version: int = 0
    words_version: int = 0
    knowledge: str = ""
    rules: str = ""
    policy: str = ""

    @property
    def version(self) -> str:
        """Return the version in words: that of the case, then that of the own words.

        >>> Edition("2026-11-20", "ab", 4, 2).version, Edition("2026-11-20", "ab").version
        ('4.2', 'unnumbered')
        """
        if not self.case_version:
            return "unnumbered"
        return f"{self.case_version}.{self.words_version}"


@dataclass(frozen=True, slots=True)
class Reference:
    """A cited claim with its number, and the number of its source (0 where it has none)."""

    number: int
    claim: str
    view: ClaimView
    source: int


@dataclass(frozen=True, slots=True)
class Report:
    """A whole proposal, or a whole treatment record (*kind*).

    *reviews* is None where none could be known, outside the store. *lacks* counts what a record
    still has to hold; a proposal has its elements for it. *brief* holds the pages that stand before
    all else: the proposal itself, of which the sections are the annex.
    """

    case_id: str
    title: str
    object: str
    demo: bool
    edition: Edition
    summary: tuple[Line, ...]
    elements: tuple[Element, ...]
    chosen: tuple[ChosenOption, ...]
    sections: tuple[Section, ...]
    references: tuple[Reference, ...]
    sources: tuple[tuple[int, str, SourceView], ...]
    numbers: Mapping[str, int] = field(default_factory=dict)
    reviews: Reviews | None = None
    kind: Literal["proposal", "record"] = "proposal"
    lacks: int = 0
    brief: tuple[tuple[Block, ...], ...] = ()

    @property
    def missing(self) -> tuple[Element, ...]:
        """Return the elements that are due and not there."""
        return tuple(e for e in self.elements if e.is_missing)

    @property
    def is_draft(self) -> bool:
        """Return whether anything that has to be there is missing, but the signature."""
        return self.lacks > 0 or any(e.duty == "must" and e.key != "approval" for e in self.missing)

    def lines(self) -> Iterator[Line]:
        """Yield every line in the order of the document, as a reader meets them."""
        yield from self.summary
        for page in self.brief:
            for block in page:
                yield from lines_of(block)
        for element in self.elements:
            yield Line("", element.claims)
        for section in self.sections:
            for passage in section.passages:
                for block in passage.blocks:
                    yield from lines_of(block)


def lines_of(block: Block) -> Iterator[Line]:
    """Yield the lines of a block, in reading order."""
    match block:
        case Para() | Notice():
            yield block.line
        case Bullets():
            yield from block.items
        case Facts():
            yield from (line for _, line in block.rows)
        case Table():
            yield from (cell for row in block.rows for cell in row)
        case Heading() | Figure() | Sign():
            return
