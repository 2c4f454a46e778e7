"""Signing in at the institution: OpenID Connect, authorization code with PKCE.

OpenID Connect Core 1.0, section 3.1, and Discovery 1.0; PKCE is RFC 7636, the check of the issuer
in the answer RFC 9207. An identity token is believed only if the service signed it, for us, in
answer to this very request, and if it hasn't run out.
"""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

import httpx
from authlib.common.errors import AuthlibBaseError
from authlib.integrations.httpx_client import OAuth2Client
from joserfc import jwt
from joserfc.errors import JoseError
from joserfc.jwk import KeySet

from leastwise.api.addresses import is_loopback
from leastwise.api.identity.errors import SignInError
from leastwise.api.identity.secret import new_secret
from leastwise.api.settings import OidcSettings

__all__ = ["Identity", "Provider", "Request", "Unreachable"]

#: Signatures with a public key; a shared secret or none would let others make tokens.
ALGORITHMS = ("RS256", "RS384", "RS512", "PS256", "PS384", "PS512", "ES256", "ES384", "EdDSA")
LEEWAY, KEPT_FOR, TIMEOUT = 60, 3600.0, 10.0
WANTED = "openid profile email"


class Unreachable(SignInError):  # noqa: N818 - reads as what happened
    """The service can't be asked; not the person's fault."""


@dataclass(frozen=True, slots=True)
class Request:
    """What a browser takes along to the service and brings back."""

    url: str
    state: str
    nonce: str
    verifier: str


@dataclass(frozen=True, slots=True)
class Identity:
    """Who somebody is, by the word of the service; *issuer* and *subject* are the key."""

    issuer: str
    subject: str
    name: str  # what the service calls the account, a hint only
    full_name: str
    roles: tuple[str, ...]


