"""Commands: serve."""

from __future__ import annotations

import os
from dataclasses import replace
from typing import TYPE_CHECKING, Annotated

import typer

from leastwise.api.cli.shared import WithOption, mendable, open_adviser, settings_with

if TYPE_CHECKING:
    from leastwise.api.settings import Settings
    from leastwise.api.store import Store

__all__ = ["register", "settings_to_serve"]

#: Processes that answer questions; each holds the knowledge once more.
MOST_BY_DEFAULT = 4


def register(app: typer.Typer) -> None:
    """Add the commands to *app*."""
    app.command()(serve)


def serve(  # noqa: PLR0913 - options of a command
    *,
    host: Annotated[
        str, typer.Option(help="Address to listen on; other than loopback only with --shared.")
    ] = "127.0.0.1",
    port: Annotated[int, typer.Option(help="Port to listen on.", min=0, max=65535)] = 8400,
    shared: Annotated[
        bool, typer.Option("--shared", help="Several people work here and sign in.")
    ] = False,
    behind_proxy: Annotated[
        str,
        typer.Option(
            "--behind-proxy",
            metavar="ADDRESS",
            help="A proxy at this address ends TLS; its X-Forwarded-For and -Proto are believed.",
        ),
    ] = "",
    workers: Annotated[
        int | None,
        typer.Option(
            min=0,
            max=64,
            help="Processes that answer questions (default: one a core, at most 4).",
            show_default=False,
        ),
    ] = None,
    overlays: WithOption = None,
) -> None:
    """Serve the pages and the HTTP interface, on this machine or to several people.

    Example: leastwise serve --port 8400

    Example: leastwise serve --shared --host 0.0.0.0 --behind-proxy 10.0.0.2

    Where others reach it, LEASTWISE_ADDRESS has to say how (https://leastwise.example).
    """
    with mendable():
        settings = settings_to_serve(
            settings_with(overlays), host=host, shared=shared, behind_proxy=behind_proxy
        )
        settings = replace(settings, workers=_one_a_core() if workers is None else workers)
        store = open_to_keep(settings.store)
        if shared:
            check_administrator(store)
        import uvicorn  # noqa: PLC0415
        from uvicorn.config import LOGGING_CONFIG  # noqa: PLC0415

        from leastwise.api.app import create_app  # noqa: PLC0415
        from leastwise.api.http.log_lines import log_config  # noqa: PLC0415
        from leastwise.api.pages.warm import calm_collector, start_warming  # noqa: PLC0415

        adviser = open_adviser(settings)
        served = create_app(adviser, settings, store)
        start_warming(served)
        calm_collector()
        _tell(settings, host, port, behind_proxy)
        uvicorn.run(
            served,
            host=host,
            port=port,
            log_level="warning",
            access_log=False,
            log_config=log_config() if settings.json_log else LOGGING_CONFIG,
            proxy_headers=bool(behind_proxy),
            forwarded_allow_ips=behind_proxy or None,
            server_header=False,
        )


def _tell(settings: Settings, host: str, port: int, behind_proxy: str) -> None:
    place = f"[{host}]" if ":" in host else host
    typer.echo(f"Leastwise listens on http://{place}:{port}; Ctrl+C ends it.", err=True)
    if settings.secure_cookies and not behind_proxy:
        typer.echo(
            "Sessions travel over HTTPS only: put a proxy in front that ends TLS, and name it "
            "with --behind-proxy.",
            err=True,
        )


def _one_a_core() -> int:
    """Return how many processes answer questions where nobody says it."""
    return min(os.cpu_count() or 1, MOST_BY_DEFAULT)


def settings_to_serve(
    settings: Settings, *, host: str, shared: bool, behind_proxy: str
) -> Settings:
    """Return the settings with which a service listens on *host*.

    Cookies travel over HTTPS only, unless everything stays on this machine.

    Raises:
        ValueError: the address is public and nobody would have to sign in.

    """
    from leastwise.api.addresses import is_loopback  # noqa: PLC0415 - keeps the other commands quick

    if not is_loopback(host) and not shared:
        raise ValueError(
            f"--host {host}: give a loopback address such as 127.0.0.1, since there is no "
            "login; with accounts, add --shared"
        )
    if behind_proxy and not shared:
        raise ValueError("--behind-proxy: accepted only together with --shared")
    if (behind_proxy or not is_loopback(host)) and not settings.address:
        raise ValueError(
            "LEASTWISE_ADDRESS: not set; where others reach the service, give the address "
            "that they use, such as https://leastwise.example: requests for any other name are "
            "refused, and links to set a password are made with it"
        )
    is_secure = bool(
        shared
        and (behind_proxy or not is_loopback(host) or settings.address.startswith("https://"))
    )
    return replace(settings, shared=shared, secure_cookies=is_secure)


def open_to_keep(url: str) -> Store:
    """Return the store, unless it can only be read: what is typed on the pages would be lost.

    Raises:
        StoreError: it can only be read, or can't be reached.

    """
    from leastwise.api.store import Store  # noqa: PLC0415 - as above
    from leastwise.api.store.faults import StoreOnlyRead, StoreReadOnly  # noqa: PLC0415

    try:
        store = Store.open(url)
    except StoreReadOnly as error:
        raise StoreOnlyRead(error.place) from error
    if not store.can_keep:
        store.engine.dispose()
        raise StoreOnlyRead(store.place)
    return store


def check_administrator(store: Store) -> None:
    """Refuse to begin where nobody could manage the accounts.

    Raises:
        ValueError: no account that is switched on is administrator.

    """
    from leastwise.api.store.accounts.store import AccountStore  # noqa: PLC0415 - as above

    if not AccountStore(store).has_administrator():
        raise ValueError(
            "--shared: nobody could manage the accounts yet; give a store with an "
            "administrator: leastwise accounts add NAME --role administrator"
        )
