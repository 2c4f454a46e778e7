"""The forms of a page as a browser without scripts would send them."""

from __future__ import annotations

from html.parser import HTMLParser
from typing import Any

from fastapi.testclient import TestClient


class FormReader(HTMLParser):
    """Gathers the fields of the form whose action ends with *action*, and the text of the page."""

    def __init__(self, action: str = "") -> None:
        super().__init__()
        self.action, self.fields = action, []  # type: ignore[var-annotated]
        self.ids: list[str] = []
        self.tags: list[tuple[str, dict[str, str]]] = []
        self._inside = False
        self._select = ""
        self._chosen: str | None = None
        self._area: str | None = None
        self._text = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        a = {key: value or "" for key, value in attrs}
        self.tags.append((tag, a))
        if "id" in a:
            self.ids.append(a["id"])
        if tag == "form":
            self._inside = a.get("action", "").endswith(self.action)
        if not self._inside:
            return
        if tag == "input" and "name" in a:
            kind = a.get("type", "text")
            if kind in ("radio", "checkbox") and "checked" not in a:
                return
            if kind != "file":
                self.fields.append((a["name"], a.get("value", "")))
        elif tag == "select":
            self._select, self._chosen = a["name"], None
        elif tag == "option" and self._select:
            if self._chosen is None or "selected" in a:
                self._chosen = a["value"]
        elif tag == "textarea":
            self._area, self._text = a["name"], ""

    def handle_data(self, data: str) -> None:
        if self._area is not None:
            self._text += data

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._inside = False
        elif tag == "select" and self._select:
            self.fields.append((self._select, self._chosen or ""))
            self._select = ""
        elif tag == "textarea" and self._area is not None:
            self.fields.append((self._area, self._text.removeprefix("\n")))
            self._area = None


def read_form(html: str, action: str = "") -> FormReader:
    reader = FormReader(action)
    reader.feed(html)
    return reader


def form_of(client: TestClient, path: str) -> dict[str, Any]:
    """Return the fields of the form of a section, values of one name in a list."""
    answer = client.get(path)
    assert answer.status_code == 200, answer.text
    found: dict[str, Any] = {}
    for name, value in read_form(answer.text, path).fields:
        if name.endswith("[]"):
            found.setdefault(name, []).append(value)
        else:
            assert name not in found, name
            found[name] = value
    return found


def send(client: TestClient, path: str, fields: dict[str, Any], **changes: Any) -> Any:
    """Send a form, and follow it to where it leads."""
    return client.post(path, data={**fields, **changes}, follow_redirects=True)
