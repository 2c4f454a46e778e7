"""A small sign-in service that speaks OpenID Connect, and can be told to lie."""

from __future__ import annotations

import base64
import hashlib
import secrets
import time
from collections.abc import Callable
from typing import Any
from urllib.parse import urlencode

from fastapi import FastAPI, Form, HTTPException, Request
from fastapi.responses import JSONResponse, RedirectResponse
from joserfc import jwt
from joserfc.jwk import RSAKey

__all__ = ["CLIENT", "SECRET", "Service"]

CLIENT, SECRET = "leastwise-of-the-museum", "a secret of the museum"


class Service:
    """One sign-in service. *spoil* changes the claims of the next tokens; *key* signs them."""

    def __init__(self) -> None:
        self.issuer = ""
        self.person: dict[str, Any] = {
            "sub": "248289",
            "preferred_username": "Anna.Berg",
            "name": "Anna Berg",
            "email": "anna@museum.example",
        }
        self.spoil: Callable[[dict[str, Any]], None] = lambda claims: None
        self.published = RSAKey.generate_key(2048, {"kid": "one", "use": "sig"})
        self.key = self.published
        self.sign = self.signed
        self.codes: dict[str, dict[str, str]] = {}
        self.app = FastAPI()
        self.app.get("/.well-known/openid-configuration")(self.describe)
        self.app.get("/keys")(self.keys)
        self.app.get("/authorize")(self.authorize)
        self.app.post("/token")(self.token)

    def describe(self) -> dict[str, Any]:
        return {
            "issuer": self.issuer,
            "authorization_endpoint": f"{self.issuer}/authorize",
            "token_endpoint": f"{self.issuer}/token",
            "jwks_uri": f"{self.issuer}/keys",
        }

    def keys(self) -> dict[str, Any]:
        return {"keys": [self.published.as_dict(private=False)]}

    def authorize(self, request: Request) -> RedirectResponse:
        """Let the person in at once and send the browser back with a code."""
        asked = dict(request.query_params)
        if asked.get("client_id") != CLIENT or asked.get("code_challenge_method") != "S256":
            raise HTTPException(400, "an unknown client, or no PKCE")
        code = secrets.token_urlsafe(16)
        self.codes[code] = asked
        back = {"code": code, "state": asked["state"], "iss": self.issuer}
        return RedirectResponse(f"{asked['redirect_uri']}?{urlencode(back)}", 302)

    def token(
        self,
        request: Request,
        code: str = Form(),
        redirect_uri: str = Form(),
        code_verifier: str = Form(),
    ) -> Any:
        """Give an identity token for a code, once."""
        asked = self.codes.pop(code, None)
        digest = hashlib.sha256(code_verifier.encode()).digest()
        challenge = base64.urlsafe_b64encode(digest).decode().rstrip("=")
        basic = base64.b64encode(f"{CLIENT}:{SECRET}".encode()).decode()
        if (
            asked is None
            or asked["code_challenge"] != challenge
            or asked["redirect_uri"] != redirect_uri
            or request.headers.get("authorization") != f"Basic {basic}"
        ):
            return JSONResponse({"error": "invalid_grant"}, 400)
        now = int(time.time())
        claims = {
            "iss": self.issuer,
            "aud": CLIENT,
            "iat": now,
            "exp": now + 300,
            "nonce": asked["nonce"],
            **self.person,
        }
        self.spoil(claims)
        return {"access_token": "x", "token_type": "Bearer", "id_token": self.sign(claims)}

    def signed(self, claims: dict[str, Any]) -> str:
        """Return a token that is signed as it should be."""
        return jwt.encode({"alg": "RS256", "kid": "one"}, claims, self.key)
