"""The section on approvals: what was decided and signed in Review, and for which text it holds."""

from __future__ import annotations

from collections.abc import Iterator

from leastwise.graph.proposal.report.reviews import Given, Reviewed, Reviews
from leastwise.graph.proposal.report.values import (
    Block,
    Facts,
    Heading,
    Line,
    Notice,
    Passage,
    Table,
)

__all__ = ["approval_notice", "said_in_review"]

HEAD = ("What", "Who", "When", "Role", "In words")
WIDTHS = (0.13, 0.15, 0.16, 0.16, 0.4)
#: A signature in Review and the owner's consent are two things.
AUTHORITY = (
    "Whether who signed may approve for the owner has to be checked; a reviewer's signature does "
    "not replace the owner's written consent."
)


def approval_notice(reviews: Reviews | None) -> Notice | None:
    """Return what has to be known of approval before anything else; None while nobody signed."""
    if reviews is None or not any(one.signatures for one in reviews.versions):
        return None
    return _standing(reviews)


def _standing(reviews: Reviews) -> Notice:
    signed = reviews.approval
    if signed is None:
        return Notice("missing", Line(f"Approval of this text: {reviews.why_not}."))
    newest = reviews.versions[-1]
    words = f"{newest.name.capitalize()} is signed off by {signed.who} ({signed.at}), and is this "
    return Notice("note", Line(f"{words}text; nothing has changed since. {AUTHORITY}"))


def said_in_review(reviews: Reviews) -> Iterator[Passage]:
    """Yield the passage with all outcomes and signatures, those of the newest version first."""
    if not reviews.versions:
        return
    blocks: list[Block] = [_standing(reviews)]
    for one in reversed(reviews.versions):
        blocks += _of_version(one)
    yield Passage("review", tuple(blocks))


def _of_version(one: Reviewed) -> Iterator[Block]:
    yield Heading(f"{one.name.capitalize()}, frozen by {one.by} on {one.at}")
    written = (
        f"case version {one.case_version}, own words version {one.words_version}, knowledge "
        f"{one.knowledge[:16]}"
    )
    yield Facts(
        (
            ("Content hash (SHA-256)", Line(one.sha256)),
            ("Written from", Line(written)),
            ("State", Line(one.state)),
            ("Against the present text", Line(_against(one))),
        )
    )
    if one.given:
        rows = tuple(_row(one, given) for given in one.given)
        yield Table(f"Decided and signed of {one.name}", HEAD, rows, WIDTHS)


def _against(one: Reviewed) -> str:
    if not one.holds:
        return "What is stored no longer has the hash it was frozen with; it can't be relied on."
    if one.differs:
        given = "Given" if one.given else "Frozen"
        return f"{given} for {one.name}, {one.changed_since}."
    return "The same; nothing has changed since it was frozen."


def _row(one: Reviewed, given: Given) -> tuple[Line, ...]:
    if given.what == "signature":
        words = f"{given.words}\nFor the text with the hash {given.sha256}"
        words += ", which is not the present text." if one.differs else "."
        return _cells("Signature", given, words)
    reasons = f"\nReasons: {given.reasons}" if given.reasons else ""
    return _cells("Outcome", given, given.words + reasons)


def _cells(what: str, given: Given, words: str) -> tuple[Line, ...]:
    return tuple(map(Line, (what, given.who, given.at, given.role, words)))
