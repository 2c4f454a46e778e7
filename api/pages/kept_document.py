"""Printed documents kept for the next reader: the same text and figures give the same file."""

from __future__ import annotations

import hashlib
from typing import Protocol

from fastapi import Request

from leastwise.api.documents.proposal_figures import Figures
from leastwise.api.documents.proposal_make import PRINTED
from leastwise.api.http.state import printed_of, settings_of
from leastwise.graph.encoding import to_json
from leastwise.graph.proposal.report.values import Report

__all__ = ["written_once"]


class Written(Protocol):
    """A document with its figures, ready to be written."""

    @property
    def report(self) -> Report:
        """Its text."""

    @property
    def figures(self) -> Figures:
        """Its figures."""

    def written(self, form: str, base: str) -> bytes:
        """Return it as a file."""


def written_once(request: Request, document: Written, form: str) -> bytes:
    """Return a document as a file; a printed one is made once for the same text and figures."""
    base = settings_of(request).base
    if form not in PRINTED:
        return document.written(form, base)
    return printed_of(request).get((form, _digest(document)), lambda: document.written(form, base))


def _digest(document: Written) -> str:
    """Return a name of everything that a printed document is made of."""
    files = {
        name: (held.media_type, held.width, held.height, hashlib.sha256(held.data).hexdigest())
        for name, held in document.figures.files.items()
    }
    figures = (document.figures.by_section, document.figures.photographs_before, files)
    return hashlib.sha256(to_json((document.report, figures)).encode()).hexdigest()
