"""The service behind a real proxy that ends TLS, set up as the guide for running it says."""

from __future__ import annotations

import json
import os
import re
import shutil
import socket
import ssl
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from ipaddress import ip_address
from pathlib import Path

import httpx2
import pytest
from cryptography import x509
from cryptography.hazmat.primitives import hashes, serialization
from cryptography.hazmat.primitives.asymmetric import ec
from cryptography.x509.oid import NameOID

from leastwise.api.store import Store
from leastwise.api.store.accounts.store import AccountStore
from leastwise.graph.case.demo import demo_path
from tests.accounts.people import PASSWORD, enrol
from tests.browser import missing

NAME = "leastwise.museum.example"
GUIDE = Path(__file__).parents[2] / "docs" / "how-to" / "run-a-service.md"
FORGED = {"x-forwarded-for": "203.0.113.9", "x-forwarded-proto": "https"}
UP_S = 90.0


@dataclass(frozen=True)
class Proxied:
    """The service: how a browser reaches it, its own address behind the proxy, and its store."""

    outside: str
    inside: str
    store: Path
    certificate: Path

    def browser(self) -> httpx2.Client:
        """Return a browser that asks the proxy by the name of the service."""
        trusted = ssl.create_default_context(cafile=self.certificate)
        # what is sent as a cookie or a change belongs to the name, whatever the port of the test
        headers = {"host": NAME, "origin": f"https://{NAME}", "accept": "text/html"}
        return httpx2.Client(
            base_url=self.outside, verify=trusted, headers=headers, timeout=60,
            follow_redirects=False,
        )  # fmt: skip

    def failed_from(self) -> str:
        """Return the address from which the newest sign-in failed."""
        store = Store.open(f"sqlite:///{self.store}")
        newest = AccountStore(store).events(limit=1)[0]
        store.engine.dispose()
        assert newest.what.startswith("sign-in failed")
        return newest.address


@pytest.fixture(scope="module")
def proxied(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Proxied]:
    nginx = shutil.which("nginx") or shutil.which("nginx", path="/usr/sbin")
    if nginx is None:
        missing("nginx", "on Debian: apt-get install nginx-light")
    assert nginx is not None
    folder = tmp_path_factory.mktemp("proxy")
    kept, certificate = folder / "store.sqlite", folder / "cert.pem"
    store = Store.open(f"sqlite:///{kept}")
    enrol(store, "ada", "administrator")
    store.engine.dispose()
    _certify(certificate, folder / "key.pem")
    outer, inner = _free(), _free()
    settings = folder / "nginx.conf"
    settings.write_text(_as_the_guide_says(folder, outer, inner), "utf-8")
    serve = [
        sys.executable, "-c", "from leastwise.api.cli import main; main()", "serve", "--shared",
        "--port", str(inner), "--behind-proxy", "127.0.0.1", "--workers", "1",
    ]  # fmt: skip
    env = {**os.environ, "LEASTWISE_STORE": str(kept), "LEASTWISE_ADDRESS": f"https://{NAME}",
           "LEASTWISE_LOG": "json"}  # fmt: skip
    made = Proxied(f"https://127.0.0.1:{outer}", f"http://127.0.0.1:{inner}", kept, certificate)
    with _running(serve, env, folder / "service.log"), _running(
        [nginx, "-c", str(settings), "-p", str(folder), "-e", str(folder / "nginx.log")],
        dict(os.environ), folder / "proxy.log",
    ):  # fmt: skip
        _wait(lambda: _is_up(made))
        yield made


def test_cookies_are_bound_to_https_and_the_host(proxied: Proxied) -> None:
    with proxied.browser() as browser:
        answer = _sign_in(browser, PASSWORD)
        session = _session(answer)
        value = session.partition(";")[0]
        own = browser.get("/account", headers={"cookie": value})
        plain = httpx2.get(f"{proxied.inside}/account", headers={"host": NAME}, timeout=60)

    assert answer.status_code == 303
    assert {"secure", "httponly", "path=/"} <= {
        part.strip().casefold() for part in session.split(";")
    }
    assert answer.headers["strict-transport-security"] == "max-age=31536000"
    assert (own.status_code, plain.status_code) == (200, 401)


def test_only_the_proxy_is_believed_where_somebody_comes_from(proxied: Proxied) -> None:
    with proxied.browser() as browser:
        _sign_in(browser, "not the password", **FORGED)
        through = proxied.failed_from()
    straight = httpx2.HTTPTransport(local_address="127.0.0.2")  # a stranger beside the proxy
    with httpx2.Client(base_url=proxied.inside, transport=straight, timeout=60) as past:
        past.headers.update({"host": NAME, "accept": "text/html"})
        _sign_in(past, "not the password", **FORGED)
        beside = proxied.failed_from()

    assert through == "127.0.0.1"  # the proxy replaced what the browser said
    assert beside == "127.0.0.2"  # and nobody else is believed


