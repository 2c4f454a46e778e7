"""How often the words of published treatments lead to the meant thing.

Every term of tests/published/terms-*.yaml with a counterpart is looked up by its own words. It is
found if a meant concept, a group that takes it in, or a kind of it stands among the first three.
"""

from __future__ import annotations

import sys
from pathlib import Path

import yaml

from leastwise.graph import load_adviser
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.knowledge.lookup import look_up

TERMS = Path(__file__).parents[1] / "tests" / "published"
FIRST = 3
SCHEMES = {"technique": ("technique", "refused", "test", "need")}


def is_found(term: str, kind: str, meant: list[str], knowledge: Knowledge) -> bool:
    """Return whether one of the first matches is what was meant, or a group or kind of it."""
    groups = {up for one in meant for up in knowledge.broader(one)}
    for match in look_up(term, SCHEMES.get(kind, (kind,)), knowledge, FIRST):
        if match.id in groups or set(meant) & set(knowledge.broader(match.id)):
            return True
    return False


def main() -> None:
    """Print the share found by kind; with --missed every term that isn't."""
    knowledge = load_adviser().knowledge
    counts: dict[str, list[int]] = {}
    for path in sorted(TERMS.glob("terms-*.yaml")):
        for row in yaml.safe_load(path.read_text("utf-8")):
            meant = [one for one in row.get("meant") or [] if one in knowledge]
            if not meant:
                continue
            found = is_found(row["term"], row["kind"], meant, knowledge)
            count = counts.setdefault(row["kind"], [0, 0])
            count[0] += found
            count[1] += 1
            if not found and "--missed" in sys.argv:
                got = look_up(row["term"], SCHEMES.get(row["kind"], (row["kind"],)), knowledge, 3)
                print(f"{row['kind']:10} {row['term']!r} meant {meant} got {[m.id for m in got]}")
    for kind, (found_n, all_n) in counts.items():
        print(f"{kind:10} {found_n:4} of {all_n:4}  {100 * found_n / all_n:5.1f} %")
    found_n, all_n = (sum(one[i] for one in counts.values()) for i in (0, 1))
    print(f"{'all':10} {found_n:4} of {all_n:4}  {100 * found_n / all_n:5.1f} %")


if __name__ == "__main__":
    main()
