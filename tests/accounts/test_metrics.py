"""Figures for administrators, a number for each request, and a log that holds no secrets."""

from __future__ import annotations

import json
import logging
import re
from datetime import timedelta
from typing import Any

import pytest
from fastapi import FastAPI
from fastapi.testclient import TestClient
from prometheus_client.parser import text_string_to_metric_families

from leastwise.api.http import problems
from leastwise.api.http.log_lines import JsonLines
from leastwise.api.http.unexpected import Unexpected
from leastwise.api.http.watched import HEADER, Figures, Watched
from leastwise.api.identity import signing_in
from leastwise.api.identity.access import Action
from leastwise.api.settings import Settings
from leastwise.api.store import Store
from leastwise.api.store.accounts.store import AccountStore
from tests.accounts.people import PASSWORD, enrol, send, signed_in, stranger


def token_of(store: Store, name: str, *scopes: Action) -> dict[str, str]:
    accounts = AccountStore(store)
    held = frozenset(one.name for one in scopes)
    until = accounts.now() + timedelta(days=1)
    made = signing_in.make_token(accounts, name, label="figures", scopes=held, expires=until)
    return {"authorization": f"Bearer {made}", "accept": "*/*"}


def counted(text: str) -> dict[tuple[str, str, str], float]:
    """Return (method, route, status) -> how many requests."""
    labels = r'method="(\w+)",route="([^"]+)",status="(\d+)"'
    found = re.findall(rf"^leastwise_requests_total{{{labels}}} (\d+)$", text, re.MULTILINE)
    return {(method, route, status): int(times) for method, route, status, times in found}


def test_figures_are_for_administrators_and_for_tokens_made_for_it(app: Any, store: Store) -> None:
    for name, role in (("ada", "administrator"), ("rosa", "reviewer")):
        enrol(store, name, role)
    asked = stranger(app)

    assert asked.get("/metrics", headers={"accept": "*/*"}).status_code == 401
    assert signed_in(app, "rosa").get("/metrics").status_code == 403
    assert signed_in(app, "ada").get("/metrics").status_code == 200
    narrow = asked.get("/metrics", headers=token_of(store, "ada", Action.USE))
    right = asked.get("/metrics", headers=token_of(store, "ada", Action.ADMINISTER))
    assert (narrow.status_code, right.status_code) == (403, 200)
    assert right.headers["content-type"].startswith("text/plain; version=0.0.4")


def test_figures_count_routes_by_their_form_and_nothing_that_a_stranger_makes_up(
    app: Any, store: Store
) -> None:
    enrol(store, "ada", "administrator")
    browser = signed_in(app, "ada")
    before = counted(browser.get("/metrics").text)
    for number in range(5):
        stranger(app).get(f"/concepts/material:made-up-{number}")
        stranger(app).request(f"MADE{number}", f"/nowhere-{number}")

    text = browser.get("/metrics").text
    after = counted(text)

    new = {key: value - before.get(key, 0) for key, value in after.items()}
    assert sum(value for (_, route, _), value in new.items() if route == "none") == 5
    assert sum(value for (method, _, _), value in new.items() if method == "other") == 5
    assert sum(v for (_, route, _), v in new.items() if "{" in route) == 5
    assert "made-up" not in text
    assert "MADE" not in text
    assert "nowhere" not in text
    assert 'leastwise_now{what="kept_bytes"}' in text


def test_times_are_counted_in_growing_buckets_that_end_with_all() -> None:
    figures = Figures()
    for seconds in (0.01, 0.5, 0.5, 90.0):
        figures.count("GET", "/health", 200, seconds)

    lines = figures.text({"waiting": 3}).splitlines()

    which = 'leastwise_request_seconds_bucket{method="GET",route="/health",le='
    assert [line.removeprefix(which) for line in lines if line.startswith(which)] == [
        '"0.05"} 1', '"0.2"} 1', '"1.0"} 3', '"5.0"} 3', '"30.0"} 3', '"+Inf"} 4',
    ]  # fmt: skip
    assert 'leastwise_request_seconds_sum{method="GET",route="/health"} 91.01' in lines
    assert 'leastwise_request_seconds_count{method="GET",route="/health"} 4' in lines
    assert 'leastwise_now{what="waiting"} 3' in lines


