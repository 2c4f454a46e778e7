"""How long the search over the knowledge takes: the index once, and a query of each sort.

Prints figures and their ratios to one look through all texts, in one run; asserts none. Run by
hand with `python bench/search.py`. Processor time counts, since a busy machine stretches only the
clock.
"""

from __future__ import annotations

import statistics
import time
from collections.abc import Callable

from leastwise.graph import load_adviser
from leastwise.graph.reference.book import build_reference
from leastwise.graph.reference.search import SearchIndex, Text, build_index, fold

WANTED_MS = 50.0
RUNS = 15
QUERIES = {
    "one word": "silk",
    "a word begun": "s",
    "two letters begun": "co",
    "several words": "water vapour on weighted silk with dyes",
    "an id": "claim:M-093",
    "words nowhere": "zzz qqq",
    "accents": "crêpeline",
}


def computed(work: Callable[[], object]) -> float:
    """Return the milliseconds that this process computes."""
    start = time.process_time()
    work()
    return (time.process_time() - start) * 1000


def folded(t: Text) -> str:
    """Return all that is searched of one thing, as it is compared."""
    return fold(f"{t.id} {t.label} {' '.join(t.also)} {t.definition} {t.statement}")


def look_through(texts: list[str], query: str) -> int:
    """Return in how many folded texts a query stands, one after another without an index."""
    return sum(query in text for text in texts)


def report(index: SearchIndex, yardstick: float) -> None:
    """Print each sort of query: median and most of the runs, and the ratio to the yardstick."""
    for name, query in QUERIES.items():
        runs = [computed(lambda q=query: index.search(q)) for _ in range(RUNS)]
        middle, total = statistics.median(runs), index.search(query).total
        print(
            f"{name:<18} {middle:6.1f} ms, {max(runs):6.1f} ms at most; {total:5d} found; "
            f"{middle / yardstick:5.2f} of a look through all texts; "
            f"{middle / WANTED_MS:4.2f} of what is wanted ({WANTED_MS:g} ms)"
        )


def main() -> None:
    """Print the figures."""
    adviser = load_adviser()
    book = build_reference(adviser.knowledge, adviser.rules)
    built = min(computed(lambda: build_index(book, adviser.knowledge)) for _ in range(3))
    index = build_index(book, adviser.knowledge)
    index.search("silk")  # labels are folded at the first question
    words = sum(len(fold(t.definition + t.statement).split()) for t in index.texts)
    texts = [folded(text) for text in index.texts]
    yardstick = min(computed(lambda: look_through(texts, "silk")) for _ in range(5))
    print(f"{len(index.texts)} texts of {words} words, {len(index.vocabulary)} words in the index")
    print(f"the index          {built:6.0f} ms, {built / yardstick:.1f} looks through all texts")
    print(f"look through all   {yardstick:6.1f} ms")
    report(index, yardstick)


if __name__ == "__main__":
    main()
