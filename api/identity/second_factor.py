"""The second factor of an account: to switch it on, to be asked for it, to switch it off.

Between the password and the code a browser carries a sealed note of who has come so far. Nothing is
kept of it: the seal is made with the secret of the second factor and the hash of the password, so
that it means nothing any more once either is changed. It opens nothing but the page for the code.
"""

from __future__ import annotations

import hashlib
import hmac
from dataclasses import dataclass

from leastwise.api.identity import attempts, codes
from leastwise.api.identity.errors import AccountError, SignInError
from leastwise.api.identity.secret import new_handle
from leastwise.api.identity.signing_in import Place, begin, password_fits
from leastwise.api.store.accounts.records import Account, Factor
from leastwise.api.store.accounts.store import AccountStore

__all__ = [
    "HALF_WAY_S",
    "HalfWay",
    "code_fits",
    "half_way",
    "note_of",
    "offer",
    "renew_recovery",
    "sign_in_with_code",
    "switch_off",
    "switch_on",
]

#: So many seconds there are to type the code after the password.
HALF_WAY_S = 300
WRONG = (
    "This code is not right, or was used before. A new one is shown every 30 seconds; "
    "if none is accepted, look at the clock of your device."
)
OVER = "The time to type the code is over, or the second factor was changed. Begin again."


@dataclass(frozen=True, slots=True)
class HalfWay:
    """Who has shown a password, or was let in by the institution, and how."""

    account: str
    how: str


def note_of(accounts: AccountStore, come: HalfWay) -> str:
    """Return a sealed note of who has come half-way."""
    until = int(accounts.now().timestamp()) + HALF_WAY_S
    said = f"{come.account}|{come.how}|{until}|{new_handle()}"
    return f"{said}|{_seal(accounts, come.account, said)}"


def half_way(accounts: AccountStore, note: str) -> HalfWay | None:
    """Return who has come half-way by a note; None where it isn't ours, or its time is over."""
    said, _, seal = note.rpartition("|")
    name, _, rest = said.partition("|")
    how, _, rest = rest.partition("|")
    until = rest.partition("|")[0]
    if not seal or not until.isdecimal() or accounts.factor(name) is None:
        return None
    expected = _seal(accounts, name, said)
    if not hmac.compare_digest(seal.encode("utf-8", "replace"), expected.encode()):
        return None
    return HalfWay(name, how) if accounts.now().timestamp() < int(until) else None


def _seal(accounts: AccountStore, name: str, said: str) -> str:
    factor = accounts.factor(name)
    key = f"half-way {factor.secret if factor else ''} {accounts.password(name)}"
    return hmac.new(key.encode(), said.encode("utf-8", "replace"), hashlib.sha256).hexdigest()


def sign_in_with_code(accounts: AccountStore, note: str, given: str, place: Place) -> str:
    """Return the secret of a new session of somebody who has come half-way and shows a code.

    Raises:
        TooManyError: too many codes were wrong; this one was not tried.
        AccountError: the code is wrong or was used (field ``code``), or the note is over
            (field ``note``).
        SignInError: the account was switched off meanwhile.

    """
    come = half_way(accounts, note)
    account = accounts.account(come.account) if come else None
    if come is None or account is None:
        raise AccountError("note", OVER)
    if not account.active:
        raise SignInError("This account is switched off; ask an administrator.")
    if not code_fits(accounts, come.account, given, place):
        raise AccountError("code", WRONG)
    with_what = "code" if codes.is_code(given) else "recovery code"
    return begin(accounts, come.account, place, f"{come.how} and {with_what}")


def code_fits(accounts: AccountStore, name: str, given: str, place: Place) -> bool:
    """Return whether a code of the second factor, or a recovery code, is right; it is used then.

    Raises:
        TooManyError: too many codes were wrong; this one was not tried.

    """
    attempts.claim_code(accounts, name, place.address)
    factor = accounts.factor(name)
    if factor is None or factor.since is None:
        return False
    if not _is_used(accounts, name, factor, given, place):
        wait = attempts.code_wait_of(accounts, name)
        what = "wrong code" + (f"; codes locked for {wait} seconds" if wait else "")
        accounts.tell(name, name, what, place.address)
        return False
    attempts.forgive_codes(accounts, name, place.address)
    return True


def _is_used(accounts: AccountStore, name: str, factor: Factor, given: str, place: Place) -> bool:
    step = codes.step_of(factor.secret, given, accounts.now(), factor.step)
    if step is not None:
        return accounts.use_step(name, factor.secret, step)
    recovery = codes.recovery_digest(given)
    return bool(recovery) and accounts.use_recovery(name, recovery, address=place.address)


def offer(accounts: AccountStore, name: str, place: Place) -> None:
    """Make a secret that doesn't count before a code of it was shown.

    Raises:
        AccountError: a second factor is on already.

    """
    if not accounts.begin_factor(name, codes.new_seed(), address=place.address):
        raise AccountError("code", "The second factor is on already. Switch it off first.")


def switch_on(
    accounts: AccountStore, name: str, given: str, place: Place, *, session: str
) -> tuple[str, ...]:
    """Switch the second factor on and return its recovery codes, to be shown once.

    Every other browser is signed out; *session* is the handle of this one.

    Raises:
        TooManyError: too many codes were wrong.
        AccountError: the code is wrong, or no second factor was begun.

    """
    attempts.claim_code(accounts, name, place.address)
    factor = accounts.factor(name)
    if factor is None or factor.since is not None:
        raise AccountError("code", "Begin again: there is no second factor to switch on.")
    step = codes.step_of(factor.secret, given, accounts.now(), factor.step)
    if step is None:
        raise AccountError("code", WRONG)
    made = codes.new_recovery_codes()
    digests = [codes.recovery_digest(one) for one in made]
    if not accounts.switch_factor_on(
        name, factor.secret, step, digests, but=session, address=place.address
    ):
        raise AccountError("code", "It was begun anew elsewhere meanwhile; begin again.")
    attempts.forgive_codes(accounts, name, place.address)
    return made


def renew_recovery(
    accounts: AccountStore, account: Account, password: str, given: str, place: Place
) -> tuple[str, ...]:
    """Return new recovery codes, to be shown once; all earlier ones end.

    Raises:
        TooManyError: too many attempts failed.
        AccountError: password or code is wrong.

    """
    _check_both(accounts, account, password, given, place)
    made = codes.new_recovery_codes()
    digests = [codes.recovery_digest(one) for one in made]
    if not accounts.renew_recovery(account.name, digests, address=place.address):
        raise AccountError("code", "The second factor was switched off meanwhile.")
    return made


def switch_off(
    accounts: AccountStore, account: Account, password: str, given: str, place: Place
) -> None:
    """Switch the second factor off.

    Raises:
        TooManyError: too many attempts failed.
        AccountError: password or code is wrong.

    """
    _check_both(accounts, account, password, given, place)
    accounts.take_factor(account.name, who=account.name, address=place.address)


def _check_both(
    accounts: AccountStore, account: Account, password: str, given: str, place: Place
) -> None:
    if account.has_password and not password_fits(accounts, account.name, password, place):
        raise AccountError("old", "This is not your password.")
    if not code_fits(accounts, account.name, given, place):
        raise AccountError("code", WRONG)
