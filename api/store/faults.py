"""What can befall a store, in sentences: full, read-only, busy, out of reach, damaged, too new."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import exc
from sqlalchemy.engine import URL

from leastwise.graph.errors import LeastwiseError

__all__ = [
    "AlreadyStored",
    "StoreBusy",
    "StoreDamaged",
    "StoreError",
    "StoreFull",
    "StoreLogUnread",
    "StoreNewer",
    "StoreOlder",
    "StoreOnlyRead",
    "StoreReadOnly",
    "StoreUnreachable",
    "place_of",
    "told",
]

#: Below this many free bytes a failed write is put down to a full disk.
LEAST_FREE = 1024 * 1024
KEPT = "Nothing that was kept before is lost"
SAFE = f"{KEPT}, and what you typed is still in the form"
_REACH = "Check that the database is running and that LEASTWISE_STORE names it rightly."


class StoreError(LeastwiseError):
    """The store can't be used just now; nothing that was acknowledged is lost.

    *command* is the sentence for somebody who typed a command and has no form before them.
    """

    def __init__(self, said: str, command: str = "") -> None:
        super().__init__(said)
        self.command = command or said


class StoreFull(StoreError):  # noqa: N818 - reads as what happened
    """There is no room left to keep a change."""

    def __init__(self, place: str) -> None:
        super().__init__(
            f"{place}: the disk is full, so this change was not kept. {SAFE}: make room on the "
            "disk, go back and save again.",
            f"{place}: the disk is full, so this was not done. {KEPT}: make room on the disk and "
            "try again.",
        )


class StoreReadOnly(StoreError):  # noqa: N818 - reads as what happened
    """The store, or the folder that it lies in, can't be written."""

    def __init__(self, place: str) -> None:
        self.place = place
        super().__init__(
            f"{place}: the store or its folder can't be written, so this change was not kept. "
            f"{SAFE}: give the right to write there (or name another place with LEASTWISE_STORE), "
            "go back and save again.",
            f"{place}: the store or its folder can't be written, so this was not done. {KEPT}: "
            "give the right to write there, or name another store (LEASTWISE_STORE).",
        )


class StoreOnlyRead(StoreError):  # noqa: N818 - reads as what happened
    """Somebody would serve a store in which nothing can be kept."""

    def __init__(self, place: str) -> None:
        super().__init__(
            f"{place}: nothing can be written there, so what is done on the pages could not be "
            "kept, and 'leastwise serve' doesn't begin. Give the right to write to the store and "
            "its folder, or name another store with LEASTWISE_STORE. A store that is there can be "
            "read all the same: leastwise record, verify, backup, export-all, accounts list."
        )


class StoreLogUnread(StoreError):  # noqa: N818 - reads as what happened
    """A log lies beside a store that can only be read, and reading it would mean writing."""

    def __init__(self, place: str) -> None:
        super().__init__(
            f"{place}: the store can only be read, and changes that are not yet in its file lie "
            f"beside it in {Path(place).name}-wal, where they can't be read without writing. Copy "
            "all files of the store into a folder that can be written, and name the copy."
        )


class StoreOlder(StoreError):  # noqa: N818 - reads as what happened
    """The store can only be read, and has an older form than this program reads."""

    def __init__(self, place: str, found: str, known: str) -> None:
        super().__init__(
            f"{place}: the store can only be read, and has an older form ({found or 'none'!r}; "
            f"this program reads {known!r}). Copy it into a folder that can be written; it is "
            "brought to the newest form when it is opened there."
        )


class StoreBusy(StoreError):  # noqa: N818 - reads as what happened
    """Others were writing for longer than one waits."""

    def __init__(self, place: str) -> None:
        super().__init__(
            f"{place}: others were writing for too long, so this was not done. {SAFE}: wait a "
            "moment and try again.",
            f"{place}: others were writing for too long, so this was not done. {KEPT}: wait a "
            "moment and try again.",
        )


class StoreUnreachable(StoreError):  # noqa: N818 - reads as what happened
    """The store isn't there, or doesn't answer."""

    def __init__(self, place: str, why: str = "") -> None:
        said = f" ({why})" if why else ""
        start = f"{place}: the store can't be reached{said}."
        super().__init__(f"{start} {SAFE}. {_REACH}", f"{start} {_REACH}")


