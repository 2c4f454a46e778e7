"""Pages: what is said of a frozen version, from remarks to the signature."""

from __future__ import annotations

from typing import Any

from fastapi import APIRouter, HTTPException, Request
from fastapi.responses import RedirectResponse, Response
from starlette.datastructures import FormData

from leastwise.api.asking.weighty import Weighty
from leastwise.api.http.state import adviser_of, store_of
from leastwise.api.identity.access import Access, Action
from leastwise.api.identity.people import Person, person_of
from leastwise.api.pages.forms import Form
from leastwise.api.pages.page import check_form
from leastwise.api.pages.review.review import Number, V, review_numbered, text_of, version_page
from leastwise.api.services.reviewing import DECISIONS, REVIEW, STATES, VERDICTS, Review, anchors_of
from leastwise.api.store import Conflict, Document

__all__ = ["ACCESS", "open_review", "required", "router", "say"]

router = APIRouter(tags=["pages"], include_in_schema=False, route_class=Weighty)
ACCESS: Access = {
    f"POST {V}/withdraw": Action.WRITE_CASE,
    f"POST {V}/answers": Action.WRITE_CASE,
    f"POST {V}/remarks": Action.REVIEW_CASE,
    f"POST {V}/tests": Action.REVIEW_CASE,
    f"POST {V}/ratings": Action.REVIEW_CASE,
    f"POST {V}/decision": Action.REVIEW_CASE,
    f"POST {V}/signature": Action.SIGN_OFF,
    f"POST {V}/entries/{{entry}}/take-back": Action.READ_CASE,
}
MOST_TEXT = 4000


def required(text: str, what: str) -> dict[str, str]:
    """Return the error of a text that is missing or too long."""
    if not text:
        return {"text": f"Still missing: {what}."}
    if len(text) > MOST_TEXT:
        return {"text": f"Got {len(text)} characters; expected at most {MOST_TEXT}."}
    return {}


def say(request: Request, review: Review, body: dict[str, Any], what: str) -> Document:
    """Keep one thing that was said of a version."""
    frozen, person = review.frozen, person_of(request)
    # the role of the account may change later; on a personal machine it says nothing
    role = {} if person.sees_all else {"role": person.role.value}
    return store_of(request).create(
        REVIEW,
        {**body, **role, "frozen": frozen.document.id},
        who=person.account,
        what=f"review of version {frozen.number}: {what}",
        case=frozen.document.case,
    )


def open_review(request: Request, case: str, number: int, form: FormData) -> Review:
    """Return a review that may still be written in."""
    check_form(request, form.get("form_token"))
    review = review_numbered(request, case, number)
    if review.state in ("withdrawn", "signed"):
        raise HTTPException(
            409, f"Version {number} is {STATES[review.state]}; nothing can be added to it."
        )
    return review


def _back(review: Review, place: str) -> RedirectResponse:
    frozen = review.frozen
    return RedirectResponse(f"/cases/{frozen.document.case}/review/{frozen.number}#{place}", 303)


@router.post(f"{V}/remarks")
def remark(request: Request, case: str, number: Number, form: Form) -> Response:
    """Say something of a claim, an option, a step or a sentence, or of the whole."""
    review = open_review(request, case, number, form)
    text, anchor = text_of(form, "text"), text_of(form, "anchor")
    if anchor not in anchors_of(review.frozen):
        raise HTTPException(422, f"anchor {anchor!r}: expected a place of this version.")
    errors = required(text, "what you want to say")
    if errors:
        return version_page(
            request, review, at=anchor, where="remark", typed={"text": text}, errors=errors,
            status=422,
        )  # fmt: skip
    entry = {"what": "remark", "anchor": anchor, "text": text}
    say(request, review, entry, f"remark on {anchor or 'the whole'}")
    return _back(review, "remarks")


@router.post(f"{V}/answers")
def answer(request: Request, case: str, number: Number, form: Form) -> Response:
    """Answer a remark, as one who writes the proposal."""
    review = open_review(request, case, number, form)
    text, entry = text_of(form, "text"), text_of(form, "entry")
    if entry not in {e.id for e in review.entries}:
        raise HTTPException(422, f"entry {entry!r}: expected an entry of this review.")
    errors = required(text, "your answer")
    if errors:
        return version_page(
            request, review, where=f"answer-{entry}", typed={"text": text}, errors=errors,
            status=422,
        )  # fmt: skip
    say(request, review, {"what": "answer", "anchor": f"entry:{entry}", "text": text}, "answer")
    return _back(review, "remarks")


