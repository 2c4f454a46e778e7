"""The treatment record of a case in the store: entries are added, changed and struck out.

Adding never conflicts with what others add. An entry that somebody else changed meanwhile is not
overwritten: the caller gets both.
"""

from __future__ import annotations

from collections.abc import Callable
from copy import deepcopy
from dataclasses import dataclass
from datetime import UTC, datetime
from typing import Any

from leastwise.api.services.experience import LOG
from leastwise.api.store import AlreadyStored, Conflict, Document, Store
from leastwise.graph import Case
from leastwise.graph.errors import LeastwiseError
from leastwise.graph.treatment.checks import entry_problems
from leastwise.graph.treatment.record import TreatmentError, treatment_from_data

__all__ = ["Changed", "Entry", "LogWriter", "log_of"]

Entry = dict[str, Any]
TRIES = 20


class Changed(LeastwiseError):  # noqa: N818 - reads as what happened
    """An entry that somebody else changed or struck out while it was being changed."""

    def __init__(self, theirs: Entry | None, by: str) -> None:
        self.theirs, self.by = theirs, by
        what = "changed" if theirs else "struck out"
        super().__init__(f"{by} has {what} this entry meanwhile; look at both and save again.")


def log_of(store: Store, case: str) -> Document | None:
    """Return the treatment record of a case, None while nothing is in it."""
    return next(iter(store.of_case(case, LOG)), None)


@dataclass(frozen=True)
class LogWriter:
    """Writes in the record of *case*, stored under *case_id*, as *who*.

    Every method raises TreatmentError where an entry can't be read; the paths say where.
    """

    store: Store
    case: Case
    case_id: str
    who: str

    def add(self, listing: str, entry: Entry) -> str:
        """Add an entry to a list; return its id."""
        given: list[str] = []

        def change(body: Entry) -> None:
            rows = body.setdefault(listing, [])
            taken = {row["id"] for row in rows}
            number = len(rows) + 1
            while f"{listing[0]}{number}" in taken:
                number += 1
            given[:] = [f"{listing[0]}{number}"]
            rows.append({**entry, "id": given[0]})

        self._check(listing, entry)
        self._write(f"{_called(listing)}: an entry added", change)
        return given[0]

    def change(self, listing: str, entry_id: str, before: Entry, after: Entry | None) -> None:
        """Change an entry that reads *before*, or strike it out where *after* is None.

        Raises:
            Changed: it no longer reads *before*.

        """

        def change(body: Entry) -> None:
            rows = body.get(listing, [])
            place = next((i for i, row in enumerate(rows) if row["id"] == entry_id), None)
            if place is None:
                raise Changed(None, self._last())
            if rows[place] != {**before, "id": entry_id}:
                raise Changed(rows[place], self._last())
            rows[place : place + 1] = [] if after is None else [{**after, "id": entry_id}]

        if after is not None:
            self._check(listing, after)
        what = "struck out" if after is None else "changed"
        self._write(f"{_called(listing)}: entry {entry_id} {what}", change)

    def set_final(self, before: Entry, after: Entry) -> None:
        """Write the final state that read *before*.

        Raises:
            Changed: it no longer reads *before*.

        """

        def change(body: Entry) -> None:
            if body.get("final", {}) not in (before, after):
                raise Changed(body["final"], self._last())
            body["final"] = after

        self._write("final record: changed", change)

    def _check(self, listing: str, entry: Entry) -> None:
        today = datetime.now(UTC).date()
        if wrong := list(entry_problems(listing, entry, self.case, today)):
            raise TreatmentError(wrong)

    def _last(self) -> str:
        log = log_of(self.store, self.case_id)
        return log.changed_by if log else "somebody"

    def _write(self, what: str, change: Callable[[Entry], None]) -> None:
        """Change the newest record; if somebody saves in between, change what they saved."""
        for _ in range(TRIES):
            log = log_of(self.store, self.case_id)
            body = deepcopy(log.body) if log else {}
            change(body)
            treatment_from_data(body, self.case)
            try:
                self._keep(log, body, what)
            except (AlreadyStored, Conflict):
                continue
            return
        raise LeastwiseError(
            "Others keep writing in this treatment log; please send the entry again."
        )

    def _keep(self, log: Document | None, body: Entry, what: str) -> None:
        if log is not None:
            self.store.save(log.id, log.version, body, who=self.who, what=what)
            return
        # one record a case: its id follows from the case, so that two can't begin at once
        name = f"{self.case_id}-log"
        self.store.create(LOG, body, who=self.who, what=what, case=self.case_id, record_id=name)


def _called(listing: str) -> str:
    return listing.replace("_", " ")
