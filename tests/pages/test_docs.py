"""/docs: everything that the app offers to programs, and nothing else; its examples work."""

from __future__ import annotations

import json
import re
import shlex
from typing import Any

from fastapi.testclient import TestClient

from leastwise.api.pages.knowledge.docs import operations
from tests.browser import axe_faults, overflow


def test_every_operation_of_the_interface_is_described(client: TestClient, app: Any) -> None:
    text, schema = client.get("/docs").text, app.openapi()
    described = operations(schema)

    assert len(described) >= 20
    for one in described:
        assert f'id="{one.anchor}"' in text
        assert f"<code>{one.path}</code>" in text
    assert len({one.anchor for one in described}) == len(described)


def test_pages_for_people_are_not_listed(client: TestClient, app: Any) -> None:
    paths = app.openapi()["paths"]

    assert not [path for path in paths if path.startswith(("/cases/{", "/knowledge", "/docs"))]
    assert "/knowledge/path" not in client.get("/docs").text


def test_every_link_on_it_has_its_anchor(client: TestClient) -> None:
    text = client.get("/docs").text
    anchors = set(re.findall(r' id="([^"]+)"', text))

    assert set(re.findall(r'href="#([^"]+)"', text)) <= anchors


def test_no_script_and_nothing_from_elsewhere(client: TestClient) -> None:
    text = client.get("/docs").text

    assert "<script" not in text
    assert not re.findall(r'(?:src|href)="https?:', text)


def test_its_examples_work(client: TestClient, app: Any) -> None:
    """Each command is read as a shell reads it, and sent; @case.json stands for the example."""
    tried = 0
    for one in operations(app.openapi()):
        if any(f.required and f.place == "query" for f in one.fields):
            continue  # a choice of the user, such as which option
        _, address, *rest = shlex.split(one.curl("http://127.0.0.1").replace("\\\n", ""))
        headers = {"accept": "*/*"}
        body = ""
        for name, value in zip(rest[::2], rest[1::2], strict=True):
            if name == "-H":
                headers["content-type"] = value.partition(": ")[2]
            elif name == "--data-binary":
                body = one.bodies[0].example if value == "@case.json" else value
        if one.bodies and not body:
            continue  # no example is given
        sent = client.request(one.method.upper(), address, content=body, headers=headers)
        assert sent.status_code == 200, (one.method, address, sent.text[:200])
        tried += 1
    assert tried >= 12


def test_an_example_of_a_case_is_one(client: TestClient, app: Any) -> None:
    options = next(one for one in operations(app.openapi()) if one.path == "/options")

    assert json.loads(options.bodies[0].example)["leastwise_case"] == 2


def test_the_page_has_no_fault_of_access_and_nothing_sticks_out(page: Any) -> None:
    page.goto("/docs")
    assert axe_faults(page) == []
    for width in (1280, 820, 390):
        page.set_viewport_size({"width": width, "height": 900})
        assert overflow(page) == []
