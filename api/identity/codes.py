"""Codes at sign-in: six figures that change every 30 seconds (RFC 6238), and recovery codes.

The codes are the ones of pyotp, with what authenticator apps take for granted: HMAC-SHA-1, six
figures, 30 seconds. The drawing is the one of segno.
"""

from __future__ import annotations

import base64
import hmac
import re
import secrets
from datetime import datetime

import pyotp
import segno

from leastwise.api.identity.rules import plain
from leastwise.api.identity.secret import digest

__all__ = [
    "ISSUER",
    "STEP_S",
    "address_of",
    "drawing",
    "grouped",
    "is_code",
    "new_recovery_codes",
    "new_seed",
    "recovery_digest",
    "step_of",
]

#: How the app of a person names this service.
ISSUER = "Leastwise"
STEP_S, RECOVERY_CODES = 30, 10
#: A clock may be so many steps fast or slow (RFC 6238, section 5.2, recommends one at the most).
SLACK = 1
_CODE, _RECOVERY = re.compile("[0-9]{6}"), re.compile("[a-z2-7]{24}")


def new_seed() -> str:
    """Return a new secret of 160 random bits in base 32 (RFC 4226, section 4, R6)."""
    return pyotp.random_base32(32)


def step_of(seed: str, given: str, now: datetime, after: int) -> int | None:
    """Return the step of time that a code belongs to, or None where it doesn't fit.

    *after* is the step of the last code accepted: that one and those before it fit no more.
    """
    code = _bare(given)
    if not _CODE.fullmatch(code):
        return None
    made, middle = pyotp.TOTP(seed, interval=STEP_S), int(now.timestamp()) // STEP_S
    for step in range(max(middle - SLACK, after + 1), middle + SLACK + 1):
        if hmac.compare_digest(made.generate_otp(step), code):
            return step
    return None


def is_code(given: str) -> bool:
    """Return whether a text has the form of a code of the app."""
    return _CODE.fullmatch(_bare(given)) is not None


def address_of(seed: str, account: str) -> str:
    """Return the address that an app reads from the drawing."""
    return pyotp.TOTP(seed, interval=STEP_S).provisioning_uri(name=account, issuer_name=ISSUER)


def drawing(address: str) -> str:
    """Return an address as a QR code (ISO/IEC 18004), in SVG to stand within a page."""
    made = segno.make(address, error="m", micro=False)
    title = "QR code of the secret that is written out below"
    return made.svg_inline(scale=4, light="#fff", title=title)


def grouped(secret: str) -> str:
    """Return a secret in groups of four, to be read and typed."""
    return " ".join(secret[at : at + 4] for at in range(0, len(secret), 4))


def new_recovery_codes() -> tuple[str, ...]:
    """Return codes of 120 random bits each, as they are shown once."""
    made = (base64.b32encode(secrets.token_bytes(15)).decode() for _ in range(RECOVERY_CODES))
    return tuple(grouped(one.casefold()).replace(" ", "-") for one in made)


def recovery_digest(given: str) -> str:
    """Return what is kept of a recovery code; an empty text where it has not the form of one."""
    code = _bare(given)
    return digest(code) if _RECOVERY.fullmatch(code) else ""


def _bare(given: str) -> str:
    """Return a code without case, spaces and hyphens."""
    return re.sub(r"[\s-]", "", plain(given[:200])).casefold()
