"""Reviews in the store: frozen versions of a proposal, and what was said of each.

A version is frozen by a content hash (RDFC-1.0 over its linked data) and never changes. What
reviewers say is a record of its own each, so that nobody overwrites anybody.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from leastwise.api.store import AlreadyStored, Document, NotStored, Store
from leastwise.graph import Adviser
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.errors import LeastwiseError
from leastwise.graph.meanings import Verdict
from leastwise.graph.proposal.report.values import (
    Block,
    Bullets,
    Facts,
    Figure,
    Heading,
    Notice,
    Para,
    Report,
    Sign,
    Table,
)
from leastwise.graph.reviewing.agreement import Agreement, agreement
from leastwise.graph.reviewing.annotations import Said
from leastwise.graph.reviewing.content_hash import canonical
from leastwise.graph.reviewing.rebuttals import ReviewedVerdict, ReviewerArgument, reviewed

__all__ = [
    "DECISIONS",
    "FROZEN",
    "REVIEW",
    "STATES",
    "VERDICTS",
    "Frozen",
    "Review",
    "Unchanged",
    "anchors_of",
    "freeze",
    "frozen_body",
    "frozen_number",
    "frozen_of",
    "gravest",
    "review_of",
    "reviews_of",
]

#: Kinds of records.
FROZEN, REVIEW = "frozen", "review"
VERDICTS = (Verdict.DEFEATED, Verdict.UNDECIDED, Verdict.ACCEPTED)
DECISIONS = {
    "agreed": "agreed: may go to the owner as it stands",
    "agreed-with-changes": "agreed, with the changes named",
    "settle-first": "to be settled first: tests or answers are due",
    "not-agreed": "not agreed",
}
STATES = {
    "with-reviewers": "with the reviewers",
    **{key: words.partition(":")[0] for key, words in DECISIONS.items()},
    "signed": "signed off",
    "withdrawn": "withdrawn",
}
Body = dict[str, Any]


class Unchanged(LeastwiseError):  # noqa: N818 - reads as what happened
    """The proposal says what its newest frozen version says already."""

    def __init__(self, number: int) -> None:
        super().__init__(
            f"Nothing has changed since version {number} was frozen; its hash would be the same."
        )


@dataclass(frozen=True)
class Frozen:
    """One frozen version of a proposal."""

    document: Document

    @property
    def number(self) -> int:
        """Return its number, from 1."""
        return int(self.document.body["number"])

    @property
    def body(self) -> Body:
        """Return what was frozen."""
        return self.document.body

    @property
    def sha256(self) -> str:
        """Return its hash."""
        return str(self.body["sha256"])

    def holds(self) -> bool:
        """Return whether what is stored still has the hash that it was frozen with."""
        return canonical(str(self.body["jsonld"])).sha256 == self.sha256

    def line(self, anchor: str) -> str:
        """Return the sentence at an anchor, empty where there is none."""
        name = anchor.partition(":")[2]
        return next(
            (
                line["text"]
                for section in self.body["sections"]
                for line in section["lines"]
                if line["id"] == name
            ),
            "",
        )


def frozen_of(store: Store, case: str) -> list[Frozen]:
    """Return the frozen versions of a case's proposal, oldest first."""
    found = (Frozen(document) for document in store.of_case(case, FROZEN))
    return sorted(found, key=lambda one: one.number)


def frozen_number(store: Store, case: str, number: int) -> Frozen:
    """Return one frozen version.

    Raises:
        NotStored: the case has none of this number.

    """
    for one in frozen_of(store, case):
        if one.number == number:
            return one
    raise NotStored("frozen version", str(number))


def frozen_body(  # noqa: PLR0913 - what a version is told by
    report: Report,
    jsonld: str,
    *,
    case: Body,
    verdicts: Mapping[str, tuple[str, str]],
    steps: Sequence[tuple[int, str]],
    words: Mapping[str, str],
    note: str,
) -> Body:
    """Return what is frozen: the text, its linked data and hash, the case, verdicts and steps."""
    return {
        "sha256": canonical(jsonld).sha256,
        "jsonld": jsonld,
        "case": case,
        "case_version": report.edition.case_version,
        "words_version": report.edition.words_version,
        "knowledge": report.edition.knowledge,
        "rules": report.edition.rules,
        "policy": report.edition.policy,
        "draft": report.is_draft,
        "missing": [element.label for element in report.missing],
        "chosen": {one.damage: one.option for one in report.chosen if one.option},
        "verdicts": {
            option: {"label": label, "verdict": verdict}
            for option, (label, verdict) in verdicts.items()
        },
        "steps": [{"number": number, "label": label} for number, label in steps],
        "sections": list(_sections(report)),
        "words": dict(words),
        "note": note,
    }


def freeze(store: Store, case: str, body: Body, who: str) -> Frozen:
    """Keep a frozen version.

    Raises:
        Unchanged: the newest version that wasn't withdrawn says the same.

    """
    while True:
        known = frozen_of(store, case)
        if known and known[-1].sha256 == body["sha256"] and not known[-1].body.get("withdrawn"):
            raise Unchanged(known[-1].number)
        number = known[-1].number + 1 if known else 1
        try:
            made = store.create(
                FROZEN,
                {**body, "number": number},
                who=who,
                what=f"proposal version {number} frozen for review",
                case=case,
                title=f"version {number}",
                record_id=f"{case}-v{number}",
            )
        except AlreadyStored:  # somebody froze at the same moment
            continue
        return Frozen(made)


