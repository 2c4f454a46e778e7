"""Which names and passwords are accepted.

A password is long enough, is not made of one's own name, and is hard to guess: the guesses that an
attacker with lists of passwords, words and rows of the keyboard would need are estimated (zxcvbn).
"""

from __future__ import annotations

import re
import unicodedata

from leastwise.api.identity.errors import AccountError
from leastwise.api.roles import Role

__all__ = ["LONGEST", "SHORTEST", "checked_name", "checked_password", "checked_role", "plain"]

SHORTEST, LONGEST = 12, 256
NAME = re.compile(r"[a-z0-9][a-z0-9._@-]{1,47}")
#: Names that stand for somebody else in the events, such as the owner of a personal machine.
TAKEN = frozenset({"me", "nobody", "console"})
#: Words that everybody here would try first.
EXPECTED = ("leastwise", "conservator", "conservation", "textile", "textiles", "costume", "museum")
#: From this score on some 100 million guesses aren't enough (zxcvbn, Wheeler 2016).
LEAST_SCORE = 3
#: So much of a password is judged; what comes after can only make it harder to guess.
JUDGED = 72


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
            "Expected a name of 2 to 48 letters a to z, figures and . _ @ -, beginning with a "
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
    raise AccountError("role", f"Expected one of: {', '.join(roles)}.")


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
    _refuse_guessable(password, (name, *full_name.split()))
    return password


def _refuse_guessable(password: str, own: tuple[str, ...]) -> None:
    from zxcvbn import zxcvbn  # noqa: PLC0415 - reads its lists of words, and only for this

    judged = zxcvbn(password[:JUDGED], user_inputs=[*own, *EXPECTED])
    if judged["score"] < LEAST_SCORE:
        why = judged["feedback"]["warning"] or "It is close to what is tried first."
        raise AccountError(
            "password",
            f"This password is easy to guess. {why} Three words or more that have nothing to do "
            "with each other are hard to guess.",
        )
