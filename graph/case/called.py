"""What an object is by its name, where the record is silent of its kind or its form.

Which words name which kind and form is said in seed_data/object-words.ttl.
"""

from __future__ import annotations

import re
from typing import Final

from leastwise.graph.case.record import ObjectRecord
from leastwise.graph.case.values import UNKNOWN
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.names import camel

__all__ = ["as_called", "word_in"]

#: Where the name of a thing ends and what is said of it begins.
_SAID_OF_IT: Final = re.compile(
    r"[,;:(/]|\b(?:of|in|with|for|from|on|by|under|over|behind|beside|without|to|worn|made)\b"
)
#: Words that count things, so that the thing itself comes after "of".
_COUNTS: Final = frozenset({"pair", "pairs", "set", "part", "remains", "fragments", "fragment"})

FRAGMENT: Final = "fragment"


def as_called(thing: ObjectRecord, knowledge: Knowledge) -> ObjectRecord:
    """Return an object with the kind and form that its name tells, where the record is silent.

    The object itself where both are recorded, or its name says nothing; a form is taken only where
    the kind that is recorded agrees with the name.
    """
    meant = _words(knowledge).get(word_in(thing.name, knowledge))
    if meant is None or thing.kind not in (UNKNOWN, meant["kind"]):
        return thing
    new = {
        field: value for field, value in meant.items() if getattr(thing, field) == UNKNOWN and value
    }
    return thing.model_copy(update=new) if new else thing


def word_in(name: str, knowledge: Knowledge) -> str:
    """Return the word of a name that says what the thing is; "" if none does.

    A pair of gloves is gloves, a coat of plum silk a coat, and a hat box no hat. A fragment of a
    tapestry is treated as tapestry, a fragment of a coat is a flat piece of cloth.
    """
    words, counted = _words(knowledge), ""
    for said in _SAID_OF_IT.split(name.casefold()):
        last = (re.findall(r"[a-z]+", said) or [""])[-1]
        if last in _COUNTS:
            counted = last
        elif last:
            found = next((one for one in (last, *_singular(last)) if one in words), "")
            lies_flat = not found or words[found]["form"] == "flat"
            return found if lies_flat or FRAGMENT not in counted else FRAGMENT
    return ""


def _singular(word: str) -> tuple[str, ...]:
    return word.removesuffix("s"), word.removesuffix("es")


def _words(knowledge: Knowledge) -> dict[str, dict[str, str]]:
    return knowledge.made(("words of objects",), _read)


def _read(knowledge: Knowledge, _: tuple[str]) -> dict[str, dict[str, str]]:
    """Return word -> kind and form, as a record writes them."""
    found: dict[str, dict[str, str]] = {}
    kinds = {camel(one): one for one in ("costume", "flat-textile", "furnishing", "accessory")}
    for one in knowledge.instances("lw:NameOfObjects"):
        kind = kinds[knowledge.object(one, "lw:meansKind") or ""]
        meant = {"kind": kind, "form": knowledge.text(one, "lw:meansForm")}
        found.update(dict.fromkeys(knowledge.texts(one, "lw:calledSo"), meant))
    return found
