"""Secrets handed out: 256 random bits each; the store keeps their SHA-256 only."""

from __future__ import annotations

import hashlib
import hmac
import secrets

__all__ = ["TOKEN_PREFIX", "digest", "form_token_of", "new_handle", "new_secret", "new_token"]

#: Lets a person or a scanner see what a leaked string is.
TOKEN_PREFIX = "lwt_"  # noqa: S105 - a prefix, not a secret


def new_secret() -> str:
    """Return a secret of 256 random bits."""
    return secrets.token_urlsafe(32)


def new_token() -> str:
    """Return a token for a program."""
    return TOKEN_PREFIX + new_secret()


def new_handle() -> str:
    """Return a name for a session or token that may be shown."""
    return secrets.token_hex(8)


def digest(secret: str) -> str:
    """Return what the store keeps of a secret; it is random, so no salt is needed."""
    return hashlib.sha256(secret.encode("utf-8", "surrogatepass")).hexdigest()


def form_token_of(session: str) -> str:
    """Return the token that forms of a session carry; nobody without the session can make it."""
    return hmac.new(session.encode(), b"forms of this session", hashlib.sha256).hexdigest()
