"""The lock with back-off: attempts counted per account and per address.

After five failures in a name the next attempt counts only after 30 seconds, doubling with each
failure up to an hour; for an address after twenty, since a whole house may share one. Names that
no account has are counted alike, so that the lock tells nothing. Kept are digests of the names:
some people type their password where the name belongs.
"""

from __future__ import annotations

import ipaddress

from leastwise.api.identity.errors import TooManyError
from leastwise.api.identity.secret import digest
from leastwise.api.store.accounts.store import AccountStore

__all__ = ["PER_ADDRESS", "PER_NAME", "claim", "lift", "succeed", "wait_of"]

PER_NAME, PER_ADDRESS = 5, 20


def claim(accounts: AccountStore, name: str, address: str) -> None:
    """Count an attempt before it is tried.

    Raises:
        TooManyError: there were too many; this one isn't tried.

    """
    wait = accounts.claim_attempt({_name(name): PER_NAME, _address(address): PER_ADDRESS})
    if wait:
        raise TooManyError(wait)


def succeed(accounts: AccountStore, name: str, address: str) -> None:
    """Forget the failures of a name, and of its address this one attempt."""
    accounts.forgive(whole=_name(name), one=_address(address))


def lift(accounts: AccountStore, name: str) -> None:
    """Lift the lock of a name."""
    accounts.forgive(whole=_name(name))


def wait_of(accounts: AccountStore, name: str) -> int:
    """Return the seconds for which a name is locked."""
    return accounts.waits(_name(name), PER_NAME)


def _name(name: str) -> str:
    return f"name {digest(name)}"


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
