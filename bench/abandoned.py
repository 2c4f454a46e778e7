"""A crowd asks the costliest question and leaves: how long health and pages take then.

    python bench/abandoned.py [--requests 200]

Starts a service of its own on this machine, sends it that many questions *what to find out first*
on an invented case, each different and each given up after a second, and asks meanwhile for
``/health`` and for a page, ten times a second each. Wanted: 99 in 100 within a second.
"""

from __future__ import annotations

import argparse
import asyncio
import os
import time

import httpx2
from served import invented, percentile, served

LEAVE_S, EVERY_S, MOST = 1.0, 0.1, 1000


async def leave(client: httpx2.AsyncClient, number: int) -> str:
    """Ask the costliest question and give up; return what came of it."""
    record = invented()
    record["title"] = f"{record['title']} {number}"
    try:
        answer = await client.post("/options/find-out-first", json=record, timeout=LEAVE_S)
    except httpx2.TimeoutException:
        return "left"
    except httpx2.HTTPError as error:
        return type(error).__name__
    return str(answer.status_code)


async def look(client: httpx2.AsyncClient, path: str, over: asyncio.Event) -> list[float]:
    """Ask for a path again and again; return the seconds that each answer took."""
    took = []
    while not over.is_set():
        begun = time.monotonic()
        answer = await client.get(path, timeout=60)
        answer.raise_for_status()
        took.append(time.monotonic() - begun)
        await asyncio.sleep(EVERY_S)
    return took


async def measure(address: str, requests: int) -> None:
    """Send the crowd over ten seconds, and print how long health and pages took meanwhile."""
    limits = httpx2.Limits(max_connections=requests + 10)
    async with httpx2.AsyncClient(base_url=address, limits=limits) as client:
        await client.get("/")
        over = asyncio.Event()
        looks = [asyncio.create_task(look(client, path, over)) for path in ("/health", "/")]
        crowd = []
        for number in range(requests):
            crowd.append(asyncio.create_task(leave(client, number)))
            await asyncio.sleep(10 / requests)
        came = await asyncio.gather(*crowd)
        await asyncio.sleep(5)
        over.set()
        found = await asyncio.gather(*looks)
    print({one: came.count(one) for one in sorted(set(came))}, "load", os.getloadavg()[0])
    for path, took in zip(("/health", "/"), found, strict=True):
        figures = " ".join(f"p{int(100 * s)} {percentile(took, s):.3f}" for s in (0.5, 0.95, 0.99))
        print(f"{path:8} asked {len(took):4} {figures} most {max(took):.3f} s")


def main() -> None:
    """Run the bench."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--requests", type=int, default=200)
    requests = min(parser.parse_args().requests, MOST)
    with served() as address:
        asyncio.run(measure(address, requests))


if __name__ == "__main__":
    main()
