"""Cases are written in the second form of the record.

Each case that is still in the first form gets a next version that says so, at the end of the
chain; what a case then was stays in its history. The second form takes all that the first can
say, so nothing but the number of the form changes. On the way down a case that says nothing the
first form can't hold gets a version in that form; the others stay as they are, since turning them
back would lose what they say.
"""

from __future__ import annotations

import copy
import hashlib
import json
from collections.abc import Callable
from datetime import UTC, datetime
from typing import Any

import sqlalchemy as sa
from alembic import op

revision = "0004"
down_revision = "0003"
branch_labels = None
depends_on = None

Body = dict[str, Any]
INSTANT = sa.DateTime(timezone=True)
START = "0" * 64
TEXTS = ("what", "title", "owner", "body", "before", "hash")
EVENTS = sa.table(
    "events",
    sa.column("number", sa.BigInteger()),
    sa.column("at", INSTANT),
    sa.column("version", sa.Integer()),
    sa.column("removed", sa.Boolean()),
    *(sa.column(name, sa.Text()) for name in ("document_id", "case_id", "kind", "who", *TEXTS)),
)
DOCUMENTS = sa.table(
    "documents",
    sa.column("version", sa.Integer()),
    sa.column("removed", sa.Boolean()),
    sa.column("changed", INSTANT),
    *(sa.column(n, sa.Text()) for n in ("id", "kind", "case_id", "title", "owner", "body")),
    sa.column("changed_by", sa.Text()),
)
#: What only the second form has, by place: () the record itself, then its groups and rows.
NEW: dict[tuple[str, ...], frozenset[str]] = {
    (): frozenset({"needs"}),
    ("object",): frozenset({"form", "size", "girths_cm"}),
    ("aim",): frozenset({"also", "purposes"}),
    ("parts",): frozenset({"fibre", "colour", "finish", "structure", "components", "size"}),
    ("parts", "materials"): frozenset(
        {"heading", "look", "where", "other", "choice", "share", "implied"}
    ),
    ("contacts",): frozenset({"colour"}),
    ("damages",): frozenset({"other", "where", "place", "colour", "deposit", "shows_on_display"}),
    ("tests",): frozenset(
        {"other", "colour", "damage", "identified", "reading", "effect", "laboratory", "file"}
    ),
}
#: Values of fields of the first form that only the second knows.
NEW_VALUES = {
    "purpose": {"wearing", "handling-and-teaching", "ending-an-infestation", "making-safe",
                "unknown"},
    "kind": {"enclosed-in", "one-cloth", "woven-in", "painted-on", "threaded-through", "tied",
             "near"},
    "result": {"not-judged"},
}  # fmt: skip


def upgrade() -> None:
    """Give each case of the first form a version in the second."""
    _renew(
        lambda body: {**body, "leastwise_case": 2} if _form(body) == 1 else None,
        "carried over to the second form of the record",
    )


def downgrade() -> None:
    """Give each case that the first form can hold a version in that."""
    _renew(
        lambda body: first_form(body) if _form(body) == 2 else None,
        "turned back to the first form of the record",
    )


def _form(body: object) -> int:
    given = body.get("leastwise_case") if isinstance(body, dict) else None
    return given if isinstance(given, int) and not isinstance(given, bool) else 0


def first_form(body: Body) -> Body | None:
    """Return a record of the second form in the first, or None if it says more than that holds."""
    found = copy.deepcopy(body)
    found["leastwise_case"] = 1
    return found if _take_away(found, ()) else None


def _take_away(here: Any, place: tuple[str, ...]) -> bool:
    """Take away what only the second form has and is empty; say whether nothing is left of it."""
    if isinstance(here, list):
        return all(_take_away(one, place) for one in here)
    if not isinstance(here, dict):
        return True
    for key in NEW.get(place, frozenset()) & here.keys():
        if key != "heading" and not _says_nothing(here[key]):
            return False
        del here[key]
    if any(here.get(key) in values for key, values in NEW_VALUES.items() if _is_word(here, key)):
        return False
    return all(_take_away(value, (*place, key)) for key, value in here.items())


def _is_word(here: Body, key: str) -> bool:
    return isinstance(here.get(key), str)


def _says_nothing(value: Any) -> bool:
    if isinstance(value, dict):
        return all(_says_nothing(one) for one in value.values())
    return value in ("", None, [], False, "unknown", "not-examined", "named")


def _renew(change: Callable[[Body], Body | None], what: str) -> None:
    """Add a version to each case that *change* gives a body for."""
    connection, now = op.get_bind(), datetime.now(UTC)
    last = connection.execute(
        sa.select(EVENTS.c.number, EVENTS.c.hash).order_by(EVENTS.c.number.desc()).limit(1)
    ).first()
    number, before = (last.number, last.hash) if last else (0, START)
    cases = sa.select(DOCUMENTS).where(DOCUMENTS.c.kind == "case").order_by(DOCUMENTS.c.id)
    for row in connection.execute(cases).mappings().all():
        body = change(json.loads(row["body"]))
        if body is None:
            continue
        number += 1
        event = {
            "number": number, "document_id": row["id"], "case_id": row["case_id"], "kind": "case",
            "version": row["version"] + 1, "at": now, "who": "leastwise", "what": what,
            "title": row["title"], "owner": row["owner"], "removed": row["removed"],
            "body": _text(body), "before": before,
        }  # fmt: skip
        before = event["hash"] = _hash(event)
        connection.execute(EVENTS.insert().values(event))
        connection.execute(
            DOCUMENTS.update()
            .where(DOCUMENTS.c.id == row["id"])
            .values(
                body=event["body"],
                version=event["version"],
                changed=now,
                changed_by="leastwise",
            )
        )


def _hash(event: Body) -> str:
    names = ("document_id", "case_id", "kind")
    fields = [str(event["number"]), *(event[name] for name in names), str(event["version"])]
    fields += [event["at"].isoformat(), event["who"], event["what"], event["title"]]
    fields += [event["owner"], "removed" if event["removed"] else "", event["body"]]
    said = _text({"before": event["before"], "fields": fields})
    return hashlib.sha256(said.encode()).hexdigest()


def _text(value: object) -> str:
    text = json.dumps(value, ensure_ascii=False, sort_keys=True, separators=(",", ":"))
    return "".join(f"\\u{ord(c):04x}" if "\ud800" <= c <= "\udfff" else c for c in text)