class Provider:
    """One sign-in service; its description and keys are fetched when they are needed."""

    def __init__(self, settings: OidcSettings, clock: Callable[[], float] = time.time) -> None:
        self.settings = settings
        self._clock = clock
        self._lock = threading.Lock()
        self._told: tuple[float, dict[str, Any]] | None = None
        self._keys: KeySet | None = None

    def request(self, back: str) -> Request:
        """Return where to send a browser that comes back to the address *back*.

        Raises:
            Unreachable: the service doesn't answer as it should.

        """
        verifier, nonce, state = new_secret() + new_secret(), new_secret(), new_secret()
        with self._client(back) as client:
            url, _ = client.create_authorization_url(
                self._description()["authorization_endpoint"],
                state=state,
                nonce=nonce,
                code_verifier=verifier,
            )
        return Request(url, state, nonce, verifier)

    def identity(self, code: str, issuer: str, request: Request, back: str) -> Identity:
        """Return who came back with a code.

        *issuer* is the parameter ``iss`` of the answer, or empty.

        Raises:
            Unreachable: the service doesn't answer as it should.
            SignInError: what it answers can't be believed.

        """
        told = self._description()
        if issuer and issuer != self.settings.issuer:
            raise SignInError("The answer comes from another sign-in service.")
        try:
            with self._client(back) as client:
                given = client.fetch_token(
                    told["token_endpoint"], code=code, code_verifier=request.verifier
                )
        except (AuthlibBaseError, httpx.HTTPStatusError) as error:
            raise SignInError("The sign-in service did not accept the code; try again.") from error
        except (httpx.HTTPError, ValueError) as error:
            raise Unreachable(f"The sign-in service does not answer ({error}).") from error
        claims = self._claims(str(given.get("id_token", "")), request.nonce)
        return Identity(
            self.settings.issuer,
            claims["sub"],
            _text(claims, "preferred_username") or _text(claims, "email"),
            _text(claims, "name"),
            self._roles(claims),
        )

    def _client(self, back: str) -> OAuth2Client:
        return OAuth2Client(
            self.settings.client,
            self.settings.secret or None,
            token_endpoint_auth_method="client_secret_basic" if self.settings.secret else "none",
            scope=WANTED,
            redirect_uri=back,
            code_challenge_method="S256",
            timeout=TIMEOUT,
        )

    def _claims(self, token: str, nonce: str) -> dict[str, Any]:
        """Return what a token says, if all of it can be believed."""
        try:
            claims = dict(self._decoded(token))
            self._registry(nonce).validate(claims)
        except (JoseError, ValueError, TypeError) as error:
            raise SignInError(f"The identity can't be believed: {_why(error)}.") from error
        audience = claims["aud"]
        alone = audience in (self.settings.client, [self.settings.client])
        if (not alone or "azp" in claims) and claims.get("azp") != self.settings.client:
            raise SignInError("The identity can't be believed: it was meant for somebody else.")
        if not 1 <= len(claims["sub"]) <= 255:
            raise SignInError("The identity can't be believed: it has no usable subject.")
        return claims

    def _registry(self, nonce: str) -> jwt.JWTClaimsRegistry:
        return jwt.JWTClaimsRegistry(
            now=lambda: int(self._clock()),
            leeway=LEEWAY,
            iss={"essential": True, "value": self.settings.issuer},
            aud={"essential": True, "value": self.settings.client},
            nonce={"essential": True, "value": nonce},
            exp={"essential": True},
            iat={"essential": True},
            sub={"essential": True},
        )

    def _decoded(self, token: str) -> dict[str, Any]:
        if not token:
            raise ValueError("no identity was sent")
        for fresh in (False, True):  # a new key of the service is fetched once
            try:
                return jwt.decode(token, self._key_set(fresh=fresh), algorithms=ALGORITHMS).claims
            except (JoseError, ValueError):
                if fresh:
                    raise
        raise AssertionError

    def _key_set(self, *, fresh: bool) -> KeySet:
        with self._lock:
            if self._keys is None or fresh:
                told = self._told_or_asked()
                self._keys = KeySet.import_key_set(_fetched(told["jwks_uri"]))  # type: ignore[arg-type]
            return self._keys

    def _description(self) -> dict[str, Any]:
        with self._lock:
            return self._told_or_asked()

    def _told_or_asked(self) -> dict[str, Any]:
        if self._told is None or self._clock() - self._told[0] > KEPT_FOR:
            base = self.settings.issuer.rstrip("/")
            told = _fetched(f"{base}/.well-known/openid-configuration")
            if told.get("issuer") != self.settings.issuer:
                raise Unreachable("The sign-in service calls itself by another name.")
            for name in ("authorization_endpoint", "token_endpoint", "jwks_uri"):
                _check_address(name, told.get(name))
            self._told = (self._clock(), told)
        return self._told[1]

    def _roles(self, claims: dict[str, Any]) -> tuple[str, ...]:
        said = claims.get(self.settings.role_claim) if self.settings.role_claim else None
        values = [said] if isinstance(said, str) else said if isinstance(said, list) else []
        named = dict(self.settings.roles)
        return tuple(named.get(one, "" if named else one) for one in values if isinstance(one, str))


def _fetched(url: str) -> dict[str, Any]:
    try:
        answer = httpx.get(url, timeout=TIMEOUT, follow_redirects=False)
        answer.raise_for_status()
        found = answer.json()
    except (httpx.HTTPError, ValueError) as error:
        raise Unreachable(f"The sign-in service does not answer ({error}).") from error
    if not isinstance(found, dict):
        raise Unreachable("The sign-in service does not describe itself as it should.")
    return found


def _check_address(name: str, given: object) -> None:
    parts = urlsplit(given) if isinstance(given, str) else None
    if parts is None or (parts.scheme != "https" and not is_loopback(parts.hostname or "")):
        raise Unreachable(f"The sign-in service gives no usable {name}.")


def _text(claims: dict[str, Any], name: str) -> str:
    said = claims.get(name)
    return said[:120] if isinstance(said, str) else ""


def _why(error: Exception) -> str:
    return str(error).partition(":")[2].strip() or type(error).__name__
