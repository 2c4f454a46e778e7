"""One typed settings object, read from the environment; nobody else reads the environment."""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from leastwise.graph.languages import ENGLISH
from leastwise.graph.names import BASE

__all__ = ["Settings"]

MEBIBYTE = 1024 * 1024


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

    """

    cache: Path | None
    overlays: tuple[Path, ...] = ()
    max_body: int = 2 * MEBIBYTE
    base: str = BASE
    language: str = ENGLISH
    store: str = "sqlite://"
    shared: bool = False
    secure_cookies: bool = False

    @classmethod
    def from_environment(cls, env: Mapping[str, str] = os.environ) -> Settings:
        """Return the settings of an environment.

        Raises:
            ValueError: LEASTWISE_MAX_BODY is not a whole number above 0, or LEASTWISE_BASE does
                not end with / or #; the text names the variable and what is accepted.

        """
        given = env.get("LEASTWISE_CACHE", "")
        overlays = env.get("LEASTWISE_WITH", "")
        body = env.get("LEASTWISE_MAX_BODY", str(2 * MEBIBYTE))
        base = env.get("LEASTWISE_BASE", BASE)
        if not body.isdigit() or int(body) < 1:
            raise ValueError(f"LEASTWISE_MAX_BODY: {body!r}; accepted is a number of bytes above 0")
        if not base.endswith(("/", "#")) or "://" not in base:
            raise ValueError(f"LEASTWISE_BASE: {base!r}; accepted is an IRI that ends with / or #")
        return cls(
            cache=None if given == "off" else Path(given) if given else _default_cache(env),
            overlays=tuple(Path(p) for p in overlays.split(os.pathsep) if p),
            max_body=int(body),
            base=base,
            language=env.get("LEASTWISE_LANG") or ENGLISH,
            store=_store_url(env),
        )


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
