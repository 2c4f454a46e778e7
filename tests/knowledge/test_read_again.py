"""Claims held against their sources again, beyond the lot: what was found, and if it stands."""

from __future__ import annotations

import csv
import hashlib
from collections import Counter
from pathlib import Path

from leastwise.graph import Adviser
from tests.knowledge.test_lot import LOT

HERE = Path(__file__).parent
FILES = sorted(HERE.glob("read-again*.csv"))
ROWS = [row for one in FILES for row in csv.DictReader(one.read_text("utf-8").splitlines())]
OUTCOMES = {"says so", "mended", "part seen", "not found"}
EXTENTS = {"whole", "part", "opening", "abstract", "quoted elsewhere", ""}
#: Records whose claim was edited since; each of them is to be held against its source anew.
MOST_EDITED_SINCE = 10


def test_a_record_names_a_read_claim_once_and_says_what_came_of_it(adviser: Adviser) -> None:
    k = adviser.knowledge

    for row in ROWS:
        assert k.object(f"claim:{row['claim']}", "lw:basis") == "lw:read", row
        assert row["outcome"] in OUTCOMES, row
        assert row["read"] in EXTENTS, row
        assert (row["outcome"] == "not found") == (row["source_says"] == ""), row
        assert row["source_says"] != k.text(f"claim:{row['claim']}", "lw:statement")
    names = [row["claim"] for row in ROWS]
    assert len(set(names)) == len(names)
    assert not set(names) & set(LOT), "the lot keeps its own record"


def test_claims_still_say_what_was_checked(adviser: Adviser) -> None:
    said = {r["claim"]: adviser.knowledge.text(f"claim:{r['claim']}", "lw:statement") for r in ROWS}

    edited = [
        row["claim"]
        for row in ROWS
        if hashlib.sha256(said[row["claim"]].encode()).hexdigest()[:16] != row["digest"]
    ]

    assert len(edited) <= MOST_EDITED_SINCE, edited


def test_what_was_not_found_in_two_searches_is_of_low_confidence(adviser: Adviser) -> None:
    k = adviser.knowledge

    for row in ROWS:
        said = k.object(f"claim:{row['claim']}", "lw:confidence")
        if row["outcome"] == "not found":
            assert said == "lw:low", row
        if row["outcome"] == "part seen":
            assert said != "lw:high", row


def test_how_many_were_read_again_and_with_what_outcome() -> None:
    """With the lot; the figures may only grow, but for what was not found."""
    counts = Counter(row["outcome"] for row in ROWS)
    counts.update(one["judgement"] for one in LOT.values())

    found = counts["says so"] + counts["mended"] + counts["part seen"]

    assert sum(counts.values()) >= 982
    assert counts["not found"] <= 12
    assert counts["part seen"] / found <= 0.05
