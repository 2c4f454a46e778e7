"""A proposal's own words in the store: read, checked, kept, put together with what others kept."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime

from fastapi import Request
from sqlalchemy.exc import IntegrityError
from starlette.datastructures import FormData

from leastwise.api.http.state import store_of
from leastwise.api.identity.people import person_of
from leastwise.api.store import Conflict, Document
from leastwise.graph.proposal.report.make import MAY_REPLACE
from leastwise.graph.proposal.report.words import (
    CONTRACTUAL,
    MOST,
    SECTION_KEYS,
    SHORT_KEYS,
    OwnWords,
    cleaned,
    merged,
)

__all__ = ["MOST_OF_A_LINE", "Kept", "WordsKept", "keep_words", "sent_words", "words_of"]

KIND = "words"
MOST_OF_A_LINE = 400


@dataclass(frozen=True, slots=True)
class WordsKept:
    """The own words of a case; *version* is 0 while nothing was written."""

    texts: Mapping[str, str]
    version: int = 0
    record: str = ""
    changed: datetime | None = None
    changed_by: str = ""

    @property
    def words(self) -> OwnWords:
        """Return the words as a proposal reads them."""
        return OwnWords.stored(self.texts)


@dataclass(frozen=True, slots=True)
class Kept:
    """What became of a form: kept, perhaps put together with *together*'s, or clashing keys.

    *clashes* holds, by key, what the other person wrote; nothing was kept then.
    """

    now: WordsKept
    together: str = ""
    clashes: Mapping[str, str] | None = None


def words_of(request: Request, case: str) -> WordsKept:
    """Return the own words of a case."""
    found = store_of(request).of_case(case, KIND)
    return _kept(found[0]) if found else WordsKept({})


def _kept(document: Document) -> WordsKept:
    return WordsKept(
        {k: v for k, v in document.body.items() if isinstance(v, str)},
        document.version,
        document.id,
        document.changed,
        document.changed_by,
    )


def sent_words(
    form: FormData, damages: Mapping[str, list[str]]
) -> tuple[dict[str, str], dict[str, str]]:
    """Return the texts that a form holds, and the errors by field.

    *damages* are the damages of the case with the options of each. Keys that the form could not
    hold are left out; an empty text takes the key away.
    """
    known = [*SECTION_KEYS, *SHORT_KEYS, "contractual"]
    known += [f"{kind}:{damage}" for damage in damages for kind in ("choice", "reason")]
    texts = {key: _sent(form, key) for key in known if key in form}
    if "people" in form:  # a box that isn't ticked isn't sent; this form has the boxes
        texts |= {f"instead:{key}": _sent(form, f"instead:{key}") for key in MAY_REPLACE}
    errors = {}
    for key, text in texts.items():
        most = MOST_OF_A_LINE if key in SHORT_KEYS else MOST
        damage = key.partition(":")[2]
        if len(text) > most:
            errors[key] = f"Got {len(text)} characters; expected at most {most}."
        elif key == "contractual" and text not in ("", *CONTRACTUAL):
            errors[key] = "Expected yes, no or unknown."
        elif key.startswith("choice:") and text and text not in damages[damage]:
            errors[key] = f"Got {text[:80]!r}; expected an option of this damage."
        elif key.startswith("instead:") and text not in ("", "yes"):
            errors[key] = "Expected a tick or none."
    return texts, errors


def _sent(form: FormData, key: str) -> str:
    value = form.get(key)
    return cleaned(value).strip() if isinstance(value, str) else ""


def keep_words(request: Request, case: str, base: int, texts: Mapping[str, str]) -> Kept:
    """Keep the texts of a form that was made from version *base* (0: nothing was written yet).

    Texts that only somebody else changed in between are put together with these.

    Raises:
        NotStored: there was no such version.

    """
    store, who = store_of(request), person_of(request).account
    now = words_of(request, case)
    was = _texts_in(request, now, base)
    mine = _without_empty({**was, **texts})
    what = f"own words of the proposal: {_named(was, mine)}"
    if not now.record:
        if not mine:
            return Kept(now)
        try:
            made = store.create(
                KIND, dict(mine), who=who, what=what, case=case, title="Own words of the proposal",
                record_id=f"words-{case}"[:32],
            )  # fmt: skip
        except IntegrityError:  # somebody began at the same moment
            now = words_of(request, case)
            if not now.record:
                raise
        else:
            return Kept(_kept(made))
    try:
        return Kept(_kept(store.save(now.record, base, dict(mine), who=who, what=what)))
    except Conflict as conflict:
        theirs = _kept(conflict.theirs)
        whole, clashes = merged(was, theirs.texts, mine)
        if clashes:
            return Kept(theirs, clashes={key: theirs.texts.get(key, "") for key in clashes})
        what += f", put together with those of {theirs.changed_by}"
        saved = store.save(now.record, theirs.version, dict(whole), who=who, what=what)
        return Kept(_kept(saved), together=theirs.changed_by)


def _texts_in(request: Request, now: WordsKept, base: int) -> Mapping[str, str]:
    if not now.record or base == 0:
        return {}
    if base == now.version:
        return now.texts
    return _kept(store_of(request).as_of(now.record, version=base)).texts


def _without_empty(texts: Mapping[str, str]) -> dict[str, str]:
    return {key: text for key, text in sorted(texts.items()) if text}


def _named(was: Mapping[str, str], mine: Mapping[str, str]) -> str:
    """Return which texts changed, for the history."""
    changed = [k for k in sorted({*was, *mine}) if was.get(k, "") != mine.get(k, "")]
    if not changed:
        return "nothing changed"
    more = f" and {len(changed) - 4} more" if len(changed) > 4 else ""
    return ", ".join(changed[:4]) + more
