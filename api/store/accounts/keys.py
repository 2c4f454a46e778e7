"""What opens an account: sessions, tokens, links to set a password; and failed attempts."""

from __future__ import annotations

import secrets
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TypeVar

from sqlalchemy import ColumnElement, select
from sqlalchemy.orm import Session

from leastwise.api.store.accounts.events import COUNTED, FORGIVEN, USED, Ledger
from leastwise.api.store.accounts.held import Changes
from leastwise.api.store.accounts.records import SignedIn, Token
from leastwise.api.store.accounts.tables import FailureTable, LinkTable, SessionTable, TokenTable

__all__ = ["FORGET", "IDLE", "LONGEST", "Allowed", "Keys"]

IDLE, LONGEST = timedelta(hours=12), timedelta(days=7)
#: How often at most it is written down that a session or token was used; each time is an event.
NOTED = timedelta(hours=1)
#: After so long without a failure a count is forgotten.
FORGET = timedelta(days=1)
Used = TypeVar("Used", SessionTable, TokenTable)


@dataclass(frozen=True, slots=True)
class Allowed:
    """How many failures are let pass, and the seconds to wait after that, at first and at most."""

    most: int
    first: int
    longest: int


class Keys(Ledger):
    """Digests of secrets, never the secrets."""

    # -- sessions

    def begin_session(  # noqa: PLR0913 - one argument for each thing that is told
        self, digest: str, handle: str, account: str, *, browser: str, address: str, how: str
    ) -> None:
        """Keep a session; those that ran out are cleared away on this occasion."""
        now = self.now()
        with self.writing() as session:
            keys = Changes(session)
            over = (SessionTable.seen < now - IDLE) | (SessionTable.begun < now - LONGEST)
            keys.take(session.scalars(select(SessionTable).where(over)))
            keys.add(
                SessionTable(
                    digest=digest,
                    handle=handle,
                    account=account,
                    begun=now,
                    seen=now,
                    browser=browser[:200],
                    address=address[:64],
                )
            )
            self.note(session, account, account, f"signed in ({how})", address, keys=keys)

    def session_of(self, digest: str) -> SignedIn | None:
        """Return the session, unless it ran out, and note that it was used."""
        now = self.now()
        with self.store.reading() as session:
            row = session.get(SessionTable, digest)
            if row is None or now - row.seen >= IDLE or now - row.begun >= LONGEST:
                return None
            found = _signed_in(row)
        if now - found.seen >= NOTED:
            self._used(SessionTable, digest, seen=now)
        return found

    def sessions(self, account: str) -> list[SignedIn]:
        """Return the browsers in which an account is signed in, newest use first."""
        now = self.now()
        wanted = (
            select(SessionTable)
            .where(SessionTable.account == account)
            .where(SessionTable.seen > now - IDLE, SessionTable.begun > now - LONGEST)
            .order_by(SessionTable.seen.desc(), SessionTable.handle)
        )
        with self.store.reading() as session:
            return [_signed_in(row) for row in session.scalars(wanted)]

    def end_session(self, account: str, handle: str, *, who: str, what: str, address: str) -> bool:
        """End one session of an account; False if it has none of this handle."""
        with self.writing() as session:
            row = session.scalar(select(SessionTable).where(SessionTable.handle == handle))
            if row is None or row.account != account:
                return False
            keys = Changes(session)
            keys.take([row])
            self.note(session, who, account, what, address, keys=keys)
            return True

    def end_sessions(self, account: str, *, who: str, address: str, but: str = "") -> None:
        """End all sessions of an account, *but* the one of this handle."""
        with self.writing() as session:
            keys = Changes(session)
            self._end_sessions(session, keys, account, but)
            which = "all other sessions" if but else "all sessions"
            self.note(session, who, account, f"{which} ended", address, keys=keys)

    @staticmethod
    def _end_sessions(session: Session, keys: Changes, account: str, but: str = "") -> None:
        mine = select(SessionTable).where(SessionTable.account == account)
        keys.take(session.scalars(mine.where(SessionTable.handle != but)))

    def _used(self, table: type[Used], digest: str, **at: datetime) -> None:
        """Keep when a session or a token was used."""
        with self.writing() as session:
            row, keys = session.get(table, digest), Changes(session)
            if row is not None:  # or it was ended in between
                keys.alter(row, **at)
                self.note(session, row.account, row.account, USED, keys=keys)

    # -- tokens

    def add_token(self, digest: str, token: Token, *, who: str, address: str) -> None:
        """Keep a token for a program."""
        with self.writing() as session:
            keys = Changes(session)
            keys.add(
                TokenTable(
                    digest=digest,
                    handle=token.handle,
                    account=token.account,
                    label=token.label,
                    scopes=" ".join(sorted(token.scopes)),
                    created=token.created,
                    expires=token.expires,
                    used=None,
                )
            )
            what = f"token made: {token.label}"
            self.note(session, who, token.account, what, address, keys=keys)

    def token_of(self, digest: str) -> Token | None:
        """Return the token, unless it ran out, and note that it was used."""
        now = self.now()
        with self.store.reading() as session:
            row = session.get(TokenTable, digest)
            if row is None or now >= row.expires:
                return None
            found = _token(row)
        if found.used is None or now - found.used >= NOTED:
            self._used(TokenTable, digest, used=now)
        return found

    def tokens(self, account: str) -> list[Token]:
        """Return the tokens of an account, newest first."""
        wanted = select(TokenTable).where(TokenTable.account == account)
        with self.store.reading() as session:
            rows = session.scalars(wanted.order_by(TokenTable.created.desc(), TokenTable.handle))
            return [_token(row) for row in rows]

    def revoke_token(self, account: str, handle: str, *, who: str, address: str) -> bool:
        """Take a token away; False if the account has none of this handle."""
        with self.writing() as session:
            row = session.scalar(select(TokenTable).where(TokenTable.handle == handle))
            if row is None or row.account != account:
                return False
            label, keys = row.label, Changes(session)
            keys.take([row])
            self.note(session, who, account, f"token revoked: {label}", address, keys=keys)
            return True

    # -- links

    def add_link(
        self, digest: str, account: str, expires: datetime, *, who: str, address: str
    ) -> None:
        """Keep a link to set a password; earlier ones no longer work."""
        with self.writing() as session:
            keys = Changes(session)
            keys.take(session.scalars(select(LinkTable).where(LinkTable.account == account)))
            keys.add(LinkTable(digest=digest, account=account, expires=expires))
            self.note(session, who, account, "link to set a password made", address, keys=keys)

    def link_of(self, digest: str) -> str | None:
        """Return the account that a link belongs to, unless it ran out or was used."""
        with self.store.reading() as session:
            row = session.get(LinkTable, digest)
            return row.account if row is not None and self.now() < row.expires else None

    # -- failed attempts

    def claim_attempt(self, allowed: Mapping[str, Allowed]) -> int:
        """Count an attempt under each key before it is tried; return the seconds to wait, or 0.

        Counting first keeps many attempts at the same time from being more than the allowed.
        An attempt that has to wait is not counted.
        """
        now = self.now()
        with self.writing() as session:
            keys = Changes(session)
            keys.take(session.scalars(select(FailureTable).where(FailureTable.last < now - FORGET)))
            rows = {key: session.get(FailureTable, key) for key in allowed}
            wait = max(_wait(rows[key], most, now) for key, most in allowed.items())
            if wait == 0:
                for key, row in rows.items():
                    if row is None:
                        salt = secrets.token_hex(16)
                        keys.add(FailureTable(key=key, count=1, last=now, salt=salt))
                    else:
                        keys.count(row, 1, now)
            if keys.told:
                self.note(session, "", "", COUNTED, keys=keys)
            return wait

    def longest_wait(self, start: str, each: Allowed, alone: Allowed) -> int:
        """Return the seconds until an attempt counts again under the key *start* or one below it.

        *alone* is allowed under the key itself, *each* under those that begin with it and a space.
        """
        now = self.now()
        with self.store.reading() as session:
            below = session.scalars(select(FailureTable).where(_below(start)))
            waits = [_wait(row, each, now) for row in below]
            return max((_wait(session.get(FailureTable, start), alone, now), *waits))

    def forgive(self, *, whole: str, one: Iterable[str] = ()) -> None:
        """Forget all attempts under the key *whole*, and one of those under each of *one*."""
        with self.writing() as session:
            keys = Changes(session)
            keys.take(session.scalars(select(FailureTable).where(FailureTable.key == whole)))
            for key in one:
                row = session.get(FailureTable, key)
                if row is not None:
                    keys.count(row, -1)
            if keys.told:
                self.note(session, "", "", FORGIVEN, keys=keys)

    def forgive_all(self, start: str) -> None:
        """Forget all attempts under the key *start* and under those below it."""
        with self.writing() as session:
            mine = (FailureTable.key == start) | _below(start)
            keys = Changes(session)
            if keys.take(session.scalars(select(FailureTable).where(mine))):
                self.note(session, "", "", FORGIVEN, keys=keys)


def _below(start: str) -> ColumnElement[bool]:
    return FailureTable.key.startswith(f"{start} ", autoescape=True)


def _wait(row: FailureTable | None, allowed: Allowed, now: datetime) -> int:
    """Return the seconds left; the pause doubles with each failure beyond what is allowed."""
    if row is None or row.count < allowed.most:
        return 0
    pause = min(allowed.first * 2 ** min(row.count - allowed.most, 16), allowed.longest)
    left = (row.last + timedelta(seconds=pause) - now).total_seconds()
    return max(0, -int(-left // 1))


def _signed_in(row: SessionTable) -> SignedIn:
    return SignedIn(row.handle, row.account, row.begun, row.seen, row.browser, row.address)


def _token(row: TokenTable) -> Token:
    scopes = frozenset(row.scopes.split())
    return Token(row.handle, row.account, row.label, scopes, row.created, row.expires, row.used)