class StoreDamaged(StoreError):  # noqa: N818 - reads as what happened
    """The file is no store, or no longer whole."""

    def __init__(self, place: str, said: str = "") -> None:
        self.place = place
        super().__init__(
            said
            or f"{place}: this is not a store of Leastwise, or it is damaged. Leave the file as it "
            "is, put a backup in its place with 'leastwise restore', and look at both with "
            "'leastwise verify'."
        )


class StoreNewer(StoreError):  # noqa: N818 - reads as what happened
    """The store was made by a newer program."""

    def __init__(self, place: str, found: str, known: str) -> None:
        self.found, self.known = found, known
        super().__init__(
            f"{place}: this store was made by a newer Leastwise (its form is {found!r}, this "
            f"program knows forms up to {known!r}). Nothing was changed; install the newer "
            "Leastwise, or name another store with LEASTWISE_STORE."
        )


class AlreadyStored(LeastwiseError):  # noqa: N818 - reads as what happened
    """There is a record of this name already."""

    def __init__(self, name: str) -> None:
        super().__init__(f"There is a record {name!r} already; choose another name.")


def place_of(url: URL) -> str:
    """Return where a store is, as a person would say it: a path, or a URL without password."""
    if url.get_backend_name() == "sqlite":
        return url.database or "the store in memory"
    return url.set(drivername="postgresql").render_as_string(hide_password=True)


@contextmanager
def told(url: URL) -> Iterator[None]:
    """Turn what the database says of disk, rights and reach into the errors of this module."""
    try:
        yield
    except exc.TimeoutError as error:  # no connection became free
        raise StoreBusy(place_of(url)) from error
    except exc.DBAPIError as error:
        fault = _fault(error, url)
        if fault is None:
            raise
        raise fault from error
    except sqlite3.OperationalError as error:  # of the backup, which goes past SQLAlchemy
        raise _of_sqlite(error, url) or error from error


def _fault(error: exc.DBAPIError, url: URL) -> StoreError | None:
    if isinstance(error.orig, sqlite3.Error):
        return _of_sqlite(error.orig, url)
    return _of_postgresql(error, place_of(url))


def _of_sqlite(error: sqlite3.Error, url: URL) -> StoreError | None:
    place, name = place_of(url), getattr(error, "sqlite_errorname", "")
    if name.startswith("SQLITE_FULL") or (name.startswith("SQLITE_IOERR") and _is_full(url)):
        return StoreFull(place)
    if not name and "decode to UTF-8" in str(error):  # said by the driver, not by SQLite
        return StoreDamaged(place)
    kinds: tuple[tuple[str, StoreError], ...] = (
        ("SQLITE_READONLY", StoreReadOnly(place)),
        ("SQLITE_PERM", StoreReadOnly(place)),
        ("SQLITE_BUSY", StoreBusy(place)),
        ("SQLITE_LOCKED", StoreBusy(place)),
        ("SQLITE_CORRUPT", StoreDamaged(place)),
        ("SQLITE_NOTADB", StoreDamaged(place)),
        ("SQLITE_CANTOPEN", _cannot_open(url)),
        ("SQLITE_IOERR", StoreUnreachable(place, str(error))),
    )
    return next((fault for start, fault in kinds if name.startswith(start)), None)


def _cannot_open(url: URL) -> StoreError:
    place = Path(url.database or "")
    if _is_full(url):  # the log beside the file could not be begun
        return StoreFull(str(place))
    # SQLite says "can't open" too where it may not begin its log beside the file
    return StoreReadOnly(str(place)) if place.is_file() else StoreUnreachable(str(place))


def _is_full(url: URL) -> bool:
    folder = Path(url.database or ".").parent
    return folder.is_dir() and shutil.disk_usage(folder).free < LEAST_FREE


def _of_postgresql(error: exc.DBAPIError, place: str) -> StoreError | None:
    state = getattr(error.orig, "sqlstate", None) or ""
    if state == "53100":
        return StoreFull(place)
    if state in ("25006", "42501"):  # a read-only standby or role; no right to the table
        return StoreReadOnly(place)
    if state in ("55P03", "40P01", "40001", "53300", "57014"):
        return StoreBusy(place)
    if error.connection_invalidated or state[:2] in ("08", "57", "58", "28", "3D", "53"):
        return StoreUnreachable(place, str(error.orig).splitlines()[0] if error.orig else "")
    if isinstance(error, exc.OperationalError) and not state:
        return StoreUnreachable(place, str(error.orig).splitlines()[0] if error.orig else "")
    return None
