"""Frames through a pipe, both ways: a JSON header and a body.

Length of the header (4 bytes), length of the body (8 bytes), header, body.
"""

from __future__ import annotations

import json
import struct
from typing import IO, Any

__all__ = ["Reply", "read_frame", "write_frame"]

_LENGTHS = struct.Struct(">IQ")
Reply = tuple[dict[str, Any], bytes]


def read_frame(pipe: IO[bytes]) -> Reply | None:
    """Return header and body of the next frame, or None at the end of the pipe."""
    start = pipe.read(_LENGTHS.size)
    if len(start) < _LENGTHS.size:
        return None
    head, body = _LENGTHS.unpack(start)
    header, content = pipe.read(head), pipe.read(body)
    if len(header) < head or len(content) < body:
        return None
    found: dict[str, Any] = json.loads(header)
    return found, content


def write_frame(pipe: IO[bytes], header: dict[str, Any], body: bytes = b"") -> None:
    """Write one frame."""
    head = json.dumps(header).encode()
    pipe.write(_LENGTHS.pack(len(head), len(body)) + head + body)
    pipe.flush()
