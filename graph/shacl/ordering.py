"""Values in the order of SPARQL's ``<``, as columns.

SHACL compares with the operators of SPARQL 1.1, where numbers compare with numbers, strings with
strings, booleans with booleans and moments of one kind with one another; anything else is a type
error, which the constraints count as "not less".
https://www.w3.org/TR/shacl/#core-components-range
"""

from __future__ import annotations

import math
import operator
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from enum import IntEnum
from fractions import Fraction
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from leastwise.graph.shacl.terms import Flags, Positions
from leastwise.graph.shacl.vocabulary import XSD
from leastwise.graph.shacl.xsd import INTEGER_RANGES, ill_typed, moment, months_and_seconds

__all__ = ["Comparable", "Family", "OrderColumn", "comparable", "compare_columns"]

_EXACT_INTEGER: Final = 2**53  # up to here every integer is a double


class Family(IntEnum):
    """Kinds of value; only values of one family are comparable, those of NONE never are."""

    NONE = 0
    NUMBER = 1
    STRING = 2
    BOOLEAN = 3
    DATE_TIME = 4
    DATE_TIME_ZONED = 5
    DATE = 6
    DATE_ZONED = 7
    TIME = 8
    TIME_ZONED = 9
    DAY_TIME_DURATION = 10
    YEAR_MONTH_DURATION = 11


@dataclass(frozen=True, slots=True)
class Comparable:
    """One value, and a double to compare it by if that is `exact`, the value itself."""

    family: Family
    key: float
    exact: bool
    value: object


_NOTHING: Final = Comparable(Family.NONE, 0.0, exact=False, value=None)
_MOMENT_FAMILIES: Final = (
    ("dateTime", Family.DATE_TIME),
    ("date", Family.DATE),
    ("time", Family.TIME),
)


def comparable(lexical: str, datatype: str, language: str) -> Comparable:
    """Return a literal as a comparable value; an ill-typed literal is comparable to nothing."""
    if datatype == f"{XSD}string":
        return Comparable(Family.STRING, 0.0, exact=False, value=lexical)
    if language or not datatype.startswith(XSD) or ill_typed(lexical, datatype):
        return _NOTHING
    name = datatype[len(XSD) :]
    if name in ("double", "float"):
        return _of_floating(float(lexical), name)
    if name in INTEGER_RANGES or name == "decimal":
        return _of_number(int(lexical) if name in INTEGER_RANGES else Decimal(lexical))
    if name == "boolean":
        return Comparable(Family.BOOLEAN, float(lexical in ("true", "1")), exact=True, value=None)
    return _of_time(lexical, name)


def _of_floating(value: float, name: str) -> Comparable:
    if name == "double":
        return Comparable(Family.NUMBER, value, exact=True, value=value)
    # not exact, since a decimal is rounded to single precision before it is compared with one
    single = _single(value)
    return Comparable(Family.NUMBER, float(single), exact=False, value=single)


def _single(value: float) -> np.float32:
    with np.errstate(over="ignore"):
        return np.float32(value)


def _double(value: Decimal | Fraction | int) -> float:
    try:
        return float(value)
    except OverflowError:
        return math.inf if value > 0 else -math.inf


def _of_number(value: int | Decimal) -> Comparable:
    key = _double(value)
    exact = abs(key) <= _EXACT_INTEGER and key == value
    return Comparable(Family.NUMBER, key, exact=exact, value=value)


def _of_time(lexical: str, name: str) -> Comparable:
    for kind, family in _MOMENT_FAMILIES:
        if name == kind:
            when = moment(lexical, name)
            if when is not None:
                return _of_fraction(Family(family + when.zoned), when.seconds)
    if name in ("dayTimeDuration", "yearMonthDuration"):
        parts = months_and_seconds(lexical)
        if parts is not None and name == "dayTimeDuration":
            return _of_fraction(Family.DAY_TIME_DURATION, parts[1])
        if parts is not None:
            return _of_fraction(Family.YEAR_MONTH_DURATION, Fraction(parts[0]))
    return _NOTHING


def _of_fraction(family: Family, value: Fraction) -> Comparable:
    key = _double(value)
    return Comparable(family, key, exact=abs(key) <= _EXACT_INTEGER and key == value, value=value)


@dataclass(frozen=True, slots=True, eq=False)
class OrderColumn:
    """Comparable values as parallel arrays of shape (number of values,).

    The `values` themselves are for the few comparisons that the keys cannot decide.
    """

    family: NDArray[np.int8]
    key: NDArray[np.float64]
    exact: Flags
    values: Sequence[object]

    @classmethod
    def of(cls, items: Sequence[Comparable]) -> OrderColumn:
        """Return the column of `items`."""
        return cls(
            np.array([item.family for item in items], dtype=np.int8),
            np.array([item.key for item in items], dtype=np.float64),
            np.array([item.exact for item in items], dtype=np.bool_),
            [item.value for item in items],
        )


def compare_columns(
    left: OrderColumn,
    left_at: Positions,
    right: OrderColumn,
    right_at: Positions,
    *,
    or_equal: bool,
) -> Flags:
    """Return, pair by pair, whether left < right (or <=); False where they are not comparable.

    `left_at` and `right_at` are parallel positions in the two columns.
    """
    family = left.family[left_at]
    same = (family == right.family[right_at]) & (family != Family.NONE)
    exact = left.exact[left_at] & right.exact[right_at]
    keys = left.key[left_at], right.key[right_at]
    out: Flags = (keys[0] <= keys[1] if or_equal else keys[0] < keys[1]) & same & exact
    test: Callable[[Any, Any], Any] = operator.le if or_equal else operator.lt
    for i in np.flatnonzero(same & ~exact).tolist():
        out[i] = bool(test(*_promoted(left.values[left_at[i]], right.values[right_at[i]])))
    return out


def _promoted(left: object, right: object) -> tuple[object, object]:
    """Apply the numeric type promotion of XPath: decimal to float to double.

    https://www.w3.org/TR/sparql11-query/#operandDataTypes
    """
    pair = (left, right)
    if not all(isinstance(value, int | Decimal | float | np.float32) for value in pair):
        return pair
    if isinstance(left, float) or isinstance(right, float):
        return _as_double(left), _as_double(right)
    if isinstance(left, np.float32) or isinstance(right, np.float32):
        return _single(_as_double(left)), _single(_as_double(right))
    return pair


def _as_double(value: object) -> float:
    if isinstance(value, int | Decimal):
        return _double(value)
    assert isinstance(value, float | np.float32)  # noqa: S101 - narrowed by the only caller
    return float(value)
