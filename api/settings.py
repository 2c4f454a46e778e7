"""One typed settings object, read from the environment; nobody else reads the environment."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from urllib.parse import urlsplit

from leastwise.api.addresses import is_loopback
from leastwise.api.roles import Role
from leastwise.graph.names import BASE, ENGLISH

__all__ = ["OidcSettings", "Settings"]

MEBIBYTE = 1024 * 1024


@dataclass(frozen=True, slots=True)
class OidcSettings:
    """A sign-in service that speaks OpenID Connect.

    Attributes:
        issuer: its address as it names itself (LEASTWISE_OIDC_ISSUER).
        client: the name under which it knows us (LEASTWISE_OIDC_CLIENT).
        secret: what it gave us to show (LEASTWISE_OIDC_SECRET, or in a file of that path).
        role_claim: claim that names roles (LEASTWISE_OIDC_ROLE_CLAIM), or empty: roles are ours.
        roles: value of that claim -> role (LEASTWISE_OIDC_ROLES, ``chief=reviewer,staff=reader``).
        first_role: role of an account made at the first sign-in (LEASTWISE_OIDC_FIRST_ROLE);
            ``none`` makes no account.

    """

    issuer: str
    client: str
    secret: str = ""
    role_claim: str = ""
    roles: tuple[tuple[str, str], ...] = ()
    first_role: str = "reader"


@dataclass(frozen=True, slots=True)
class Settings:
    """Where things lie and how much a door accepts.

    Attributes:
        cache: folder of the knowledge cache, or None to work without (LEASTWISE_CACHE; ``off``).
        overlays: a collection's own folders of Turtle (LEASTWISE_WITH, separated like PATH).
        max_body: bytes of a request body that are accepted (LEASTWISE_MAX_BODY).
        base: IRI base under which concepts are published (LEASTWISE_BASE).
        language: tag of the language that labels are shown in (LEASTWISE_LANG).
        store: where records are kept, as a SQLAlchemy URL (LEASTWISE_STORE; a path or a URL).
        shared: whether several people work here and have to sign in (``serve --shared``).
        secure_cookies: whether cookies travel over HTTPS only; so it is where people sign in.
        sparql_seconds: time of one query at /sparql (LEASTWISE_SPARQL_SECONDS).
        sparql_memory: MiB of address space of a query's process (LEASTWISE_SPARQL_MEMORY).
        sparql_rows: rows or triples of one result (LEASTWISE_SPARQL_ROWS).
        workers: processes that answer questions (``serve --workers``); 0 answers them in threads.
        work_seconds: time of one question (LEASTWISE_WORK_SECONDS).
        work_memory: MiB of address space of a process that answers (LEASTWISE_WORK_MEMORY).
        json_log: whether the log is lines of JSON with each request (LEASTWISE_LOG; ``json``).
        address: how the outside reaches the service (LEASTWISE_ADDRESS, https://…), or empty.
        oidc: the sign-in service of the institution, if there is one (LEASTWISE_OIDC_…).

    """

    cache: Path | None
    overlays: tuple[Path, ...] = ()
    max_body: int = 2 * MEBIBYTE
    base: str = BASE
    language: str = ENGLISH
    store: str = "sqlite://"
    shared: bool = False
    secure_cookies: bool = False
    sparql_seconds: int = 10
    sparql_memory: int = 2048
    sparql_rows: int = 10_000
    workers: int = 0
    work_seconds: int = 30
    work_memory: int = 3072
    json_log: bool = False
    address: str = ""
    oidc: OidcSettings | None = None

    @classmethod
    def from_environment(cls, env: Mapping[str, str] = os.environ) -> Settings:
        """Return the settings of an environment.

        Raises:
            ValueError: LEASTWISE_MAX_BODY is not a whole number above 0, or LEASTWISE_BASE does
                not end with / or #, or a limit of /sparql
                or of work is no number or too small; the text names
                the variable and what is accepted.

        """
        given = env.get("LEASTWISE_CACHE", "")
        overlays = env.get("LEASTWISE_WITH", "")
        body = env.get("LEASTWISE_MAX_BODY", str(2 * MEBIBYTE))
        base = env.get("LEASTWISE_BASE", BASE)
        if not body.isdigit() or int(body) < 1:
            raise ValueError(f"LEASTWISE_MAX_BODY: got {body!r}; expected bytes, above 0")
        if not base.endswith(("/", "#")) or "://" not in base:
            raise ValueError(f"LEASTWISE_BASE: got {base!r}; expected an IRI that ends with / or #")
        return cls(
            cache=None if given == "off" else Path(given) if given else _default_cache(env),
            overlays=tuple(Path(p) for p in overlays.split(os.pathsep) if p),
            max_body=int(body),
            base=base,
            language=env.get("LEASTWISE_LANG") or ENGLISH,
            store=_store_url(env),
            sparql_seconds=_amount(env, "LEASTWISE_SPARQL_SECONDS", "10", "seconds", 1),
            sparql_memory=_amount(env, "LEASTWISE_SPARQL_MEMORY", "2048", "MiB", 256),
            sparql_rows=_amount(env, "LEASTWISE_SPARQL_ROWS", "10000", "rows", 1),
            work_seconds=_amount(env, "LEASTWISE_WORK_SECONDS", "30", "seconds", 1),
            work_memory=_amount(env, "LEASTWISE_WORK_MEMORY", "3072", "MiB", 512),
            json_log=_is_json(env),
            address=_web_address(env, "LEASTWISE_ADDRESS"),
            oidc=_oidc(env),
        )


def _amount(env: Mapping[str, str], name: str, default: str, unit: str, least: int) -> int:
    given = env.get(name) or default
    if not given.isdecimal() or not given.isascii() or int(given) < least:
        raise ValueError(f"{name}: got {given!r}; expected a number of {unit} from {least} on")
    return int(given)


def _is_json(env: Mapping[str, str]) -> bool:
    given = env.get("LEASTWISE_LOG", "")
    if given not in ("", "text", "json"):
        raise ValueError(f"LEASTWISE_LOG: got {given!r}; expected text or json")
    return given == "json"


def _default_cache(env: Mapping[str, str]) -> Path:
    kept = env.get("XDG_CACHE_HOME") or env.get("LOCALAPPDATA")
    return (Path(kept) if kept else Path.home() / ".cache") / "leastwise"


def _store_url(env: Mapping[str, str]) -> str:
    given = env.get("LEASTWISE_STORE", "")
    if "://" in given:
        return given
    return f"sqlite:///{(Path(given) if given else _default_store(env)).absolute()}"


def _default_store(env: Mapping[str, str]) -> Path:
    kept = env.get("XDG_DATA_HOME") or env.get("APPDATA")
    folder = Path(kept) if kept else Path.home() / ".local" / "share"
    return folder / "leastwise" / "leastwise.sqlite"


def _web_address(env: Mapping[str, str], name: str) -> str:
    given = env.get(name, "").rstrip("/")
    if given and not given.startswith(("https://", "http://")):
        raise ValueError(f"{name}: got {given!r}; expected an address such as https://host.example")
    return given


def _oidc(env: Mapping[str, str]) -> OidcSettings | None:
    issuer = env.get("LEASTWISE_OIDC_ISSUER", "")
    if not issuer:
        alone = next((name for name in env if name.startswith("LEASTWISE_OIDC_") and env[name]), "")
        if alone:
            raise ValueError(
                f"LEASTWISE_OIDC_ISSUER: nothing; {alone} is accepted only together with it"
            )
        return None
    client, secret = env.get("LEASTWISE_OIDC_CLIENT", ""), env.get("LEASTWISE_OIDC_SECRET", "")
    if not _is_safe(issuer):
        raise ValueError(
            f"LEASTWISE_OIDC_ISSUER: got {issuer!r}; expected an https address (http on loopback)"
        )
    if not client:
        raise ValueError("LEASTWISE_OIDC_CLIENT: nothing; it goes with LEASTWISE_OIDC_ISSUER")
    if secret.startswith("/"):
        try:
            secret = Path(secret).read_text("utf-8").strip()
        except OSError as error:
            raise ValueError(f"LEASTWISE_OIDC_SECRET: {secret}: {error.strerror}") from error
    return OidcSettings(
        issuer=issuer,
        client=client,
        secret=secret,
        role_claim=env.get("LEASTWISE_OIDC_ROLE_CLAIM", ""),
        roles=_roles(env.get("LEASTWISE_OIDC_ROLES", "")),
        first_role=_role(env.get("LEASTWISE_OIDC_FIRST_ROLE", "") or "reader", "none"),
    )


def _is_safe(address: str) -> bool:
    """Return whether nobody on the way can read what goes to an address."""
    try:
        parts = urlsplit(address)
        name = parts.hostname or ""
    except ValueError:
        return False
    if not name:
        return False
    return parts.scheme == "https" or (parts.scheme == "http" and is_loopback(name))


def _role(given: str, other: str = "", name: str = "LEASTWISE_OIDC_FIRST_ROLE") -> str:
    """Return the name of a role as accounts carry it; *other* is accepted as well."""
    role = given.strip().replace("-", " ")
    accepted = [one.value for one in Role if one is not Role.NOBODY] + ([other] if other else [])
    if role not in accepted:
        raise ValueError(f"{name}: got {given!r}; expected one of {', '.join(accepted)}")
    return role


def _roles(given: str) -> tuple[tuple[str, str], ...]:
    pairs = [one.rpartition("=") for one in given.split(",") if one.strip()]
    wrong = [role for value, _, role in pairs if not value or not role]
    if wrong:
        raise ValueError(
            f"LEASTWISE_OIDC_ROLES: got {given!r}; expected for example chief=reviewer"
        )
    return tuple(
        (value.strip(), _role(role, name="LEASTWISE_OIDC_ROLES")) for value, _, role in pairs
    )
