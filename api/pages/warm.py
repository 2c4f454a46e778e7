"""What a service makes ready in the background, so that the first look is quick."""

from __future__ import annotations

import gc
import threading
from typing import Final

from fastapi import FastAPI, Request

from leastwise.api.asking.desk import Refused
from leastwise.api.pages.opened import answer_of, open_document, shelved
from leastwise.api.pages.warmer import LOG, REST_S, Warmer
from leastwise.graph.questions.acceptability import case_shares

__all__ = ["calm_collector", "start_warming"]

#: So many new values may be there before the collector looks for circles among them.
MOST_YOUNG: Final = 200_000


def start_warming(app: FastAPI, rest: float = REST_S) -> Warmer:
    """Give *app* a warmer; saves that call :func:`warm` use it from now on."""

    def work(case: str) -> None:
        request = Request({"type": "http", "app": app, "headers": []})
        opened = open_document(request, case)
        if opened.case is not None:
            try:
                answer_of(request, opened)
                shelved(request, opened, "shares", case_shares)
            except Refused as why:  # whoever opens the page is told
                LOG.info("case %s was not weighed in the background: %s", case, why)

    threading.Thread(target=_ready, args=(app,), name="ready", daemon=True).start()
    app.state.warmer = Warmer(work, rest)
    return app.state.warmer  # type: ignore[no-any-return]


def _ready(app: FastAPI) -> None:
    """Make what the first request would wait for: the search index, and the solver loaded."""
    from leastwise.api.pages.knowledge.library import library_of  # noqa: PLC0415 - as the index
    from leastwise.graph.setups import answers  # noqa: F401, PLC0415 - loads the solver

    try:
        request = Request({"type": "http", "app": app, "headers": []})
        library_of(request).index.search("silk")
    except Exception:  # nothing a page depends on; the request will meet it and tell
        LOG.exception("the search index could not be made ready in the background")


def calm_collector() -> None:
    """Keep the garbage collector from walking through the knowledge again and again.

    For a service, once everything is loaded: what is there by now stays for good, and an answer
    of a large case makes a hundred thousand small values that live until it is sent. Nearly all
    of them go when nothing refers to them any more; the collector is for circles alone.
    """
    gc.collect()
    gc.freeze()
    gc.set_threshold(MOST_YOUNG, 20, 50)