def test_what_is_too_large_is_refused_by_the_service_and_beyond_by_the_proxy(
    proxied: Proxied,
) -> None:
    with proxied.browser() as browser:
        browser.headers["accept"] = "application/json"
        ours = browser.post("/options", content=b" " * 3_000_000)
        theirs = browser.post("/options", content=b" " * 26_500_000)

    assert theirs.status_code == 413
    assert ours.status_code == 413
    assert ours.json()["instance"] == f"urn:uuid:{ours.headers['x-request-id']}"
    assert "x-request-id" not in theirs.headers


def test_a_long_answer_comes_whole_and_the_log_has_no_secret(proxied: Proxied) -> None:
    with proxied.browser() as browser:
        cookie = _session(_sign_in(browser, PASSWORD)).partition(";")[0]
        token = re.search(
            'name="form-token" content="([^"]+)"',
            browser.get("/account", headers={"cookie": cookie}).text,
        )
        assert token is not None
        answer = browser.post(
            "/options",
            content=demo_path("festival-dancer").read_bytes(),
            headers={"cookie": cookie, "content-type": "application/yaml",
                     "x-form-token": token[1], "accept": "application/json"},
        )  # fmt: skip
    lines = (proxied.store.parent / "service.log").read_text("utf-8").splitlines()
    told = [json.loads(line) for line in lines if line.startswith("{")]

    assert answer.status_code == 200, answer.text[:500]
    assert answer.headers["content-encoding"] == "gzip"
    assert answer.json()["case"]["demo"]
    assert answer.headers["x-request-id"] in {one.get("request") for one in told}
    secrets = (PASSWORD, cookie.partition("=")[2], token[1])
    assert [one for one in secrets if one in "\n".join(lines)] == []


def _session(answer: httpx2.Response) -> str:
    """Return the cookie of the session that a sign-in began, with all that it says."""
    told = answer.headers.get_list("set-cookie")
    return next(one for one in told if one.startswith("__Host-leastwise_session="))


def _sign_in(browser: httpx2.Client, password: str, **headers: str) -> httpx2.Response:
    page = browser.get("/sign-in", headers=headers)
    token = re.search('name="form_token" value="([^"]+)"', page.text)
    assert token is not None, page.text[:2000]
    cookies = "; ".join(one.partition(";")[0] for one in page.headers.get_list("set-cookie"))
    return browser.post(
        "/sign-in",
        data={"name": "ada", "password": password, "form_token": token[1]},
        headers={**headers, "cookie": cookies},
    )


def _as_the_guide_says(folder: Path, outer: int, inner: int) -> str:
    """Return the settings of the guide, with the ports and files of the test."""
    server = re.search(r"```nginx\n(.*?)```", GUIDE.read_text("utf-8"), re.DOTALL)
    assert server is not None
    told = server[1]
    for old, new in (
        ("listen 443 ssl", f"listen 127.0.0.1:{outer} ssl"),
        ("http://127.0.0.1:8000", f"http://127.0.0.1:{inner}"),
        ("/etc/ssl/leastwise.pem", str(folder / "cert.pem")),
        ("/etc/ssl/leastwise.key", str(folder / "key.pem")),
    ):
        assert old in told
        told = told.replace(old, new)
    kinds = ("client_body", "proxy", "fastcgi", "uwsgi", "scgi")
    places = "\n".join(f"{kind}_temp_path {folder / kind};" for kind in kinds)
    user = "user root;\n" if os.getuid() == 0 else ""
    return (
        f"{user}daemon off;\nworker_processes 1;\npid {folder / 'nginx.pid'};\n"
        f"events {{}}\nhttp {{\naccess_log off;\n{places}\n{told}}}\n"
    )


def _certify(certificate: Path, key: Path) -> None:
    made, now = ec.generate_private_key(ec.SECP256R1()), datetime.now(UTC)
    name = x509.Name([x509.NameAttribute(NameOID.COMMON_NAME, NAME)])
    names = [x509.DNSName(NAME), x509.IPAddress(ip_address("127.0.0.1"))]
    signed = (
        x509.CertificateBuilder(name, name, made.public_key(), x509.random_serial_number())
        .not_valid_before(now - timedelta(hours=1))
        .not_valid_after(now + timedelta(days=1))
        .add_extension(x509.SubjectAlternativeName(names), critical=False)
        .sign(made, hashes.SHA256())
    )
    certificate.write_bytes(signed.public_bytes(serialization.Encoding.PEM))
    key.write_bytes(
        made.private_bytes(
            serialization.Encoding.PEM,
            serialization.PrivateFormat.PKCS8,
            serialization.NoEncryption(),
        )
    )


def _free() -> int:
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        return int(free.getsockname()[1])


@contextmanager
def _running(command: list[str], env: dict[str, str], log: Path) -> Iterator[None]:
    with log.open("wb") as said:
        process = subprocess.Popen(command, env=env, stdout=said, stderr=said)  # noqa: S603 - ours
        try:
            yield
        finally:
            process.terminate()
            process.wait(30)


def _is_up(made: Proxied) -> bool:
    try:
        with made.browser() as browser:
            return browser.get("/health").status_code == 200
    except httpx2.TransportError:
        return False


def _wait(is_so: Callable[[], bool]) -> None:
    end = time.monotonic() + UP_S
    while not is_so():
        assert time.monotonic() < end, "the service did not come up behind the proxy"
        time.sleep(0.3)
