"""What a draft lacks, worked out once a version."""

from __future__ import annotations

from fastapi import Request

from leastwise.api.http.state import adviser_of, shelf_of
from leastwise.api.pages.entry.check import Checked, check_draft
from leastwise.api.store import Document

__all__ = ["checked_of"]


def checked_of(request: Request, document: Document) -> Checked:
    """Return what a draft lacks, and what in it can't be read; worked out once a version."""
    knowledge = adviser_of(request).knowledge
    key = ("checked", document.id, document.version, knowledge.digest)
    return shelf_of(request).get(key, lambda: check_draft(document.body, knowledge))
