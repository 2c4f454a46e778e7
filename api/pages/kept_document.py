"""Printed documents kept for the next reader: the same text and figures give the same file."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from functools import partial

from fastapi import Request

from leastwise.api.asking.weighty import look, work
from leastwise.api.documents.proposal_make import PRINTED
from leastwise.api.http.state import adviser_of, printed_of, settings_of
from leastwise.api.processes.carried import packed

__all__ = ["written_once"]


def written_once(request: Request, form: str, write: Callable[..., bytes], *given: object) -> bytes:
    """Return a document as a file; a printed one is made once for all that it is made of.

    *write* gets an adviser, what is *given*, the form and the base of names in linked data.

    Raises:
        Refused: it took too much, or too many ask.

    """

    def made() -> bytes:
        return work(request, write, *given, form, settings_of(request).base, policy="")

    if form not in PRINTED:
        return made()
    adviser = adviser_of(request)
    name = hashlib.sha256(packed(given)).hexdigest()
    key = (form, name, adviser.knowledge.digest, adviser.rules.digest)
    return printed_of(request).get(key, made, partial(look, request))
