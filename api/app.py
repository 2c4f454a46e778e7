"""create_app: the composition root of the HTTP door."""

from __future__ import annotations

from typing import Any

from fastapi import Depends, FastAPI
from fastapi.openapi.utils import get_openapi
from fastapi.staticfiles import StaticFiles

from leastwise.api.asking import answered as asking
from leastwise.api.http import problems
from leastwise.api.http.drained import Drained
from leastwise.api.http.limits import BodyLimit
from leastwise.api.http.security import Doorway, SecurityHeaders
from leastwise.api.http.unexpected import Unexpected
from leastwise.api.http.watched import Figures, Watched
from leastwise.api.identity.access import Access, Action, Guard
from leastwise.api.pages import history, home
from leastwise.api.pages.accounts import everything as accounts
from leastwise.api.pages.behind import Behind
from leastwise.api.pages.entry import aside as entry_aside
from leastwise.api.pages.entry import contacts, entry, photographs, sketch
from leastwise.api.pages.knowledge import knowledge
from leastwise.api.pages.knowledge.library import Library
from leastwise.api.pages.log import log, precedents
from leastwise.api.pages.log import record as log_record
from leastwise.api.pages.options import exposure
from leastwise.api.pages.options import options as option_pages
from leastwise.api.pages.page import render
from leastwise.api.pages.review import argue as review_argue
from leastwise.api.pages.review import review
from leastwise.api.pages.review import say as review_say
from leastwise.api.pages.work import bench, plan, proposal
from leastwise.api.routes import (
    checking,
    concepts,
    datasets,
    exchange,
    options,
    physics,
    planning,
    service,
    sparql,
    weighing,
)
from leastwise.api.settings import Settings
from leastwise.api.shelf import Shelf
from leastwise.api.store import Store
from leastwise.graph import Adviser
from leastwise.graph.version import program_version

__all__ = ["create_app"]

DESCRIPTION = """\
What is the least that has to be done to a historic costume or textile so that it can serve its
purpose, and why? Send a case record to `/options`. Answers are advice for a conservator's own
judgement; where people or objects could come to harm, local codes and licensed practice decide.
"""


ROOMS = (
    options,
    concepts,
    datasets,
    physics,
    exchange,
    planning,
    weighing,
    checking,
    service,
    sparql,
    home,
    entry,
    entry_aside,
    sketch,
    photographs,
    contacts,
    option_pages,
    exposure,
    plan,
    bench,
    proposal,
    review,
    review_say,
    review_argue,
    log,
    log_record,
    precedents,
    history,
    knowledge,
    accounts,
)


#: So many printed documents are kept; with photographs each may have several megabytes.
MOST_PRINTED = 8


def access_table() -> Access:
    """Return who may use which route, gathered from the rooms that hold the routes."""
    table: dict[str, Action] = {"GET /openapi.json": Action.OPEN}  # knows no dependencies
    for room in ROOMS:
        twice = table.keys() & room.ACCESS.keys()
        if twice:
            raise ValueError(f"{room.__name__} names routes that have a rule: {sorted(twice)}")
        table.update(room.ACCESS)
    return table


def create_app(adviser: Adviser, settings: Settings, store: Store | None = None) -> FastAPI:
    """Return the HTTP door of *adviser*; without *store* the one that the settings name."""
    guard = Guard(access_table())
    app = FastAPI(
        title="Leastwise",
        version=program_version(),
        description=DESCRIPTION,
        docs_url=None,
        redoc_url=None,
        dependencies=[Depends(guard)],
    )
    app.state.adviser, app.state.settings, app.state.shelf = adviser, settings, Shelf()
    app.state.printed = Shelf(MOST_PRINTED)
    app.state.store = store or Store.open(settings.store)
    app.state.library, app.state.behind = Library(adviser), Behind()
    app.state.figures = Figures()
    app.add_middleware(BodyLimit, most=settings.max_body)
    app.add_middleware(Unexpected)
    app.add_middleware(Doorway, address=settings.address)
    app.add_middleware(SecurityHeaders, secure=settings.secure_cookies, private=settings.shared)
    app.add_middleware(Drained)
    app.add_middleware(Watched, figures=app.state.figures)
    for room in ROOMS:
        app.include_router(room.router)
    app.mount("/static", StaticFiles(packages=[("leastwise.api", "static")]), name="static")
    problems.install(app, render)
    asking.install(app)

    def openapi() -> dict[str, Any]:
        if app.openapi_schema is None:
            app.openapi_schema = get_openapi(
                title=app.title,
                version=app.version,
                description=app.description,
                routes=app.routes,
            )
            options.add_case_schema(app.openapi_schema)
        return app.openapi_schema

    app.openapi = openapi  # type: ignore[method-assign]
    return app
