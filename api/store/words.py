"""Texts as the store keeps them: canonical JSON, the hash of an event, words to search by."""

from __future__ import annotations

import hashlib
import json
import re
import unicodedata
from collections.abc import Sequence

from leastwise.api.store.records.values import Body

__all__ = ["START", "as_text", "event_hash", "fold", "plain"]

START = "0" * 64
_LONE = re.compile("[\ud800-\udfff]")  # halves of a pair, which UTF-8 can't hold
#: Letters that Unicode doesn't take apart, but that people leave the mark off when searching.
_LETTERS = str.maketrans(
    {"ø": "o", "ł": "l", "đ": "d", "ð": "d", "\u0131": "i", "æ": "ae", "œ": "oe", "þ": "th"}
)


def as_text(body: Body, *, indent: int | None = None) -> str:
    """Return a body as canonical JSON: sorted, without spaces, fit for UTF-8.

    With *indent* it is laid out in lines, for people.
    """
    parting = (",", ":") if indent is None else (",", ": ")
    text = json.dumps(body, ensure_ascii=False, sort_keys=True, separators=parting, indent=indent)
    return _LONE.sub(lambda half: f"\\u{ord(half[0]):04x}", text)


def event_hash(before: str, fields: Sequence[str]) -> str:
    """Return the hash of an event: SHA-256 over the hash before it and its own fields."""
    return hashlib.sha256(as_text({"before": before, "fields": list(fields)}).encode()).hexdigest()


def plain(text: str) -> str:
    """Return a text that every database can hold: without NUL and without half characters."""
    return _LONE.sub("\ufffd", text.replace("\0", ""))


def fold(text: str) -> str:
    """Return a text as it is searched: no case, no marks above or below the letters.

    >>> fold("Gaze d'Été, STRASSE, Łódź") == fold("gaze d'ete, straße, lodz")
    True
    """
    apart = unicodedata.normalize("NFKD", text.casefold())
    bare = "".join(sign for sign in apart if not unicodedata.combining(sign))
    return unicodedata.normalize("NFC", bare.casefold()).translate(_LETTERS)
