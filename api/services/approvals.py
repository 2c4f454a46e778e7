"""What was decided and signed of a proposal's frozen versions, held against its text of now."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime

from leastwise.api.services.reviewing import DECISIONS, STATES, Body, Frozen, Review, gravest
from leastwise.api.store import Document
from leastwise.graph.proposal.report.reviews import Given, Reviewed, Reviews
from leastwise.graph.proposal.report.values import Edition
from leastwise.graph.proposal.report.words import cleaned

__all__ = ["reviews_against"]

#: What somebody does by an entry, where the role of the account is not known.
DOES = {"decision": "reviewer", "signature": "signatory"}


def reviews_against(
    reviews: Sequence[Review], now: Edition, hash_now: Callable[[], str]
) -> Reviews:
    """Return what was said of all versions, oldest first, held against the present text.

    *hash_now* gives the content hash of the present text, without what was said of it; it is asked
    only where the versions that the text names are those of now.
    """
    return Reviews(tuple(_reviewed(one, now, hash_now) for one in reviews))


def _reviewed(review: Review, now: Edition, hash_now: Callable[[], str]) -> Reviewed:
    frozen, body = review.frozen, review.frozen.body
    return Reviewed(
        frozen.document.case,
        frozen.number,
        frozen.sha256,
        cleaned(frozen.document.owner),
        _minute(frozen.document.created),
        int(body["case_version"]),
        int(body["words_version"]),
        str(body["knowledge"]),
        STATES[review.state],
        tuple(_given(review)),
        tuple(_differs(frozen, now, hash_now)),
        withdrawn=bool(body.get("withdrawn")),
        holds=frozen.holds(),
    )


def _differs(frozen: Frozen, now: Edition, hash_now: Callable[[], str]) -> Iterator[str]:
    """Yield what has changed since a version was frozen."""
    body = frozen.body
    found = list(_versions(body, now))
    if not found and frozen.sha256 != hash_now():
        found = ["a photograph, the sketch or a derived passage"]
    yield from found


def _versions(body: Body, now: Edition) -> Iterator[str]:
    for what, key, is_now in (
        ("the record", "case_version", now.case_version),
        ("the text in own words", "words_version", now.words_version),
    ):
        if body[key] != is_now:
            yield f"{what} (version {body[key]} then, {is_now} now)"
    for what, then, is_digest in (
        ("the knowledge", str(body["knowledge"]), now.knowledge),
        ("the set of rules", str(body["rules"]), now.rules),
    ):
        if then != is_digest:
            yield f"{what} ({then[:8]} then, {is_digest[:8]} now)"
    if body["policy"] != now.policy:
        yield f"the policy ({body['policy']} then, {now.policy} now)"


def _given(review: Review) -> Iterator[Given]:
    """Yield outcomes and signatures, oldest first; what a signature stands on goes before it."""
    decisions: dict[str, str] = {}
    for entry in review.entries:
        what, body = entry.body["what"], entry.body
        if what == "decision":
            decision = decisions[entry.owner] = str(body["decision"])
            words = DECISIONS.get(decision, decision)
            yield Given(
                entry.id, "outcome", *_whose(entry),
                words, cleaned(str(body.get("text", ""))),
            )  # fmt: skip
        elif what == "signature":
            yield Given(
                entry.id, "signature", *_whose(entry),
                cleaned(str(body.get("text", ""))), sha256=cleaned(str(body.get("sha256", ""))),
                approves=gravest(decisions.values()) == "agreed",
            )  # fmt: skip


def _whose(entry: Document) -> tuple[str, str, str, str]:
    """Return who, when (in words, and in ISO 8601) and in what role."""
    at = entry.created.astimezone(UTC)
    return cleaned(entry.owner), _minute(at), at.isoformat(timespec="seconds"), _role(entry)


def _role(entry: Document) -> str:
    role = cleaned(str(entry.body.get("role", "")))
    does = DOES[entry.body["what"]]
    return f"{does}; account: {role}" if role else does


def _minute(at: datetime) -> str:
    return f"{at.astimezone(UTC):%Y-%m-%d %H:%M} UTC"
