"""No request, however odd, is answered by a server error.

Thousands of requests made up from the OpenAPI (``--requests``, such as 20 000, for a longer look):
each is sent to a personal machine and to a shared service with an administrator's token. The forms
of the pages, which the OpenAPI doesn't describe, get random fields, huge numbers, NUL and broken
multipart.
"""

from __future__ import annotations

import re
from collections import Counter
from typing import Any

import httpx
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from leastwise.api.identity import signing_in
from leastwise.api.identity.secret import form_token_of
from leastwise.api.identity.signing_in import Place
from leastwise.api.settings import Settings
from leastwise.api.store import Store
from leastwise.api.store.accounts.store import AccountStore
from leastwise.graph import Adviser
from leastwise.graph.case.demo import read_demo
from tests.accounts.people import BASE
from tests.apps import Apps
from tests.doors.direct import Direct
from tests.doors.routes import Way, ways
from tests.doors.storm import storm

pytestmark = pytest.mark.slow  # thousands of requests

#: Parts of the operations, for as many tests: so they spread over the workers of a run.
PARTS = 4


@pytest.fixture(scope="module")
def openapi(apps: Apps) -> dict[str, Any]:
    """What the service says of its operations, written once for all parts."""
    app = apps.anew(Settings(cache=None), Store.open("sqlite://"))
    said: dict[str, Any] = app.openapi()
    return said


