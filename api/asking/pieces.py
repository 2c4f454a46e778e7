"""A piece of work for a page or a document: a function and what it is given, worked elsewhere."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any, Final

from leastwise.graph import Adviser

__all__ = ["PIECE", "Piece", "worked", "worked_packed"]

#: What stands in a frame where other frames name their question.
PIECE: Final = "piece"


@dataclass(frozen=True, slots=True)
class Piece:
    """A piece of work.

    Attributes:
        make: a function of a module, which a worker finds by its name.
        given: what it is given, as values.
        policy: policy of the adviser that it is given first, empty for that of the house; None
            where it needs no adviser.

    """

    make: Callable[..., Any]
    given: tuple[Any, ...]
    policy: str | None = None


def worked(adviser: Adviser, piece: Piece) -> Any:
    """Return what a piece of work comes to.

    Raises:
        LeastwiseError: the policy or something given can't be used.

    """
    if piece.policy is None:
        return piece.make(*piece.given)
    return piece.make(adviser.under(piece.policy), *piece.given)


def worked_packed(adviser: Adviser, body: bytes) -> bytes:
    """Return what a packed piece of work comes to, packed; *body* comes from the service alone."""
    piece: Piece = pickle.loads(body)  # noqa: S301 - written by the process that started us
    return pickle.dumps(worked(adviser, piece), pickle.HIGHEST_PROTOCOL)