def _sections(report: Report) -> Iterable[Body]:
    for section in report.sections:
        lines: list[Body] = []
        for passage in section.passages:
            for block in passage.blocks:
                for kind, text, claims in _lines(block):
                    if text.strip():
                        name = f"{section.key}/{len(lines) + 1}"
                        lines.append(
                            {
                                "id": name,
                                "kind": kind,
                                "text": text,
                                "claims": list(claims),
                                "by": passage.by,
                            }
                        )
        yield {"key": section.key, "title": section.title, "lines": lines}


def _lines(block: Block) -> Iterable[tuple[str, str, tuple[str, ...]]]:
    match block:
        case Para():
            yield "para", block.line.text, block.line.claims
        case Notice():
            yield "notice", block.line.text, block.line.claims
        case Bullets():
            for one in block.items:
                yield "item", one.text, one.claims
        case Facts():
            for term, one in block.rows:
                yield "item", f"{term}: {one.text or 'still missing'}", one.claims
        case Table():
            for row in block.rows:
                said = [
                    f"{head}: {cell.text}"
                    for head, cell in zip(block.head, row, strict=True)
                    if cell.text.strip()
                ]
                yield "item", "; ".join(said), tuple(c for cell in row for c in cell.claims)
        case Heading():
            yield "heading", block.text, ()
        case Figure() | Sign():
            return


# -- what was said


def gravest(decisions: Iterable[str]) -> str:
    """Return what several decisions come to: the gravest of them; ``with-reviewers`` if none.

    >>> gravest(["agreed", "not-agreed", "agreed"]), gravest([])
    ('not-agreed', 'with-reviewers')
    """
    said = set(decisions)
    return next((one for one in reversed(DECISIONS) if one in said), "with-reviewers")


@dataclass(frozen=True)
class Review:
    """A frozen version with all that was said of it, and what follows."""

    frozen: Frozen
    entries: tuple[Document, ...]

    def of(self, what: str) -> list[Document]:
        """Return the entries of one kind, oldest first."""
        return [entry for entry in self.entries if entry.body["what"] == what]

    @property
    def state(self) -> str:
        """Return the state: one of STATES."""
        if self.frozen.body.get("withdrawn"):
            return "withdrawn"
        if self.of("signature"):
            return "signed"
        return gravest(entry.body["decision"] for entry in self.standing().values())

    def standing(self) -> dict[str, Document]:
        """Return the newest decision of each reviewer: nobody's no is outvoted by being earlier."""
        return {entry.owner: entry for entry in self.of("decision")}

    def at(self, anchor: str) -> list[Document]:
        """Return the remarks at an anchor."""
        return [e for e in self.of("remark") if e.body["anchor"] == anchor]

    def answers(self, entry: str) -> list[Document]:
        """Return the answers to an entry."""
        return [e for e in self.of("answer") if e.body["anchor"] == f"entry:{entry}"]

    def arguments(self, option: str) -> list[ReviewerArgument]:
        """Return the reviewers' arguments on an option."""
        return [
            ReviewerArgument(
                e.id, e.owner, e.body["attacks"], e.body["text"], tuple(e.body["claims"])
            )
            for e in self.of("argument")
            if e.body["option"] == option
        ]

    def verdicts(self, adviser: Adviser) -> dict[str, ReviewedVerdict]:
        """Return both verdicts on each option that reviewers argued about."""
        case = case_from_data(self.frozen.body["case"], adviser.knowledge)
        found = {}
        for option in dict.fromkeys(e.body["option"] for e in self.of("argument")):
            graph = adviser.arguments(case, option)
            found[option] = reviewed(option, graph, self.arguments(option))
        return found

    def agreement(self) -> Agreement:
        """Return how far the reviewers' ratings agree, as ordered verdicts."""
        ratings: dict[str, dict[str, str]] = {}
        for entry in self.of("rating"):
            for option, verdict in entry.body["verdicts"].items():
                ratings.setdefault(option, {})[entry.owner] = verdict
        return agreement(ratings, order=VERDICTS)

    def said(self) -> list[Said]:
        """Return all that was said, for annotations and provenance."""
        return [_said(self.frozen, entry) for entry in self.entries]


def review_of(store: Store, frozen: Frozen) -> Review:
    """Return a frozen version with what was said of it."""
    return _with_entries(frozen, store.of_case(frozen.document.case, REVIEW))


def reviews_of(store: Store, case: str) -> list[Review]:
    """Return every frozen version of a case with what was said of it, oldest first."""
    entries = store.of_case(case, REVIEW)
    return [_with_entries(frozen, entries) for frozen in frozen_of(store, case)]


def _with_entries(frozen: Frozen, entries: Iterable[Document]) -> Review:
    mine = frozen.document.id
    return Review(frozen, tuple(e for e in entries if e.body["frozen"] == mine))


def _said(frozen: Frozen, entry: Document) -> Said:
    body = entry.body
    more = {
        key: body[key]
        for key in ("attacks", "claims", "verdicts", "decision", "test", "part", "sha256")
        if body.get(key)
    }
    anchor = body.get("anchor", "") or (f"option:{body['option']}" if body.get("option") else "")
    return Said(
        entry.id,
        body["what"],
        entry.owner,
        entry.created.isoformat(),
        str(body.get("text", "")),
        anchor,
        frozen.line(anchor) if anchor.startswith("sentence:") else "",
        more,
    )


def anchors_of(frozen: Frozen) -> set[str]:
    """Return every place that a remark may be tied to."""
    body = frozen.body
    found = {""}
    found |= {f"option:{option}" for option in body["verdicts"]}
    found |= {f"step:{step['number']}" for step in body["steps"]}
    for section in body["sections"]:
        for line in section["lines"]:
            found.add(f"sentence:{line['id']}")
            found |= {claim for claim in line["claims"] if claim.startswith("claim:")}
    return found
