"""How long a store of 10 000 cases takes to list, search and open, on SQLite and PostgreSQL.

Prints figures; run by hand with `python bench/store.py [CASES]` on a quiet machine. Every case is
as large as a demo case, was changed once, and has words of its own; every tenth is shared.
PostgreSQL is left out where its server isn't installed.
"""

from __future__ import annotations

import copy
import json
import statistics
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import yaml
from sqlalchemy.orm import Session

from leastwise.api.store import Store
from leastwise.api.store.backup.verify import verify
from leastwise.api.store.tables import ShareTable
from leastwise.graph.case.demo import demo_path

sys.path.insert(0, str(Path(__file__).parents[1]))
from tests.store.postgres import Server

WANTED_MS = 200.0
BATCH = 200
THINGS = ("Röckchen", "banner", "chasuble", "été gown", "fan", "glove", "sash", "curtain")


def fill(store: Store, cases: int) -> list[str]:
    """Put *cases* cases into a store, each begun and changed once; 20 owners, some shared.

    Goes past the store's own doors, which wait for the disk at each change; the rows are the same.
    """
    read = yaml.safe_load(demo_path("festival-dancer").read_text("utf-8"))
    pattern, ids = json.loads(json.dumps(read, default=str)), []
    for start in range(0, cases, BATCH):
        with store.session() as session:
            for n in range(start, min(start + BATCH, cases)):
                ids.append(put(store, session, pattern, n))
                session.expunge_all()
    return ids


def put(store: Any, session: Session, pattern: dict[str, Any], n: int) -> str:
    body, thing, owner = copy.deepcopy(pattern), THINGS[n % len(THINGS)], f"owner{n % 20}"
    body["object"] |= {"name": f"{thing} {n}", "identifier": f"inv. {n * 7919 % 100_000}"}

    def add(kind: str, said: dict[str, Any], **more: str) -> Any:
        chain = store._chain(session)
        return store._add(session, chain, kind, said, who=owner, what="begun", **more)

    case = add("case", body, title=f"{thing} no. {n}")
    body["object"]["keeper"] = f"Museum {n % 37} (invented)"
    chain = store._chain(session)
    store._change(session, chain, case, body=body, who=owner, what="keeper named")
    add("words", {"aim": "x" * 500}, case=case.id)
    if n % 10 == 0:
        add("shares", {"guest": "read"}, case=case.id)
        session.add(ShareTable(case_id=case.id, account="guest", right="read"))
    session.flush()
    return str(case.id)


def milliseconds(do: Callable[[], object], times: int = 15) -> str:
    """Return the middle and the longest of several runs, and the ratio to what is wanted."""
    taken = []
    for _ in range(times):
        start = time.perf_counter()
        do()
        taken.append((time.perf_counter() - start) * 1000)
    worst = max(taken)
    return f"{statistics.median(taken):8.1f} ms, longest {worst:8.1f} ms ({worst / WANTED_MS:.2f})"


def clock() -> Callable[[], datetime]:
    """Return a clock that goes on a second at each look."""
    moments = iter(range(10**9))
    return lambda: datetime(2026, 1, 1, tzinfo=UTC) + timedelta(seconds=next(moments))


def urls(folder: Path) -> Iterator[tuple[str, str]]:
    yield "SQLite", str(folder / "bench.sqlite")
    try:
        server = Server()
    except BaseException as error:  # pytest's skipping is one
        print(f"PostgreSQL is left out: {error}")
        return
    try:
        yield "PostgreSQL", server.database()
    finally:
        server.close()


def main(cases: int) -> None:
    with tempfile.TemporaryDirectory() as folder:
        for name, url in urls(Path(folder)):
            store: Any = Store.open(url, clock())
            start = time.perf_counter()
            ids = fill(store, cases)
            spent = time.perf_counter() - start
            _, total = store.cases(limit=1)
            print(f"{name}: {total} cases, made in {spent:.0f} s; ratios are to {WANTED_MS:.0f} ms")
            middle = ids[len(ids) // 2]
            asked: dict[str, Callable[[], object]] = {
                "list, first page": store.cases,
                "list, last page": lambda s=store: s.cases(offset=cases - 50),
                "list of one owner": lambda s=store: s.cases(account="owner3"),
                "list of a guest": lambda s=store: s.cases(account="guest"),
                "search, many found": lambda s=store: s.cases(query="rockchen"),
                "search, two words": lambda s=store: s.cases(query="ete museum"),
                "search, one found": lambda s=store: s.cases(query=f"no. {cases // 2}"),
                "search, none found": lambda s=store: s.cases(query="nothing like it"),
                "open": lambda s=store, m=middle: s.read(m, "case"),
                "open as of": lambda s=store, m=middle: s.as_of(m, version=1),
                "history": lambda s=store, m=middle: s.history(m),
                "open, first time": lambda u=url: Store.open(u).engine.dispose(),
            }
            for what, do in asked.items():
                print(f"  {what:20} {milliseconds(do)}")
            start = time.perf_counter()
            found = verify(store)
            print(f"  verify               {time.perf_counter() - start:8.1f} s, "
                  f"{found.events} events, {len(found.faults)} faults")  # fmt: skip
            store.engine.dispose()


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