def test_the_reader_of_prometheus_finds_in_the_text_what_was_counted() -> None:
    figures = Figures()
    for status, seconds in ((200, 0.01), (200, 0.5), (404, 0.5), (503, 90.0)):
        figures.count("GET", "/cases/{case}/options", status, seconds)
    read = {one.name: one for one in text_string_to_metric_families(figures.text({"waiting": 3}))}

    kinds = {name: one.type for name, one in read.items()}
    assert kinds == {
        "leastwise_requests": "counter",
        "leastwise_request_seconds": "histogram",
        "leastwise_now": "gauge",
    }
    assert all(one.documentation for one in read.values())
    route = {"method": "GET", "route": "/cases/{case}/options"}
    requests = {one.labels["status"]: one.value for one in read["leastwise_requests"].samples}
    assert requests == {"200": 2, "404": 1, "503": 1}
    times = read["leastwise_request_seconds"].samples
    assert all(route.items() <= one.labels.items() for one in times)
    within = [one.value for one in times if one.name.endswith("_bucket")]
    assert within == [1, 1, 3, 3, 3, 4]
    assert {one.name.rpartition("_")[2]: one.value for one in times if "le" not in one.labels} == {
        "sum": 91.01, "count": 4,
    }  # fmt: skip


def test_each_answer_has_a_number_and_a_problem_names_it(app: Any) -> None:
    browser = stranger(app, accept="application/json")
    large = b"x" * (app.state.settings.max_body + 1)
    refused = [
        browser.get("/schema"),
        browser.get("/nowhere"),
        browser.get("/health", headers={"host": "elsewhere.example"}),
        browser.post("/sign-in", content=large, headers={"content-type": "text/plain"}),
    ]

    assert [one.status_code for one in refused] == [401, 404, 403, 413]
    for one in refused:
        assert one.json()["instance"] == f"urn:uuid:{one.headers[HEADER]}"
    numbers = {one.headers[HEADER] for one in [*refused, browser.get("/health")]}
    assert len(numbers) == 5
    given = browser.get("/health", headers={HEADER: "of the client"}).headers[HEADER]
    assert given != "of the client"


def test_no_secret_comes_into_the_log(
    app: Any, store: Store, caplog: pytest.LogCaptureFixture
) -> None:
    accounts = enrol(store, "ada", "administrator")
    link = signing_in.make_link(accounts, "ada", who="console")
    token = token_of(store, "ada", Action.USE)["authorization"]
    browser = stranger(app)
    with caplog.at_level(logging.INFO, "leastwise"):
        browser.get(f"/set-password/{link}")
        browser.get("/health?password=of-nobody", headers={"authorization": token})
        send(browser, "/sign-in", "/sign-in", name="ada", password=PASSWORD)
        send(browser, "/sign-in", "/sign-in", name="ada", password="wrong of nobody")  # noqa: S106

    lines = [JsonLines().format(one) for one in caplog.records]
    told = [json.loads(one) for one in lines]
    whole = "\n".join(lines)
    assert {"/health", "/sign-in"} <= {one.get("route") for one in told}
    assert all(one["request"] and one["seconds"] >= 0 for one in told if "route" in one)
    cookies = [value for _, value in browser.cookies.items() if len(value) > 8]
    secrets = [link, token.split()[1], PASSWORD, "of nobody", "of-nobody", *cookies]
    assert [one for one in secrets if one in whole] == []


def test_the_number_of_an_error_that_nobody_foresaw_is_in_the_log(
    caplog: pytest.LogCaptureFixture,
) -> None:
    made = FastAPI()
    made.state.render = None
    made.add_middleware(Unexpected)
    made.add_middleware(Watched, figures=Figures())
    problems.install(made)

    @made.get("/broken/{secret}")
    def _broken(secret: str) -> None:
        raise ZeroDivisionError

    with caplog.at_level(logging.INFO, "leastwise"):
        answer = TestClient(made).get("/broken/hidden")

    error, request = (json.loads(JsonLines().format(one)) for one in caplog.records)
    assert answer.headers[HEADER] in error["says"]
    assert "ZeroDivisionError" in error["trace"]
    assert (request["request"], request["status"]) == (answer.headers[HEADER], 500)
    assert "hidden" not in f"{error}{request}"


def test_a_wrong_form_of_the_log_is_told() -> None:
    assert Settings.from_environment({"LEASTWISE_LOG": "json"}).json_log
    assert not Settings.from_environment({}).json_log
    with pytest.raises(ValueError, match="expected text or json"):
        Settings.from_environment({"LEASTWISE_LOG": "xml"})
