"""Failed attempts to sign in: who waits, and who doesn't.

Attempts are counted for a name at an address: after five failures the next one counts only after
30 seconds, doubling with each failure up to an hour. A stranger can so keep nobody out who comes
from elsewhere, and nobody at all whose browser has signed in before: such a browser carries a mark
and is counted by itself. Over all addresses a name, and over all names an address, only slow down:
after many failures the next attempt waits for a minute, or for five seconds, and never longer.

Names that no account has are counted alike, so that the waiting tells nothing. Kept are digests of
the names: some people type their password where the name belongs.
"""

from __future__ import annotations

import hashlib
import hmac
import ipaddress

from leastwise.api.identity.errors import TooManyError
from leastwise.api.identity.secret import digest, new_handle
from leastwise.api.store.accounts.keys import Allowed
from leastwise.api.store.accounts.store import AccountStore

__all__ = [
    "AT_AN_ADDRESS",
    "FROM_AN_ADDRESS",
    "IN_A_NAME",
    "claim",
    "claim_code",
    "code_wait_of",
    "forgive_codes",
    "lift",
    "mark_of",
    "succeed",
    "wait_of",
]

#: Failures of a name at an address, of a name anywhere, and from an address in any names.
AT_AN_ADDRESS = Allowed(5, first=30, longest=3600)
IN_A_NAME = Allowed(50, first=60, longest=60)
FROM_AN_ADDRESS = Allowed(100, first=5, longest=5)


def claim(accounts: AccountStore, name: str, address: str, mark: str = "") -> None:
    """Count an attempt before it is tried; *mark* is what the browser carries.

    Raises:
        TooManyError: there were too many; this one isn't tried.

    """
    if _is_known(accounts, name, mark):
        counted = {_browser(mark): AT_AN_ADDRESS}
    else:
        counted = {
            _pair(name, address): AT_AN_ADDRESS,
            _name(name): IN_A_NAME,
            _address(address): FROM_AN_ADDRESS,
        }
    wait = accounts.claim_attempt(counted)
    if wait:
        raise TooManyError(wait)


def succeed(accounts: AccountStore, name: str, address: str, mark: str = "") -> None:
    """Forget the failures of a name at an address, and of either alone this one attempt."""
    if _is_known(accounts, name, mark):
        accounts.forgive(whole=_browser(mark))
    else:
        accounts.forgive(whole=_pair(name, address), one=(_name(name), _address(address)))


def claim_code(accounts: AccountStore, name: str, address: str) -> None:
    """Count an attempt at the code of an account before it is tried.

    Only who has shown the password comes so far, so a stranger can keep nobody out here: a name
    waits up to an hour over all addresses too, and no browser is let pass for its mark.

    Raises:
        TooManyError: there were too many; this one isn't tried.

    """
    wait = accounts.claim_attempt({_code(name): AT_AN_ADDRESS, _address(address): FROM_AN_ADDRESS})
    if wait:
        raise TooManyError(wait)


def forgive_codes(accounts: AccountStore, name: str, address: str) -> None:
    """Forget the wrong codes of an account, and of its address this one attempt."""
    accounts.forgive(whole=_code(name), one=(_address(address),))


def code_wait_of(accounts: AccountStore, name: str) -> int:
    """Return the seconds until a code of an account can be tried again."""
    return accounts.longest_wait(_code(name), AT_AN_ADDRESS, AT_AN_ADDRESS)


def lift(accounts: AccountStore, name: str) -> None:
    """Let a name and its codes be tried again at once, from everywhere."""
    accounts.forgive_all(_name(name))
    accounts.forgive_all(_code(name))


def wait_of(accounts: AccountStore, name: str) -> int:
    """Return the seconds until a name can be tried again where it has to wait longest."""
    return accounts.longest_wait(_name(name), AT_AN_ADDRESS, IN_A_NAME)


def mark_of(accounts: AccountStore, name: str) -> str:
    """Return a new mark for a browser that has signed in with a password.

    Nothing is kept of it: it is sealed with the hash of the password, so that it means nothing any
    more once the password is changed.
    """
    begun = new_handle()
    return f"{begun}.{_seal(accounts.password(name), name, begun)}"


def _is_known(accounts: AccountStore, name: str, mark: str) -> bool:
    begun, _, seal = mark.partition(".")
    password = accounts.password(name) if seal else ""
    return bool(password) and hmac.compare_digest(
        seal.encode("utf-8", "replace"), _seal(password, name, begun).encode()
    )


def _seal(password: str, name: str, begun: str) -> str:
    said = f"browser of {name}, {begun}".encode("utf-8", "replace")
    return hmac.new(password.encode(), said, hashlib.sha256).hexdigest()


def _name(name: str) -> str:
    return f"name {digest(name)[:32]}"


def _code(name: str) -> str:
    return f"code {digest(name)[:32]}"


def _pair(name: str, address: str) -> str:
    return f"{_name(name)} {digest(_address(address))[:32]}"


def _browser(mark: str) -> str:
    return f"browser {digest(mark)[:32]}"


def _address(address: str) -> str:
    """Return the key of an address; of IPv6 the network that one house has (RFC 6177)."""
    try:
        found = ipaddress.ip_address(address.partition("%")[0])
    except ValueError:
        return f"address {digest(address)}"
    if isinstance(found, ipaddress.IPv6Address):
        if found.ipv4_mapped:
            return f"address {found.ipv4_mapped}"
        return f"address {ipaddress.ip_network((found, 64), strict=False)}"
    return f"address {found}"
