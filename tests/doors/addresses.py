"""An address of every page that can be asked for, with examples for what stands in its path.

A route whose path names something without an example here is told by :func:`addresses`, so that a
new page can't be left out of the tests that walk over all of them.
"""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import urlencode

from fastapi import FastAPI

from tests.doors.full_case import PACK, STEAM, FullCase
from tests.doors.routes import Way, ways

__all__ = ["NO_PAGE", "ON_ITS_OWN", "Address", "addresses", "fixed", "without_example"]

#: Path -> what stands for its ``{name}``.
NAMES = {
    "/agent/{name}": "liquid-water",
    "/aim/{name}": "display",
    "/axis/{name}": "penetration",
    "/caution/{name}": "test-every-colour",
    "/claim/{name}": "M-128",
    "/condition/{name}": "lies-flat",
    "/contact/{name}": "stitched",
    "/damage/{name}": "crease",
    "/dumps/{name}.{ending}": "vocabulary",
    "/equipment/{name}": "suction-table",
    "/material/{name}": "gelatin-sequins",
    "/need/{name}": "protected-from-touch",
    "/policy/{name}": "display-driven",
    "/precedence/{name}": "adhesive-before-mounting",
    "/refused/{name}": "superglue",
    "/rule/{name}": "acetone-on-acetate",
    "/source/{name}": "CF-002",
    "/technique/{name}": "steam",
    "/test/{name}": "colourfastness-water",
    "/accounts/{name}": "anna",
}
#: What stands for the other parts of a path, wherever they are.
PARTS = {
    "damage": STEAM.partition("/")[0],
    "technique": STEAM.partition("/")[2],
    "version": "1",
    "number": "1",
    "listing": "steps",
    "entry": "s1",
    "concept": "material:silk",
    "place": "test",
    "theme": "moisture",
    "ending": "ttl",
    "release": "1.1.0",
}
#: Path -> further ways to ask for it; "" asks for it bare.
ASKED: dict[str, tuple[dict[str, str], ...]] = {
    "/": ({}, {"q": "dancer"}, {"q": "nothing of this name"}),
    "/find": ({"kind": "material", "q": "silk"},),
    "/cases/{case}/compare": ({}, {"one": PACK, "other": STEAM}),
    "/cases/{case}/options": ({}, {"shares": "true"}, {"verdict": "defeated"}),
    "/cases/{case}/options/{damage}/{technique}": ({}, {"ask": "what-would-change"}),
    "/cases/{case}/plan": ({"wait": "true"}, {"wait": "true", "undecided": "true"}),
    "/cases/{case}/bench": ({"option": PACK, "wait": "true"}, {"wait": "true"}),
    "/cases/{case}/bench/sheet.pdf": ({"option": PACK},),
    "/cases/{case}/exposure": ({"option": PACK, "wait": "true"}, {"option": STEAM}),
    "/cases/{case}/proposal": ({"wait": "true"},),
    "/cases/{case}/path": ({}, {"from": STEAM}),
    "/cases/{case}/review/{number}": ({}, {"at": "sentence:purpose/1"}),
    "/cases/{case}/review/{number}/argue": ({"option": STEAM},),
    "/knowledge/path": ({}, {"from": "technique:steam", "to": "material:gelatin-sequins"}),
    "/knowledge/search": ({"q": "steam sequins"}, {"q": "zzzz"}),
}
#: Routes that send a browser on, and what they need.
NO_PAGE = {
    "/sign-in/elsewhere": "sends the browser to the institution's sign-in",
    "/sign-in/elsewhere/back": "comes from the institution's sign-in and leads on",
    "/knowledge/{place}": "leads to the place of its name",
}
#: Files that stand alone, or parts that a script fetches: not held to the frame of a page.
ON_ITS_OWN = {"/cases/{case}/proposal.html", "/cases/{case}/bench/part", "/cases/{case}/plan/part",
              "/cases/{case}/contacts/table"}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Address:
    """Something that can be asked for, and the route that answers."""

    path: str
    address: str


def without_example(app: FastAPI, known: Mapping[str, str]) -> list[str]:
    """Return the GET routes whose path names something that has no example."""
    return [
        way.path
        for way in _asked(app)
        if way.path not in NO_PAGE
        and not set(re.findall(r"\{(\w+)", way.path)) <= _values(way.path, known).keys()
    ]


def addresses(app: FastAPI, known: Mapping[str, str]) -> list[Address]:
    """Return every address to ask for; *known* holds what this store and knowledge add."""
    return [
        Address(way.path, way.at(**_values(way.path, known)) + (f"?{urlencode(q)}" if q else ""))
        for way in _asked(app)
        if way.path not in NO_PAGE
        for q in ASKED.get(way.path, ({},))
    ]


def _asked(app: FastAPI) -> list[Way]:
    return [way for way in ways(app) if way.method == "GET"]


def _values(path: str, known: Mapping[str, str]) -> dict[str, str]:
    name = NAMES.get(path) or known.get(path, "")
    return {**PARTS, **{k: v for k, v in known.items() if "/" not in k}} | (
        {"name": name} if name else {}
    )


def fixed(case: FullCase) -> dict[str, str]:
    """Return what the addresses of a stored case are made of."""
    return {"case": case.id, "sketch": case.sketch, "picture": case.picture, "record": case.aside,
            "question": case.question}  # fmt: skip
