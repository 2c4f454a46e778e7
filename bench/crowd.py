"""How many answers a second: POST /options by 50 clients, the same case and distinct ones.

    python bench/crowd.py [--clients 50] [--seconds 20]

Starts a service of its own on this machine with two workers. Wanted on two idle cores: 40 a second
for the same case, 20 for distinct ones, 99 in 100 within two seconds.
"""

from __future__ import annotations

import argparse
import asyncio
import os
import time
from typing import Any

import httpx2
from served import invented, percentile, served


async def client_of(
    client: httpx2.AsyncClient, record: dict[str, Any], first: int, step: int, end: float
) -> tuple[list[float], dict[int, int]]:
    """Ask until the time is over; *step* 0 asks for the same case again and again."""
    took, came, number = [], {}, first
    while time.monotonic() < end:
        title = f"{record['title']} {number}" if step else record["title"]
        begun = time.monotonic()
        answer = await client.post("/options", json=record | {"title": title}, timeout=120)
        came[answer.status_code] = came.get(answer.status_code, 0) + 1
        if answer.status_code == 200:
            took.append(time.monotonic() - begun)
        number += step
    return took, came


async def measure(address: str, clients: int, seconds: float, *, distinct: bool) -> None:
    """Let the clients ask, and print what came."""
    record = invented()
    limits = httpx2.Limits(max_connections=clients)
    async with httpx2.AsyncClient(base_url=address, limits=limits) as client:
        await client.post("/options", json=record, timeout=120)
        begun = time.monotonic()
        step = clients if distinct else 0
        found = await asyncio.gather(
            *(client_of(client, record, n, step, begun + seconds) for n in range(clients))
        )
        lasted = time.monotonic() - begun
    took = [one for each, _ in found for one in each]
    came: dict[int, int] = {}
    for _, each in found:
        for status, times in each.items():
            came[status] = came.get(status, 0) + times
    figures = " ".join(f"p{int(100 * s)} {percentile(took, s):.2f}" for s in (0.5, 0.95, 0.99))
    kind = "distinct cases" if distinct else "the same case"
    print(f"{kind:15} {len(took) / lasted:5.1f} a second, {figures} s, {came}, "
          f"load {os.getloadavg()[0]:.1f}")  # fmt: skip


def main() -> None:
    """Run the bench."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--clients", type=int, default=50)
    parser.add_argument("--seconds", type=float, default=20.0)
    given = parser.parse_args()
    with served() as address:
        for distinct in (False, True):
            asyncio.run(measure(address, given.clients, given.seconds, distinct=distinct))


if __name__ == "__main__":
    main()
