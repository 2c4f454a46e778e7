"""create_app: the composition root of the HTTP door."""

from __future__ import annotations

from typing import Any

from fastapi import FastAPI
from fastapi.openapi.utils import get_openapi

from leastwise.api import problems
from leastwise.api.limits import BodyLimit
from leastwise.api.routes import concepts, exchange, options, physics, planning, weighing
from leastwise.api.settings import Settings
from leastwise.graph import Adviser

__all__ = ["create_app"]

DESCRIPTION = """\
What is the least that has to be done to a historic costume or textile so that it can serve its
purpose, and why? Send a case record to `/options`. Answers are advice for a conservator's own
judgement; where people or objects could come to harm, local codes and licensed practice decide.
"""


def create_app(adviser: Adviser, settings: Settings) -> FastAPI:
    """Return the HTTP door of *adviser*."""
    app = FastAPI(title="Leastwise", version="0.1.0", description=DESCRIPTION)
    app.state.adviser, app.state.settings = adviser, settings
    app.add_middleware(BodyLimit, most=settings.max_body)
    for routes in (options, concepts, physics, exchange, planning, weighing):
        app.include_router(routes.router)
    problems.install(app)

    @app.get("/health", tags=["service"], summary="Is the service up, and on which knowledge?")
    def health() -> dict[str, str]:
        return {
            "status": "up",
            "knowledge": adviser.knowledge.digest,
            "rules": adviser.rules.digest,
        }

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
