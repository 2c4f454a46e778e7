"""The process in which questions are answered: ``python -m leastwise.api.asking.worker``.

Weighing can't be stopped from within, so it runs where it can be ended from outside. A worker
loads the knowledge once, then answers one frame after the other over its pipes, and ends when
they close. Should the files have changed since the server read them, it answers nothing, since two
workers would otherwise say different things.
"""

from __future__ import annotations

import os
import signal
import sys
import traceback
from collections.abc import Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from leastwise.api.asking.asked import Asked, answer
from leastwise.api.asking.kept import digests_of
from leastwise.api.asking.pieces import PIECE, worked_packed
from leastwise.api.http.problems import told
from leastwise.api.processes.frames import Reply, read_frame, write_frame
from leastwise.api.processes.limits import limit_memory, ring, step_back
from leastwise.graph import Adviser
from leastwise.graph.errors import LeastwiseError
from leastwise.graph.load import load_adviser

__all__ = ["main"]

#: Seconds after the limit at which a worker ends itself, should nobody be left to do so.
GRACE = 2.0


def _adviser_of(setup: Mapping[str, Any]) -> Adviser:
    return load_adviser(
        tuple(Path(one) for one in setup["overlays"]),
        cache=Path(setup["cache"]) if setup["cache"] else None,
        language=setup["language"],
        checked=True,
    )


def main() -> None:
    """Load what the first frame names, then answer one question after the other."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # Ctrl-C is for the server, which ends us
    pipe_in, pipe_out = sys.stdin.buffer, os.fdopen(os.dup(1), "wb")
    os.dup2(2, 1)  # should anything print, it stays out of the frames
    first = read_frame(pipe_in)
    if first is None:
        return
    setup = first[0]
    limit_memory(int(setup["memory"]))
    step_back()
    adviser = _adviser_of(setup)
    same = digests_of(adviser) == setup["digests"]
    write_frame(pipe_out, {"status": "ready"})
    while (frame := read_frame(pipe_in)) is not None:
        ring(float(setup["seconds"]) + GRACE)
        header, body = _answered(adviser, frame) if same else ({"status": "other"}, b"")
        ring(0.0)
        write_frame(pipe_out, header, body)


def _answered(adviser: Adviser, frame: Reply) -> Reply:
    said, body = frame
    try:
        if said["question"] == PIECE:
            return {"status": "ok"}, worked_packed(adviser, body)
        asked = Asked(text=body.decode("utf-8"), **_plain(said))
        return {"status": "ok"}, answer(adviser, asked).encode()
    except LeastwiseError as error:
        return {"status": "refused", "problem": asdict(told(error))}, b""
    except MemoryError:
        return {"status": "memory"}, b""
    except Exception:  # whatever it is: the service logs it and answers that it was at fault
        return {"status": "fault", "trace": traceback.format_exc()}, b""


def _plain(said: dict[str, Any]) -> dict[str, Any]:
    return {key: said[key] for key in ("question", "is_json", "policy", "given")}


if __name__ == "__main__":
    try:
        main()
    except (BrokenPipeError, KeyboardInterrupt):
        sys.exit(0)
