"""The frame of every page: headers, styles, and problems told as pages."""

from __future__ import annotations

from typing import Any

from fastapi.testclient import TestClient

from tests.browser import axe_faults, overflow


def test_a_page_that_is_not_there_is_told_as_a_page(client: TestClient) -> None:
    answer = client.get("/nothing-here")
    assert answer.status_code == 404
    assert answer.headers["content-type"].startswith("text/html")
    assert "Not Found" in answer.text


def test_no_page_may_run_a_script_or_style_that_is_not_ours(client: TestClient) -> None:
    policy = client.get("/nothing-here").headers["content-security-policy"]
    assert "script-src 'self'" in policy
    assert "unsafe-inline" not in policy


def test_the_frame_has_no_fault_of_access_and_nothing_sticks_out(page: Any) -> None:
    for width in (1280, 820, 390):
        page.set_viewport_size({"width": width, "height": 900})
        page.goto("/health")
        page.goto("/cases/none/options")
        assert axe_faults(page) == []
        assert overflow(page) == []
