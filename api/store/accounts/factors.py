"""The second factor of an account in the store: its secret, the codes used, recovery codes."""

from __future__ import annotations

from collections.abc import Iterable

from sqlalchemy import func, select
from sqlalchemy.orm import Session

from leastwise.api.store.accounts.events import USED, Ledger
from leastwise.api.store.accounts.held import Changes
from leastwise.api.store.accounts.records import Factor
from leastwise.api.store.accounts.tables import FactorTable, RecoveryTable, SessionTable

__all__ = ["Factors"]


class Factors(Ledger):
    """Second factors. A code is accepted in the order of time, so that none is accepted twice."""

    def factor(self, account: str) -> Factor | None:
        """Return the second factor of an account, also one of which no code was shown yet."""
        with self.store.reading() as session:
            row = session.get(FactorTable, account)
            if row is None:
                return None
            return Factor(row.secret, row.since, row.step, _left(session, account))

    def has_factor(self, account: str) -> bool:
        """Return whether an account asks for a code at sign-in."""
        with self.store.reading() as session:
            row = session.get(FactorTable, account)
            return row is not None and row.since is not None

    def begin_factor(self, account: str, secret: str, *, address: str) -> bool:
        """Keep the secret of a second factor that doesn't count yet; False if one is on."""
        with self.writing() as session:
            row, keys = session.get(FactorTable, account), Changes(session)
            if row is not None and row.since is not None:
                return False
            keys.take([row] if row is not None else [])
            keys.add(
                FactorTable(account=account, secret=secret, begun=self.now(), since=None, step=0)
            )
            self.note(session, account, account, "second factor begun", address, keys=keys)
            return True

    def switch_factor_on(  # noqa: PLR0913 - one argument for each thing that is told
        self, account: str, secret: str, step: int, codes: Iterable[str], *, but: str, address: str
    ) -> bool:
        """Let a second factor count once a code of it was shown, that of the time *step*.

        *codes* are digests of recovery codes. All sessions end, *but* the one of this handle.
        False if the secret was replaced meanwhile, or was switched on.
        """
        with self.writing() as session:
            row, keys = session.get(FactorTable, account), Changes(session)
            if row is None or row.secret != secret or row.since is not None:
                return False
            keys.alter(row, since=self.now(), step=step)
            _renew_codes(session, keys, account, codes)
            mine = select(SessionTable).where(SessionTable.account == account)
            keys.take(session.scalars(mine.where(SessionTable.handle != but)))
            self.note(session, account, account, "second factor switched on", address, keys=keys)
            return True

    def use_step(self, account: str, secret: str, step: int) -> bool:
        """Keep that the code of a time was used; False if it or a later one was used before."""
        with self.writing() as session:
            row, keys = session.get(FactorTable, account), Changes(session)
            if row is None or row.secret != secret or step <= row.step:
                return False
            keys.alter(row, step=step)
            self.note(session, account, account, USED, keys=keys)
            return True

    def use_recovery(self, account: str, digest: str, *, address: str) -> bool:
        """Take a recovery code away, since it is used now; False if the account has none such."""
        with self.writing() as session:
            row, keys = session.get(RecoveryTable, digest), Changes(session)
            if row is None or row.account != account:
                return False
            keys.take([row])
            what = f"recovery code used; {_left(session, account)} left"
            self.note(session, account, account, what, address, keys=keys)
            return True

    def renew_recovery(self, account: str, codes: Iterable[str], *, address: str) -> bool:
        """Keep digests of new recovery codes in place of all earlier; False without a factor."""
        with self.writing() as session:
            row, keys = session.get(FactorTable, account), Changes(session)
            if row is None or row.since is None:
                return False
            _renew_codes(session, keys, account, codes)
            self.note(session, account, account, "new recovery codes made", address, keys=keys)
            return True

    def take_factor(self, account: str, *, who: str, address: str = "") -> bool:
        """Switch a second factor off and take its recovery codes away; False if there is none."""
        with self.writing() as session:
            row, keys = session.get(FactorTable, account), Changes(session)
            if row is None:
                return False
            what = "second factor switched off" if row.since else "second factor given up"
            keys.take([row])
            _renew_codes(session, keys, account, ())
            self.note(session, who, account, what, address, keys=keys)
            return True


def _renew_codes(session: Session, keys: Changes, account: str, codes: Iterable[str]) -> None:
    keys.take(session.scalars(select(RecoveryTable).where(RecoveryTable.account == account)))
    for one in codes:
        keys.add(RecoveryTable(digest=one, account=account))


def _left(session: Session, account: str) -> int:
    wanted = select(func.count()).where(RecoveryTable.account == account)
    return session.scalar(wanted) or 0
