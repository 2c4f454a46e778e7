"""A private PostgreSQL from Debian's binaries, for the tests of the store.

Binaries that are missing fail where ``CI`` is set and skip with a reason elsewhere.
"""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import tempfile
import time
from contextlib import suppress
from itertools import count
from pathlib import Path

from sqlalchemy import make_url

from leastwise.api.store import Store
from tests.browser import missing

UNPRIVILEGED = "postgres"  # the server refuses to run as root


def binaries() -> Path:
    """Return the folder of the newest PostgreSQL server that is installed."""
    found = sorted(
        Path("/usr/lib/postgresql").glob("*/bin/initdb"), key=lambda p: float(p.parts[-3])
    )
    if found:
        return found[-1].parent
    on_path = shutil.which("initdb")
    if on_path is None:
        missing("PostgreSQL's server", "on Debian: apt-get install postgresql")
    return Path(str(on_path)).parent


class Server:
    """One server in a folder of its own, reached by a Unix socket, with fsync on (the default)."""

    def __init__(self) -> None:
        self.bin = binaries()
        self.folder = Path(tempfile.mkdtemp(prefix="lw-pg-"))
        self.data = self.folder / "data"
        self._numbers = count(1)
        self._pattern = ""  # the name of the database that empty stores are copied from
        if os.getuid() == 0:
            shutil.chown(self.folder, UNPRIVILEGED, UNPRIVILEGED)
        self.folder.chmod(0o755)
        self.run(
            "initdb", "-D", str(self.data), "-U", UNPRIVILEGED, "-A", "trust",
            "-E", "UTF8", "--locale=C.UTF-8",
        )  # fmt: skip
        self.start()

    def run(self, name: str, *args: str, check: bool = True) -> subprocess.CompletedProcess[str]:
        """Run one of PostgreSQL's programs as its own user."""
        command = [str(self.bin / name), *args]
        if os.getuid() == 0:
            command = ["runuser", "-u", UNPRIVILEGED, "--", *command]
        return subprocess.run(  # noqa: S603 - our own command
            command, check=check, capture_output=True, text=True, cwd=self.folder, timeout=120
        )

    def start(self) -> None:
        """Start the server and wait until it answers."""
        options = f"-k {self.folder} -c listen_addresses='' -c max_connections=60"
        log = str(self.folder / "log")
        # no pipe to it: the server would hold the pipe open as long as it lives
        command = [str(self.bin / "pg_ctl"), "start", "-w", "-D", str(self.data), "-l", log]
        if os.getuid() == 0:
            command = ["runuser", "-u", UNPRIVILEGED, "--", *command]
        subprocess.run(  # noqa: S603 - our own command
            [*command, "-o", options],
            check=True,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            cwd=self.folder,
            timeout=120,
        )

    def stop(self) -> None:
        """Stop the server."""
        self.run("pg_ctl", "stop", "-w", "-m", "immediate", "-D", str(self.data), check=False)

    def close(self) -> None:
        """Stop the server and take its folder away."""
        self.stop()
        shutil.rmtree(self.folder, ignore_errors=True)

    def kill(self) -> None:
        """Kill the server with all its processes and the chance to write nothing more."""
        pid = int((self.data / "postmaster.pid").read_text().splitlines()[0])
        os.kill(pid, signal.SIGKILL)
        with suppress(subprocess.TimeoutExpired):
            while Path(f"/proc/{pid}").exists():
                time.sleep(0.02)
        for other in self._children():
            with suppress(ProcessLookupError):
                os.kill(other, signal.SIGKILL)
        while self._children():
            time.sleep(0.02)
        (self.data / "postmaster.pid").unlink(missing_ok=True)

    def _children(self) -> list[int]:
        """Return the processes that run in this server's folder; no other server's."""
        found = []
        for one in Path("/proc").iterdir():
            if one.name.isdigit():
                with suppress(OSError):
                    if (one / "cwd").readlink() == self.data:
                        found.append(int(one.name))
        return found

    def sql(self, text: str, database: str = "postgres") -> str:
        """Run a statement as the server's owner and return what it answers."""
        return self.run(
            "psql", "-h", str(self.folder), "-U", UNPRIVILEGED, "-d", database, "-Atc", text
        ).stdout.strip()

    def database(self, like: str = "") -> str:
        """Make an empty database, or one *like* another, and return its URL."""
        name = f"leastwise_{next(self._numbers)}"
        self.sql(f"CREATE DATABASE {name}" + (f" TEMPLATE {like}" if like else ""))
        return f"postgresql://{UNPRIVILEGED}@/{name}?host={self.folder}"

    def empty_store(self) -> str:
        """Make a store in the newest form with nothing in it and return its URL."""
        if not self._pattern:
            url = self.database()
            Store.open(url).engine.dispose()  # a pattern is copied only where nobody is at it
            self._pattern = str(make_url(url).database)
        return self.database(self._pattern)
