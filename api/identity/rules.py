"""Which names and passwords are accepted.

The rules for passwords are our own and hold no list: long enough, not the name, not one thing
repeated, not a way along the keyboard. Length is what counts most.
"""

from __future__ import annotations

import re
import unicodedata
from itertools import pairwise

from leastwise.api.identity.errors import AccountError
from leastwise.api.roles import Role

__all__ = ["LONGEST", "SHORTEST", "checked_name", "checked_password", "checked_role", "plain"]

SHORTEST, LONGEST = 12, 256
NAME = re.compile(r"[a-z0-9][a-z0-9._@-]{1,47}")
#: Names that stand for somebody else in the events, such as the owner of a personal machine.
TAKEN = frozenset({"me", "nobody", "console"})
ROWS = (
    "1234567890",
    "qwertyuiop",
    "qwertzuiop",
    "azertyuiop",
    "asdfghjkl",
    "qsdfghjklm",
    "zxcvbnm",
    "yxcvbnm",
    "wxcvbn",
    "abcdefghijklmnopqrstuvwxyz",
)
NEIGHBOURS = frozenset(
    pair for row in ROWS for one in pairwise(row) for pair in (one, one[::-1])
) | {("0", "1"), ("1", "0"), ("9", "0"), ("0", "9")}


def plain(text: str) -> str:
    """Return a text in the form in which two ways to type the same are the same (NFKC)."""
    return unicodedata.normalize("NFKC", text)


def checked_name(given: str) -> str:
    """Return a name as it is kept: without case.

    Raises:
        AccountError: the name has other characters, or stands for somebody else.

    """
    name = plain(given).strip().casefold()
    if not NAME.fullmatch(name) or name in TAKEN:
        raise AccountError(
            "name",
            "Accepted is a name of 2 to 48 letters a to z, figures and . _ @ -, beginning with a "
            f"letter or a figure; not {' or '.join(sorted(TAKEN))}.",
        )
    return name


def checked_role(given: str) -> Role:
    """Return a role by its name.

    Raises:
        AccountError: there is no such role to be given.

    """
    roles = [role for role in Role if role is not Role.NOBODY]
    wanted = given.strip().casefold().replace("-", " ").replace("_", " ")
    for role in roles:
        if role == wanted:
            return role
    raise AccountError("role", f"Accepted is one of: {', '.join(roles)}.")


def checked_password(given: str, name: str, full_name: str = "") -> str:
    """Return a password that may be used for the account *name*.

    Raises:
        AccountError: the sentence says what to do otherwise.

    """
    password = plain(given)
    if not SHORTEST <= len(password) <= LONGEST:
        raise AccountError(
            "password", f"Use {SHORTEST} to {LONGEST} characters; several words are good."
        )
    folded = password.casefold()
    rest = folded
    for word in (name.casefold(), *full_name.casefold().split()):
        if len(word) > 2:
            rest = rest.replace(word, "")
    if len(rest) < 8:
        raise AccountError("password", "Don't build the password from your own name.")
    if len(set(folded)) < 5 or _is_repeated(folded):
        raise AccountError("password", "Don't repeat the same few characters.")
    breaks = sum((a, b) not in NEIGHBOURS and a != b for a, b in pairwise(folded))
    if breaks < 3:
        raise AccountError("password", "Don't follow the rows of the keyboard or the alphabet.")
    return password


def _is_repeated(text: str) -> bool:
    """Return whether a text is one short piece again and again."""
    return any((text[:size] * (len(text) // size + 1))[: len(text)] == text for size in range(1, 7))
