"""All that a service under strain has to hold, in one command, each figure with the load beside it.

    python bench/strain.py [crowd abandoned large mutated requests writes]

*crowd* and *abandoned* are the benches of these names; *large* asks once about an invented case of
50 KiB; *mutated* sends 2 000 demo cases in which something was broken; *requests* makes up 20 000
from the OpenAPI; *writes* kills writers of 1 000 records on SQLite and PostgreSQL. Without a name
all of them run, for about an hour on two idle cores. Ends with 1 where a part failed, or an answer
was a server error; how long things took is printed beside its goal and judged by who reads it.
"""

from __future__ import annotations

import argparse
import copy
import json
import os
import random
import subprocess
import sys
import time
from collections import Counter
from collections.abc import Callable
from pathlib import Path
from typing import Any

import httpx2

ROOT = Path(__file__).parents[1]
sys.path[:0] = [str(ROOT)]

from bench.large_case import large_record  # noqa: E402 - found only from the root of the source
from bench.served import invented, served  # noqa: E402 - as above

CASES, KIB, SEED = 2000, 50, 7
HOSTILE: tuple[Any, ...] = (
    None, "", "x" * 5000, "\u0000", "silk", "no-such-thing", -1, 10**18, 1e300, True, [], {},
    ["a", ["b"]], {"id": "x"},
)  # fmt: skip


def beside(*command: str) -> bool:
    """Run another command of ours; say whether it ended well."""
    return subprocess.run([sys.executable, *command], cwd=ROOT, check=False).returncode == 0  # noqa: S603


def tested(*given: str) -> bool:
    return beside("-m", "pytest", "-q", "-n", "0", *given)


def of_size(kib: int) -> dict[str, Any]:
    """Return an invented case of so many KiB as JSON, which more and more contacts make up."""
    contacts = 60
    while len(json.dumps(record := large_record(contacts=contacts)).encode()) < kib * 1024:
        contacts += 1
    return record


def large() -> bool:
    """Ask about a large case once; wanted: within 2 s, and less than 5 MB."""
    record = of_size(KIB)
    with served() as address, httpx2.Client(base_url=address, timeout=120) as client:
        client.post("/options", json=invented())  # the workers are there then
        begun = time.monotonic()
        answer = client.post("/options?once=true", json=record)
        took = time.monotonic() - begun
    asked, told = len(json.dumps(record).encode()) / 1024, len(answer.content) / 1e6
    if answer.status_code != 200:
        print(answer.text[:500])
    print(f"{answer.status_code}: {asked:.0f} KiB asked, {told:.1f} MB answered (wanted < 5) "
          f"in {took:.1f} s (wanted < 2)")  # fmt: skip
    return answer.status_code == 200


def broken(record: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    """Return a record in which one to three places hold something else, or are gone."""
    made = copy.deepcopy(record)
    for _ in range(chance.randint(1, 3)):
        here: Any = made
        while True:
            keys = list(here) if isinstance(here, dict) else list(range(len(here)))
            key = chance.choice(keys)
            if isinstance(here[key], dict | list) and here[key] and chance.random() < 0.8:
                here = here[key]
                continue
            if chance.random() < 0.25 and len(keys) > 1:
                del here[key]
            else:
                here[key] = copy.deepcopy(chance.choice(HOSTILE))
            break
    return made


def mutated() -> bool:
    """Send broken cases one after another; wanted: no server error."""
    chance, came, faults = random.Random(SEED), Counter[int](), []  # noqa: S311 - no secrets
    record = invented()
    with served() as address, httpx2.Client(base_url=address, timeout=120) as client:
        for number in range(CASES):
            body = broken(record, chance)
            answer = client.post("/options?once=true", json=body)
            came[answer.status_code] += 1
            if answer.status_code >= 500:
                faults.append((number, answer.text[:300]))
    print(f"{sum(came.values())} cases: {dict(came)} (wanted: none of 500 and above)", *faults[:5])
    return not faults


PARTS: dict[str, Callable[[], bool]] = {
    "large": large,
    "crowd": lambda: beside("bench/crowd.py"),
    "abandoned": lambda: beside("bench/abandoned.py"),
    "writes": lambda: tested("tests/store/test_kill.py"),
    "requests": lambda: tested("tests/doors/test_robust.py", "--requests", "20000"),
    "mutated": mutated,
}


def main() -> None:
    """Run the parts, and end with 1 where one failed."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("parts", nargs="*", help=f"which of {', '.join(PARTS)}; else all")
    parts = parser.parse_args().parts or list(PARTS)
    if unknown := {*parts} - {*PARTS}:
        parser.error(f"{', '.join(sorted(unknown))}: expected one of {', '.join(PARTS)}")
    failed = []
    for name in parts:
        begun, load = time.monotonic(), os.getloadavg()[0]
        print(f"== {name}", flush=True)
        if not PARTS[name]():
            failed.append(name)
        took, how = time.monotonic() - begun, "failed" if name in failed else "ran"
        loads = f"load {load:.1f} before and {os.getloadavg()[0]:.1f} after"
        print(f"-- {name}: {how}, {took:.0f} s, {loads}", flush=True)
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
