"""A question answered over HTTP: in a thread that waits, given up when the client leaves."""

from __future__ import annotations

import gzip
from typing import Any

import anyio
from fastapi import FastAPI, Request, Response
from starlette.requests import ClientDisconnect

from leastwise.api.asking.asked import Asked
from leastwise.api.asking.desk import COME_AGAIN, Refused, desk_of
from leastwise.api.http.problems import shown_as
from leastwise.api.identity.people import person_of
from leastwise.api.processes.pool import GaveUp, Ticket

__all__ = ["answered", "asked_by", "install", "watch"]

JSON = "application/json"
#: Bytes from which on an answer is sent packed to those who take it so.
LONG = 4096
PACKED = ".gz"


async def asked_by(request: Request, question: str, policy: str = "", **given: Any) -> Asked:
    """Return the question that a request puts; the record is its body, as JSON or as YAML."""
    is_yaml = "yaml" in request.headers.get("content-type", "")
    text = (await request.body()).decode("utf-8", "replace")
    return Asked(question, text, not is_yaml, policy, given)


async def answered(request: Request, asked: Asked, media_type: str = JSON) -> Response:
    """Return the answer to a question, or why there is none.

    Raises:
        ClientDisconnect: the client left; the work was ended with that.

    """
    desk = desk_of(request.app)
    name = desk.name_of(asked)
    kept = desk.kept.get(name)
    if kept is not None:
        return _packed(request, kept, name, media_type)
    who, ticket, body = person_of(request).account, Ticket(), b""
    refused: Refused | None = None
    async with anyio.create_task_group() as both:
        both.start_soon(watch, request, ticket)
        try:
            body = await anyio.to_thread.run_sync(
                desk.answer, asked, who, ticket, limiter=desk.threads
            )
        except Refused as why:
            refused = why
        except GaveUp:
            pass
        both.cancel_scope.cancel()
    if ticket.given_up:
        raise ClientDisconnect
    if refused is not None:
        return _refusal(request, refused)
    return _packed(request, body, name, media_type)


async def watch(request: Request, ticket: Ticket) -> None:
    """Give the ticket up once the client has left; its body has been read by now."""
    while (await request.receive())["type"] != "http.disconnect":
        pass
    ticket.give_up()


def install(app: FastAPI) -> None:
    """Make *app* tell why a page or a document wasn't worked out, as questions are told."""

    @app.exception_handler(Refused)
    def _refused(request: Request, why: Refused) -> Response:
        return _refusal(request, why)


def _refusal(request: Request, refused: Refused) -> Response:
    answer = shown_as(request, refused.told)
    if refused.told.status in (429, 503):
        answer.headers["retry-after"] = str(COME_AGAIN)
    return answer


def _packed(request: Request, body: bytes, name: str, media_type: str) -> Response:
    headers = {"etag": f'"{name[:32]}"', "vary": "Accept-Encoding"}
    if len(body) >= LONG and "gzip" in request.headers.get("accept-encoding", ""):
        headers["content-encoding"] = "gzip"
        kept = desk_of(request.app).kept
        packed = kept.get(name + PACKED)
        if packed is None:
            packed = gzip.compress(body, 2, mtime=0)
            kept.keep(name + PACKED, packed)
        body = packed
    return Response(body, media_type=media_type, headers=headers)
