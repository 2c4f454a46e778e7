"""When a signature approves the present text, and what is said where it does not."""

from __future__ import annotations

from dataclasses import replace

import pytest

from leastwise.graph.proposal.report.approval import approval_notice, said_in_review
from leastwise.graph.proposal.report.reviews import Given, Reviewed, Reviews
from leastwise.graph.proposal.report.values import Table, lines_of

SIGNED = Given(
    "e2", "signature", "b", "2026-11-20 10:00 UTC", "2026-11-20T10:00:00+00:00", "signatory",
    "B. Reviewer", sha256="aa", approves=True,
)  # fmt: skip
AGREED = replace(SIGNED, id="e1", what="outcome", words="agreed", reasons="sound", sha256="")
ONE = Reviewed("c", 1, "aa", "a", "2026-11-19 09:00 UTC", 3, 2, "k" * 64, "signed off",
               (AGREED, SIGNED))  # fmt: skip
CHANGED = ("the record (version 3 then, 4 now)",)


def test_a_signature_approves_while_its_version_is_the_present_text() -> None:
    assert Reviews((ONE,)).approval == SIGNED
    notice = approval_notice(Reviews((ONE,)))
    assert notice is not None
    assert notice.about == "note"


@pytest.mark.parametrize(
    ("versions", "why"),
    [
        ((), "to be signed before the work begins"),
        (
            (replace(ONE, differs=CHANGED),),
            "given for version 1, the record (version 3 then, 4 now) has changed since",
        ),
        ((replace(ONE, holds=False),), "no longer has the hash"),
        ((replace(ONE, withdrawn=True),), "was withdrawn"),
        ((replace(ONE, given=(AGREED,)),), "version 1, the newest, is not signed"),
        (
            (ONE, replace(ONE, number=2, given=())),
            "the signature for version 1 is for an earlier text",
        ),
        (
            (ONE, replace(ONE, number=2, given=(), differs=CHANGED)),
            "given for version 1; version 2, the newest, is not signed",
        ),
        ((replace(ONE, given=(replace(SIGNED, sha256="bb"),)),), "names another hash"),
        (
            (replace(ONE, given=(replace(SIGNED, approves=False),)),),
            "changes that are still to be made",
        ),
    ],
)
def test_where_nothing_approves_the_present_text_it_says_why(
    versions: tuple[Reviewed, ...], why: str
) -> None:
    reviews = Reviews(versions)
    assert reviews.approval is None
    assert why in reviews.why_not


def test_the_newest_version_stands_first_with_who_when_role_reasons_and_hash() -> None:
    newer = replace(ONE, number=2, sha256="bb", given=())
    (passage,) = said_in_review(Reviews((replace(ONE, differs=CHANGED), newer)))
    said = "\n".join(line.text for block in passage.blocks for line in lines_of(block))
    tables = [block for block in passage.blocks if isinstance(block, Table)]

    assert passage.by == "review"
    assert said.index("bb") < said.index("aa")
    assert [cell.text for cell in tables[0].rows[0]] == [
        "Outcome", "b", "2026-11-20 10:00 UTC", "signatory", "agreed\nReasons: sound",
    ]  # fmt: skip
    assert "which is not the present text" in tables[0].rows[1][4].text