@router.post(f"{V}/tests")
def ask_for_test(request: Request, case: str, number: Number, form: Form) -> Response:
    """Ask for a test before the work begins."""
    review = open_review(request, case, number, form)
    text, test, part = text_of(form, "text"), text_of(form, "test"), text_of(form, "part")
    errors = required(text, "why the test is needed")
    if test not in adviser_of(request).catalogue.tests:
        errors["test"] = "Expected a test of the list."
    if part not in {p.get("id") for p in review.frozen.body["case"]["parts"]}:
        errors["part"] = "Expected a part of the case."
    typed = {"text": text, "test": test, "part": part}
    if errors:
        return version_page(request, review, where="test", typed=typed, errors=errors, status=422)
    say(request, review, {"what": "test", **typed}, f"asks for {test} on {part}")
    return _back(review, "tests")


@router.post(f"{V}/ratings")
def rate(request: Request, case: str, number: Number, form: Form) -> Response:
    """Give one's own verdict on the options, each reviewer for themselves."""
    review = open_review(request, case, number, form)
    given = {o: text_of(form, f"verdict:{o}") for o in review.frozen.body["verdicts"]}
    verdicts = {option: verdict for option, verdict in given.items() if verdict in VERDICTS}
    person, store = person_of(request), store_of(request)
    mine = next((e for e in review.of("rating") if e.owner == person.account), None)
    if mine is None:
        say(request, review, {"what": "rating", "verdicts": verdicts}, "own verdicts")
    else:
        try:
            body = {**mine.body, "verdicts": verdicts}
            store.save(mine.id, mine.version, body, who=person.account, what="own verdicts changed")
        except Conflict as error:
            raise HTTPException(
                409, "You have changed your verdicts in another window; look at them there."
            ) from error
    return _back(review, "agreement")


@router.post(f"{V}/decision")
def decide(request: Request, case: str, number: Number, form: Form) -> Response:
    """Say what comes of the review, with reasons."""
    review = open_review(request, case, number, form)
    text, decision = text_of(form, "text"), text_of(form, "decision")
    errors = required(text, "the reasons")
    if decision not in DECISIONS:
        errors["decision"] = f"Expected one of {', '.join(DECISIONS)}."
    typed = {"text": text, "decision": decision}
    if errors:
        return version_page(
            request, review, where="decision", typed=typed, errors=errors, status=422
        )
    say(request, review, {"what": "decision", **typed}, DECISIONS[decision])
    return _back(review, "decided")


def _refuse_signature(review: Review, person: Person) -> None:
    """Refuse to have a version signed off that isn't ready, or by who froze it."""
    if not review.frozen.holds():
        raise HTTPException(409, "What is stored no longer has the hash it was frozen with.")
    if review.state not in ("agreed", "agreed-with-changes"):
        raise HTTPException(409, "A version is signed off once the reviewers have agreed to it.")
    if not person.sees_all and person.account == review.frozen.document.owner:
        raise HTTPException(403, "Who froze a version does not sign it off; ask another person.")


@router.post(f"{V}/signature")
def sign(request: Request, case: str, number: Number, form: Form) -> Response:
    """Sign the version off; the signature names its hash."""
    review = open_review(request, case, number, form)
    frozen, person = review.frozen, person_of(request)
    _refuse_signature(review, person)
    if text_of(form, "sha256") != frozen.sha256:
        raise HTTPException(409, "The page showed another hash; load it anew before you sign.")
    name = text_of(form, "text")
    errors = required(name, "your name and role, as they are to stand under the proposal")
    if errors:
        typed = {"text": name}
        return version_page(
            request, review, where="signature", typed=typed, errors=errors, status=422
        )
    if not person.sees_all and person.name.casefold() not in name.casefold():
        name = f"{person.name} ({name})"  # nobody signs in another's name
    entry = {"what": "signature", "text": name, "sha256": frozen.sha256}
    say(request, review, entry, f"signed off with hash {frozen.sha256}")
    return _back(review, "decided")


@router.post(f"{V}/withdraw")
def withdraw(request: Request, case: str, number: Number, form: Form) -> Response:
    """Take a version back from the reviewers; it stays to be read."""
    review = open_review(request, case, number, form)
    frozen = review.frozen
    store_of(request).save(
        frozen.document.id,
        frozen.document.version,
        {**frozen.body, "withdrawn": True},
        who=person_of(request).account,
        what=f"version {number} withdrawn",
    )
    return RedirectResponse(f"/cases/{case}/review", 303)


@router.post(f"{V}/entries/{{entry}}/take-back")
def take_back(request: Request, case: str, number: Number, entry: str, form: Form) -> Response:
    """Take back what one has said oneself; the history keeps it."""
    review = open_review(request, case, number, form)
    found = next((e for e in review.entries if e.id == entry), None)
    if found is None:
        raise HTTPException(404, f"There is no entry {entry!r} in this review.")
    person = person_of(request)
    if not person.sees_all and found.owner != person.account:
        raise HTTPException(403, f"Only {found.owner}, who said it, may take it back.")
    store_of(request).remove(entry, who=person.account, what="taken back")
    return _back(review, "remarks")
