"""What an account is after a change, as its event holds it: to compare the account with later.

The body of an event is JSON. ``{"account": {...}}`` says what the account is from then on: active,
cohort, created, full name, identities (pairs of issuer and subject), role, and the SHA-256 of the
password's hash, never the hash itself. ``{"restored": {...}}`` says what a restore put in place.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable
from typing import Any

from leastwise.api.store.accounts.tables import AccountTable

__all__ = ["FIELDS", "State", "restored_in", "secret_of", "state_in", "state_of"]

State = dict[str, Any]
#: Each field of a state and how a person says it.
FIELDS = {
    "active": "whether it is switched on",
    "cohort": "cohort",
    "created": "date",
    "full_name": "name",
    "identities": "sign-in elsewhere",
    "password_sha256": "password",
    "role": "role",
}


def state_of(row: AccountTable, identities: Iterable[tuple[str, str]]) -> State:
    """Return what an account is by its row and by the identities that open it."""
    return {
        "active": row.active,
        "cohort": row.cohort,
        "created": row.created.isoformat(),
        "full_name": row.full_name,
        "identities": sorted(list(one) for one in identities),
        "password_sha256": secret_of(row.password),
        "role": row.role,
    }


def secret_of(password: str) -> str:
    """Return the SHA-256 of the hash of a password; an empty text where none was set.

    The hash holds 16 random bytes, so nothing can be guessed from its SHA-256.
    """
    return hashlib.sha256(password.encode()).hexdigest() if password else ""


def state_in(body: str) -> State | None:
    """Return the state that the body of an event tells, or None."""
    return _part(body, "account")


def restored_in(body: str) -> State | None:
    """Return what the body of an event tells of a restore, or None."""
    return _part(body, "restored")


def _part(body: str, name: str) -> State | None:
    try:
        said = json.loads(body) if body else None
    except ValueError:  # altered by hand
        return None
    found = said.get(name) if isinstance(said, dict) else None
    return found if isinstance(found, dict) else None
