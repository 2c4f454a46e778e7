"""Small knowledge and small cases made by hand, so that a test says all that it rests on."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import Any

from leastwise.graph.case.record import Case
from leastwise.graph.knowledge.concepts import Catalogue
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.knowledge.rules import Rule, RuleBook, load_rule_book
from leastwise.graph.knowledge.turtle import load_triples
from leastwise.graph.names import PREFIXES

HEAD = "\n".join(f"@prefix {short}: <{long}> ." for short, long in PREFIXES.items())


def knowledge(turtle: str) -> Knowledge:
    """Return a knowledge that holds just what is written here; prefixes are declared."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "handmade.ttl"
        path.write_text(f"{HEAD}\n{turtle}", encoding="utf-8")
        return Knowledge(*load_triples([path], None))


def rule_book(turtle: str) -> RuleBook:
    """Return a book of the rules that are written here."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "handmade.ttl"
        path.write_text(f"{HEAD}\n{turtle}", encoding="utf-8")
        return load_rule_book(files=[path])


def catalogue(turtle: str) -> Catalogue:
    """Return the views on a handmade knowledge."""
    return Catalogue(knowledge(turtle))


def made_of(name: str, *materials: str, known: str = "certain", **fields: Any) -> dict[str, Any]:
    """Return a part of some materials."""
    named = [{"material": f"material:{one}", "identified": known} for one in materials]
    return {"id": name, "name": f"the {name}", "materials": named, **fields}


def touching(first: str, second: str, kind: str = "stitched", **more: str) -> dict[str, Any]:
    """Return a contact."""
    return {"between": [first, second], "kind": kind} | more


def case(*parts: dict[str, Any], **more: Any) -> Case:
    """Return a case of some parts (one of silk unless told otherwise), with nothing resolved."""
    record = {
        "leastwise_case": 2,
        "id": "handmade",
        "title": "Handmade",
        "object": {"name": "an invented object"},
        "parts": list(parts) or [made_of("a", "silk")],
        "aim": {"purpose": "display", "mounting": "flat"},
    }
    return Case.model_validate(record | more)


def rule(effect: str = "cautions", message: str = "Take care.", **more: Any) -> Rule:
    """Return a rule."""
    severity = {"defeats": "Violation", "leavesUndecided": "Warning"}.get(effect, "Info")
    given: dict[str, Any] = {
        "id": f"rule:{effect}",
        "severity": severity,
        "effect": effect,
        "theme": "harm",
        "message": message,
        "cautions": (),
        "lifted_by": (),
        "rests_on": (),
        "note": "",
    }
    return Rule(**(given | more))
