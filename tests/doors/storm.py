"""Requests made up from the OpenAPI: many, and each in both modes."""

from __future__ import annotations

import time
import warnings
from collections import Counter
from dataclasses import dataclass, field
from datetime import timedelta
from typing import Any

import httpx
import schemathesis
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis.errors import Unsatisfiable
from schemathesis import GenerationMode

from leastwise.api.identity import signing_in
from leastwise.api.identity.access import SCOPES
from leastwise.api.settings import Settings
from leastwise.api.store import Store
from leastwise.api.store.accounts.store import AccountStore
from tests.apps import Apps
from tests.doors.direct import Direct

#: Requests to each operation at least, as a share of all; what is left goes to the quick ones.
EACH = 0.016
MODES = (GenerationMode.POSITIVE, GenerationMode.NEGATIVE)


@dataclass
class Tally:
    """What a storm found."""

    sent: int = 0
    operations: Counter[str] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)


def storm(apps: Apps, openapi: dict[str, Any], part: int, parts: int, requests: int) -> Tally:
    """Send *requests* over the operations of one part of the OpenAPI, half to each mode.

    Every operation gets its share; what then is left goes to the quick ones of the part, in turn,
    since a whole case takes many times as long to make up as a name.
    """
    doors, tally = _doors(apps), Tally()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of the generator's own
        schema = schemathesis.openapi.from_dict(openapi)
        operations = [one.ok() for one in schema.get_all_operations()]
        mine = sorted(operations, key=lambda one: one.label)[part::parts]
        _over(
            mine, doors, tally, requests, min(round(EACH * requests * parts), requests // len(mine))
        )
    for door in doors:
        door.close()
    return tally


def _over(
    mine: list[Any], doors: tuple[Direct, ...], tally: Tally, requests: int, each: int
) -> None:
    """Send *each* operation so many requests, and the quick ones what is left."""
    pace: dict[str, float] = {}
    for one in mine:
        begun, before = time.perf_counter(), tally.sent
        _rain(one, each // 2, doors, tally)
        pace[one.label] = (time.perf_counter() - begun) / max(1, tally.sent - before)
    varied = [one for one in mine if tally.operations[one.label] >= each // 2]
    best = min(pace[one.label] for one in varied)
    quick = [one for one in varied if pace[one.label] < 2 * best]
    turn = 0
    while tally.sent < requests:
        left = (requests - tally.sent + 1) // 2
        _rain(quick[turn % len(quick)], min(left, 200), doors, tally)
        turn += 1


def _doors(apps: Apps) -> tuple[Direct, Direct]:
    """Return the service on a personal machine, and a shared one with an administrator's token."""
    alone = apps.anew(Settings(cache=None), Store.open("sqlite://"))
    store = Store.open("sqlite://")
    accounts = AccountStore(store)
    accounts.add("chief", full_name="Chief", role="administrator", who="console")
    token = signing_in.make_token(
        accounts,
        "chief",
        label="storm",
        scopes=frozenset(scope.name for scope in SCOPES),
        expires=accounts.now() + timedelta(days=1),
    )
    shared = apps.anew(Settings(cache=None, shared=True), store)
    return (
        Direct(alone, host="127.0.0.1"),
        Direct(shared, host="museum.example", authorization=f"Bearer {token}"),
    )


def _rain(operation: Any, examples: int, doors: tuple[Direct, ...], tally: Tally) -> None:
    for mode in MODES:

        @settings(
            max_examples=max(1, examples // len(MODES)),
            phases=[Phase.generate],
            suppress_health_check=list(HealthCheck),
            deadline=None,
            database=None,
        )
        @given(operation.as_strategy(generation_mode=mode))
        def rain(case: Any) -> None:
            request = _request(case)
            if request is None:
                return
            for door in doors:
                _drop(door, request, operation.label, tally)

        try:
            rain()
        except Unsatisfiable:  # an operation that takes nothing can't be asked wrongly
            continue


def _drop(door: Direct, request: httpx.Request, label: str, tally: Tally) -> None:
    tally.sent += 1
    tally.operations[label] += 1
    try:
        status = door.send(request).status
    except Exception as error:
        tally.faults.append(f"{label}: {error!r} on {request.url} {request.content[:300]!r}")
    else:
        if status >= 500 or status in (401, 403):
            tally.faults.append(f"{label}: {status} on {request.url} {request.content[:300]!r}")


def _request(case: Any) -> httpx.Request | None:
    """Return the request of a case, or None for one that can't travel over HTTP at all."""
    given = case.as_transport_kwargs(base_url="http://127.0.0.1")
    data = given.get("data")
    try:
        return httpx.Request(
            given["method"],
            given["url"],
            params=given.get("params"),
            headers={name: str(value) for name, value in (given.get("headers") or {}).items()},
            json=given.get("json"),
            content=data if isinstance(data, bytes | str) else None,
            data=data if isinstance(data, dict) else None,
        )
    except (ValueError, TypeError, httpx.InvalidURL):
        return None
