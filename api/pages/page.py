"""How a page is rendered: templates that escape everything, with what every page shows."""

from __future__ import annotations

import hmac
import secrets
from collections import Counter
from datetime import datetime
from functools import cache
from typing import Any

from fastapi import HTTPException, Request
from fastapi.responses import HTMLResponse
from jinja2 import Environment, PackageLoader, StrictUndefined

from leastwise.api.documents.citations import titled
from leastwise.api.http.state import adviser_of, settings_of
from leastwise.api.identity.access import ALLOWED, BY_RIGHT, Action, rights_to
from leastwise.api.identity.people import person_of
from leastwise.api.identity.web import cookie_name, session_form_token
from leastwise.api.pages.entry.checked import checked_of
from leastwise.api.pages.entry.words import step_of
from leastwise.api.pages.steps import RECORD_STEPS, STEPS
from leastwise.graph.sentences import hours_in_words

__all__ = [
    "FORM_COOKIE",
    "FORM_FIELD",
    "check_form",
    "environment",
    "form_token",
    "render",
]

FORM_COOKIE, FORM_FIELD = "leastwise_form", "form_token"


@cache
def environment() -> Environment:
    """Return the templates: everything escaped, and a name that is missing is an error."""
    env = Environment(
        loader=PackageLoader("leastwise.api", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    env.filters["day"] = lambda at: at.date().isoformat() if isinstance(at, datetime) else str(at)
    env.filters["minute"] = lambda at: at.strftime("%Y-%m-%d %H:%M UTC")
    env.filters["who_is"] = lambda one: (one.name, f"{one.full_name} ({one.name}), {one.role}")
    env.filters["browser"] = browser_in_words
    env.filters["titled"] = titled
    env.filters["hours_to"] = hours_in_words
    env.filters["percent"] = lambda share: f"{100 * share:.0f} %"
    return env


def browser_in_words(agent: str) -> str:
    """Return what a browser calls itself in a few words; it is a hint, anybody can claim it.

    >>> browser_in_words("Mozilla/5.0 (iPad; CPU OS 18_0 like Mac OS X) AppleWebKit/605 Safari")
    'Safari on iPad'
    """
    names = (("Edg", "Edge"), ("Firefox", "Firefox"), ("Chrom", "Chrome"), ("Safari", "Safari"))
    places = ("iPad", "iPhone", "Android", "Windows", "Mac OS X", "Linux")
    name = next((shown for sign, shown in names if sign in agent), "")
    place = next((one for one in places if one in agent), "")
    return " on ".join(one for one in (name, place) if one) or agent[:60] or "unknown"


def render(  # noqa: PLR0913 - what a page is told by
    request: Request,
    template: str,
    *,
    title: str,
    status: int = 200,
    step: str = "",
    document: Any = None,
    **context: Any,
) -> HTMLResponse:
    """Return a page. *document* is the case's record if the page belongs to one, *step* its step.

    Every template also gets ``person``, ``form_token``, ``stamp`` (digest of the knowledge),
    ``steps``, ``shared`` (whether accounts are in use), ``reads_only`` and ``unread``.
    """
    adviser = adviser_of(request)
    token, is_new = form_token(request)
    text = (
        environment()
        .get_template(template)
        .render(
            request=request,
            title=title,
            step=step,
            steps=STEPS,
            document=document,
            person=person_of(request),
            form_token=token,
            stamp=adviser.knowledge.digest,
            shared=settings_of(request).shared,
            reads_only=reads_only(request, document.case) if document is not None else "",
            unread=_unread(request, step, document),
            **context,
        )
    )
    answer = HTMLResponse(text, status)
    if is_new:
        answer.set_cookie(
            cookie_name(request, FORM_COOKIE),
            token,
            httponly=True,
            samesite="strict",
            secure=settings_of(request).secure_cookies,
        )
    return answer


def _unread(request: Request, step: str, document: Any) -> Counter[str]:
    """Return how many entries of each step can't be read, for the pages where one may mend them."""
    if getattr(document, "kind", "") != "case" or step not in RECORD_STEPS:
        return Counter()
    return Counter(step_of(one.path) for one in checked_of(request, document).wrong)


def reads_only(request: Request, case: str) -> str:
    """Return what a page says to a person who may not change the case; "" where one may."""
    person = person_of(request)
    if person.sees_all or not person.account:
        return ""
    by_right = {one for right in rights_to(request, person, case) for one in BY_RIGHT[right]}
    may = by_right & ALLOWED[person.role]
    if Action.WRITE_CASE in may:
        return ""
    if Action.REVIEW_CASE in may:
        return "You can read and review this case; its owner changes the record."
    return "You can read this case, but not change it. Its owner can share it with you for more."


def form_token(request: Request) -> tuple[str, bool]:
    """Return the token that forms of this browser carry, and whether a cookie has to hold it.

    Signed in, the token is bound to the session; otherwise a cookie and the form carry the same.
    """
    bound = session_form_token(request)
    if bound:
        return bound, False
    known = request.cookies.get(cookie_name(request, FORM_COOKIE), "")
    return (known, False) if len(known) >= 32 else (secrets.token_urlsafe(32), True)


def check_form(request: Request, given: object) -> None:
    """Refuse a form that did not come from one of our pages (cross-site request forgery).

    Scripts of ours send the token in the header ``X-Form-Token`` instead of the field. A program
    that brings its own token for the API needs none.

    Raises:
        HTTPException: 403; the sentence says how to go on.

    """
    if person_of(request).scopes is not None:
        return
    known = session_form_token(request) or request.cookies.get(
        cookie_name(request, FORM_COOKIE), ""
    )
    sent = request.headers.get("x-form-token") or (given if isinstance(given, str) else "")
    if len(known) < 32 or not hmac.compare_digest(known.encode(), sent.encode("utf-8", "replace")):
        raise HTTPException(
            403,
            "This form is too old or came from elsewhere. Go back, load the page anew and send "
            "it again; what you typed is still on the page.",
        )
