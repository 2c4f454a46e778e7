"""How near the advice comes to published treatments; what is counted stands in bench/judging.py.

Shares stand with Wilson's 95 % interval. Run: python bench/treatments.py [--misses] [--table]
[--json PATH] [--later | --third] [--entry P-001]
"""

from __future__ import annotations

import argparse
import json
from dataclasses import asdict
from pathlib import Path
from typing import Any

from judging import (
    LATER,
    MEASURES,
    PUBLISHED,
    THIRD,
    Entry,
    counted,
    entries,
    measure,
    terms,
    wilson,
)

COUNTED = {
    "listed": "options listed",
    "shown": "places shown",
    "named": "options named in them",
    "named_first": "options named in the first three places",
}


def _share(right: int, of: int) -> str:
    low, high = wilson(right, of)
    share = f"{right / of:.0%}" if of else "-"
    return f"{right} of {of} = {share} ({low:.0%} to {high:.0%})"


def tell(name: str, figures: dict[str, Any]) -> None:
    """Print the figures of some entries."""
    print(f"{name}: {figures['judged']} of {figures['entries']} entries judged")
    for measure_name in MEASURES:
        one = figures[measure_name]
        beside = f"; {one['without_counterpart']} more without a counterpart"
        print(f"  {measure_name:8} {_share(one['right'], one['of'])}{beside}")
    print(f"  refused and yet accepted: {figures['refused_accepted']}")
    of = figures["problems"]
    print(f"  first line misses the aim {_share(figures['first_misses_aim'], of)}")
    not_left = figures["first_misses_aim_not_left_alone"]
    print(f"    where the source did not leave alone: {not_left}")
    print(f"  first line accepted and meets it {_share(figures['first_accepted'], of)}")
    for what, words in COUNTED.items():
        one = figures[what]
        print(f"  {words} a problem: mean {one['mean']:.1f}, median {one['median']:g}")
    print(f"  facts not said {_share(figures['not_said'], figures['facts'])}")


def tell_terms() -> None:
    """Print how many words of the sources have a counterpart."""
    found = terms()
    for kind, (ok, of, _) in found.items():
        print(f"  {kind:10} {_share(ok, of)}")
    right, of = (sum(x[i] for x in found.values()) for i in (0, 1))
    print(f"  all        {_share(right, of)}")


def tell_misses(found: list[Entry]) -> None:
    """Print every miss with what was said instead."""
    for entry in found:
        for v in entry.verdicts:
            if not v.right:
                kind = f" {v.kind}" if v.kind else ""
                lacking = "" if v.counterpart else " [no counterpart]"
                print(f"{v.entry} {v.measure}{kind}{lacking}: {v.words}\n    {v.why}")


def tell_missing_words() -> None:
    """Print the words of the sources that have no counterpart."""
    for kind, (_, _, words) in terms().items():
        print(f"{kind} without a counterpart: " + "; ".join(words))


def tell_table(figures: dict[str, dict[str, Any]]) -> None:
    """Print the shares by kind of treatment as a Markdown table."""
    print("| kind | entries | chosen | singly | tests | order | first line misses the aim |")
    print("|---|---|---|---|---|---|---|")
    for name, one in figures.items():
        cells = [
            f"{one[m]['right']} of {one[m]['of']}" for m in ("chosen", "singly", "tests", "order")
        ]
        misses = f"{one['first_misses_aim']} of {one['problems']}"
        print(f"| {name} | {one['judged']} | {' | '.join(cells)} | {misses} |")


def main() -> None:
    """Weigh all published treatments and print the figures."""
    parser = argparse.ArgumentParser(description="advice against published treatments")
    parser.add_argument("--misses", action="store_true", help="list every miss")
    parser.add_argument("--table", action="store_true", help="the shares as a Markdown table")
    parser.add_argument("--json", type=Path, help="write everything to this file")
    which = parser.add_mutually_exclusive_group()
    which.add_argument("--later", action="store_true", help="those that were read later")
    which.add_argument("--third", action="store_true", help="the third set")
    parser.add_argument("--entry", action="append", help="only this entry; may be repeated")
    asked = parser.parse_args()
    folder = LATER if asked.later else THIRD if asked.third else PUBLISHED / "treatments"
    written = [e for e in entries(folder) if not asked.entry or e["id"] in asked.entry]
    found = measure(written)
    kinds = sorted({e.kind for e in found})
    groups = {"all": found} | {k: [e for e in found if e.kind == k] for k in kinds}
    figures = {name: counted(some) for name, some in groups.items()}
    for name, some in figures.items():
        tell(name, some)
    if asked.table:
        tell_table(figures)
    print("terms with a counterpart:")
    tell_terms()
    if asked.misses or asked.entry:
        tell_misses(found)
    if asked.misses:
        tell_missing_words()
    if asked.json:
        whole = {"figures": figures, "terms": terms(), "entries": [asdict(e) for e in found]}
        asked.json.write_text(json.dumps(whole, ensure_ascii=False, indent=1, sort_keys=True))


if __name__ == "__main__":
    main()