@pytest.mark.parametrize("part", range(PARTS))
def test_thousands_of_requests_over_every_operation_meet_no_server_error(
    apps: Apps, openapi: dict[str, Any], part: int, pytestconfig: pytest.Config
) -> None:
    requests = int(pytestconfig.getoption("--requests"))
    expected = sorted(
        f"{method.upper()} {path}"
        for path, methods in openapi["paths"].items()
        for method in methods
    )
    found = storm(apps, openapi, part, PARTS, requests // PARTS)

    assert not found.faults, "\n".join(found.faults[:40])
    assert {*found.operations} == {*expected[part::PARTS]}
    assert found.sent >= requests // PARTS


HOSTILE = [
    "",
    "\x00",
    "a\x00b",
    "-1",
    "1e309",
    "9" * 5000,
    "NaN",
    "-Infinity",
    "true",
    "[]",
    "{}",
    "null",
    "2026-02-30",
    "0000-00-00",
    "x" * 70_000,
    "\ud7ff\U0010ffff\u202e",
    "<script>alert(1)</script>",
    "' OR 1=1 --",
    "../../etc/passwd",
    "{{7*7}}",
    "%s%n",
    "\r\nx-injected: 1",
    "٣",
    "½",
]
#: Names that forms of ours use, so that the fields are not only unknown ones.
NAMES = [
    "form_token",
    "version",
    "name",
    "title",
    "next",
    "role",
    "right",
    "account",
    "to",
    "deed",
    "label",
    "lasts",
    "scopes",
    "kind",
    "text",
    "base",
    "number",
    "part",
    "parts",
    "damage",
    "technique",
    "option",
    "policy",
    "date",
    "time",
    "rh",
    "value",
    "unit",
    "photograph",
    "file",
    "stage",
    "body",
    "anchor",
    "target",
    "reason",
    "outcome",
    "state",
    "key",
    "row",
    "page",
    "q",
    "old",
    "password",
    "again",
    "id",
    "from",
    "add",
    "remove",
    "up",
    "down",
    "material",
    "index",
    "x",
    "y",
    "points",
    "shape",
    "view",
    "weight",
    "axis",
]
VALUES = st.sampled_from(HOSTILE) | st.text(max_size=30) | st.integers().map(str)
FORMS = st.dictionaries(
    st.sampled_from(NAMES) | st.text(min_size=1, max_size=12),
    st.lists(VALUES, min_size=1, max_size=3),
    max_size=12,
)
SAFE_TEXT = st.text(
    alphabet=st.characters(codec="utf-8", exclude_characters="/?#"), min_size=1, max_size=20
)
PATHS = st.sampled_from(["nothing", "1", "0", "-1", "9" * 30, "%00", "%ff", "..%2f", "a b"]) | (
    SAFE_TEXT
)
BROKEN = [
    (b"--x\r\ncontent-disposition: form-data; name=a", "multipart/form-data; boundary=x"),
    (b"--x\r\n\r\n--x--", "multipart/form-data; boundary=x"),
    (b"\x00\xff", "multipart/form-data"),
    (b"--x\r\ncontent-disposition: form-data\r\n\r\n1\r\n--x--", "multipart/form-data; boundary=x"),
    (b'--x\r\ncontent-disposition: form-data; name="file"; filename="\xff"\r\ncontent-type: '
     b"image/png\r\n\r\n\x89PNG\r\n--x--\r\n", "multipart/form-data; boundary=x"),
    (b"a=%zz&b=%00&=&&&;", "application/x-www-form-urlencoded"),
    (b"\xff\xfe=\xff", "application/x-www-form-urlencoded; charset=utf-16"),
    (b"{", "application/json"),
    (b'{"sketch": [1e999]}', "application/json"),
    (b"[" * 5000, "application/json"),
    (b"", "text/plain"),
    (b"&".join(b"f%d=1" % n for n in range(3000)), "application/x-www-form-urlencoded"),
]  # fmt: skip


ANY = "f" * 40  # without a session a cookie and the form carry the same
ABOUT_ACCOUNTS = ("/account", "/sign", "/set-password")


class Bench:
    """A personal machine, where all of a case is open, and a shared service for the accounts."""

    def __init__(self, adviser: Adviser, apps: Apps) -> None:
        self.store, self.house = Store.open("sqlite://"), Store.open("sqlite://")
        self.accounts = AccountStore(self.house)
        self.accounts.add("chief", full_name="Chief", role="administrator", who="console")
        alone = apps.anew(Settings(cache=None), self.store)
        shared = apps.anew(Settings(cache=None, shared=True), self.house)
        self.alone = Direct(alone, host="127.0.0.1", accept="text/html")
        self.shared = Direct(shared, host="127.0.0.1", accept="text/html")
        self.ways = [way for way in ways(alone) if way.is_page]
        self.whole = read_demo("furnishing-panel", adviser.knowledge).model_dump(mode="json")
        self.session, self.statuses = "", Counter[int]()
        self.case = {"alone": "", "shared": ""}

    def close(self) -> None:
        for door, store in ((self.alone, self.store), (self.shared, self.house)):
            door.close()
            store.engine.dispose()

    def place(self, way: Way) -> str:
        return "shared" if way.path.startswith(ABOUT_ACCOUNTS) or "share" in way.path else "alone"

    def at(self, way: Way, **values: str) -> str:
        """Return the address of a way on the case of the place that it belongs to."""
        self.renew()
        return way.at(case=self.case[self.place(way)], name="chief", **values)

    def renew(self) -> None:
        """Sign in and keep a case, if one of the requests has ended or removed them."""
        if not self.session or self.accounts.session_of(signing_in.digest(self.session)) is None:
            self.session = signing_in.begin(self.accounts, "chief", Place(), "test")
        for place, store, who in (("alone", self.store, "me"), ("shared", self.house, "chief")):
            owned = store.cases(account=who, limit=1000)[0]
            if self.case[place] not in {row.id for row in owned}:
                made = store.create("case", self.whole, who=who, what="begun", title="x")
                self.case[place] = made.id

    def headers(self, way: Way) -> dict[str, str]:
        if self.place(way) == "alone":
            return {"cookie": f"leastwise_form={ANY}", "x-form-token": ANY}
        cookie = f"leastwise_session={self.session}"
        return {"cookie": cookie, "x-form-token": form_token_of(self.session)}

    def send(self, way: Way, address: str, **kind: Any) -> str:
        """Send a request, and return what is wrong with the answer, if anything is."""
        headers = {**self.headers(way), **kind.pop("headers", {})}
        door = self.alone if self.place(way) == "alone" else self.shared
        try:
            request = httpx.Request(way.method, f"{BASE}{address}", headers=headers, **kind)
        except (httpx.InvalidURL, UnicodeEncodeError):  # can't travel over HTTP at all
            return ""
        status = door.send(request).status
        self.statuses[status] += 1
        return f"{way.key} {status} {address!r} {request.content[:300]!r}" if status >= 500 else ""


@pytest.fixture(scope="module")
def bench(adviser: Adviser, apps: Apps) -> Any:
    made = Bench(adviser, apps)
    yield made
    made.close()


QUIETLY = settings(
    max_examples=600,
    deadline=None,
    database=None,
    suppress_health_check=list(HealthCheck),
)


@QUIETLY
@given(data=st.data(), fields=FORMS, other=PATHS, is_query=st.booleans())
def test_random_fields_in_the_forms_of_the_pages_meet_no_server_error(
    bench: Bench, data: st.DataObject, fields: dict[str, list[str]], other: str, is_query: bool
) -> None:
    way = data.draw(st.sampled_from(bench.ways))
    address = bench.at(way, other=other)
    if way.is_safe or is_query:
        fault = bench.send(way, address, params=fields)
    else:
        fault = bench.send(way, address, data=fields)
    assert not fault


def test_broken_bodies_meet_no_server_error(bench: Bench) -> None:
    faults = []
    for way in bench.ways:
        if way.is_safe:
            continue
        for body, kind in BROKEN:
            address = bench.at(way, other="1")
            faults.append(bench.send(way, address, content=body, headers={"content-type": kind}))
    assert not [fault for fault in faults if fault], "\n".join(filter(None, faults))


def test_each_hostile_value_in_every_field_meets_no_server_error(bench: Bench) -> None:
    """The fields are those of the forms as the pages show them."""
    faults, forms = [], _forms(bench)
    for (method_of, action), names in sorted(forms.items(), key=lambda one: one[0][1]):
        for value in HOSTILE:
            way = Way("POST", method_of, is_page=True)
            faults.append(bench.send(way, action, data=dict.fromkeys(names, value)))
    assert len(forms) > 20
    assert not any(faults), "\n".join(filter(None, faults))
    reached = sum(bench.statuses[status] for status in (200, 303, 422))
    assert reached > len(faults) // 2, bench.statuses


def _forms(bench: Bench) -> dict[tuple[str, str], list[str]]:
    """Return path of the page and address of every form, with the names of its fields."""
    found: dict[tuple[str, str], list[str]] = {}
    for way in bench.ways:
        if not way.is_safe:
            continue
        address = bench.at(way)
        request = httpx.Request("GET", f"{BASE}{address}", headers=bench.headers(way))
        door = bench.alone if bench.place(way) == "alone" else bench.shared
        text = door.send(request).body.decode("utf-8", "replace")
        for form in re.findall(r"<form\b[^>]*method=\"post\".*?</form>", text, re.S | re.I):
            action = re.search(r'^<form\b[^>]*action="([^"#?]*)', form)
            target = action[1] if action and action[1] else address
            if target != "/sign-out":
                names = re.findall(r'\bname="([^"]+)"', form)
                found.setdefault((way.path, target), names)
    return found
