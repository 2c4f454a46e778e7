"""Sets of nodes as the bits of one number: node 0 is the lowest bit.

Whether rules hold is asked of hundreds of shapes over the same few nodes. One number holds a set
whole, and *and*, *or* and *not* of such sets cost a fraction of what they cost on arrays, at ten
nodes as at ten thousand.
"""

from __future__ import annotations

from typing import TypeAlias

import numpy as np

from leastwise.graph.shacl.terms import Flags, Positions

__all__ = ["Bits", "every_bit", "flags", "of_flags", "of_positions", "positions"]

Bits: TypeAlias = int


def every_bit(size: int) -> Bits:
    """Return the set of all nodes."""
    return (1 << size) - 1


def of_flags(flagged: Flags) -> Bits:
    """Return the set of the nodes that are flagged.

    >>> of_flags(np.array([True, False, True]))
    5
    """
    return int.from_bytes(np.packbits(flagged, bitorder="little").tobytes(), "little")


def of_positions(places: Positions, size: int) -> Bits:
    """Return the set of the nodes at some places."""
    flagged = np.zeros(size, dtype=np.bool_)
    flagged[places] = True
    return of_flags(flagged)


def positions(bits: Bits, size: int) -> Positions:
    """Return the places of the nodes of a set, ascending.

    >>> positions(5, 3).tolist()
    [0, 2]
    """
    return flags(bits, size).nonzero()[0]


def flags(bits: Bits, size: int) -> Flags:
    """Return whether each of so many nodes is in a set."""
    packed = np.frombuffer(bits.to_bytes((size + 7) // 8, "little"), dtype=np.uint8)
    return np.unpackbits(packed, count=size, bitorder="little").view(np.bool_)
