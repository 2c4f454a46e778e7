"""XSD datatypes: which lexical forms are well-formed, and what instants they denote.

https://www.w3.org/TR/xmlschema11-2/. No white space is trimmed: the lexical space of a datatype
does not contain it (https://www.w3.org/TR/rdf11-concepts/#xsd-datatypes).
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from leastwise.graph.shacl.vocabulary import XSD

__all__ = [
    "DECIMAL",
    "DOUBLE",
    "INTEGER_RANGES",
    "Moment",
    "ill_typed",
    "moment",
    "months_and_seconds",
]

# Bounds are inclusive; None is no bound. https://www.w3.org/TR/xmlschema11-2/#integer
INTEGER_RANGES: Final[Mapping[str, tuple[int | None, int | None]]] = MappingProxyType(
    {
        "integer": (None, None),
        "nonPositiveInteger": (None, 0),
        "negativeInteger": (None, -1),
        "nonNegativeInteger": (0, None),
        "positiveInteger": (1, None),
        "long": (-(2**63), 2**63 - 1),
        "int": (-(2**31), 2**31 - 1),
        "short": (-(2**15), 2**15 - 1),
        "byte": (-128, 127),
        "unsignedLong": (0, 2**64 - 1),
        "unsignedInt": (0, 2**32 - 1),
        "unsignedShort": (0, 2**16 - 1),
        "unsignedByte": (0, 255),
    }
)

INTEGER: Final = re.compile(r"[+-]?[0-9]+")
DECIMAL: Final = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)")
DOUBLE: Final = re.compile(r"[+-]?([0-9]+(\.[0-9]*)?|\.[0-9]+)([eE][+-]?[0-9]+)?|[+-]?INF|NaN")
_BOOLEAN: Final = re.compile(r"true|false|1|0")
_HEX: Final = re.compile(r"([0-9a-fA-F]{2})*")
_BASE64: Final = re.compile(
    r"((?:[A-Za-z0-9+/] ?){4})*((?:[A-Za-z0-9+/] ?){2}[AEIMQUYcgkosw048] ?=|"
    r"[A-Za-z0-9+/] ?[AQgw] ?= ?=)?(?<! )"
)
_DATE = r"(?P<year>-?(?:[1-9][0-9]{3,}|0[0-9]{3}))-(?P<month>[0-9]{2})-(?P<day>[0-9]{2})"
_TIME = r"(?P<hour>[0-9]{2}):(?P<minute>[0-9]{2}):(?P<second>[0-9]{2}(?:\.[0-9]+)?)"
_ZONE = r"(?P<zone>Z|[+-][0-9]{2}:[0-9]{2})?"
_MOMENTS: Final[Mapping[str, re.Pattern[str]]] = MappingProxyType(
    {
        "dateTime": re.compile(f"{_DATE}T{_TIME}{_ZONE}"),
        "date": re.compile(_DATE + _ZONE),
        "time": re.compile(_TIME + _ZONE),
    }
)
_DURATION: Final = re.compile(
    r"(?P<sign>-)?P(?=.)(?:(?P<years>[0-9]+)Y)?(?:(?P<months>[0-9]+)M)?(?:(?P<days>[0-9]+)D)?"
    r"(?:T(?=.)(?:(?P<hours>[0-9]+)H)?(?:(?P<minutes>[0-9]+)M)?"
    r"(?:(?P<seconds>[0-9]+(?:\.[0-9]+)?)S)?)?"
)


@dataclass(frozen=True, slots=True)
class Moment:
    """A point on the time line: seconds since an epoch (of a day, for xsd:time).

    With a time zone the seconds are in UTC. Zoned and unzoned moments are never compared, because
    SHACL leaves no time zone to assume for the unzoned ones.
    """

    seconds: Fraction
    zoned: bool


def _days(year: int, month: int, day: int) -> int | None:
    """Return the days since 0000-03-01 in the proleptic Gregorian calendar, None if no such day."""
    leap = year % 4 == 0 and (year % 100 != 0 or year % 400 == 0)
    lengths = (31, 29 if leap else 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
    if not (1 <= month <= 12 and 1 <= day <= lengths[month - 1]):
        return None
    shifted = year - (month <= 2)  # years that begin in March end with the leap day
    since_march = (153 * ((month + 9) % 12) + 2) // 5 + day - 1
    return shifted * 365 + shifted // 4 - shifted // 100 + shifted // 400 + since_march


def _zone_seconds(zone: str) -> int | None:
    if zone == "Z":
        return 0
    hours, minutes = int(zone[1:3]), int(zone[4:6])
    if minutes > 59 or hours * 60 + minutes > 14 * 60:
        return None
    return (hours * 3600 + minutes * 60) * (-1 if zone[0] == "-" else 1)


def _clock(parts: Mapping[str, str]) -> Fraction | None:
    hour, minute, second = int(parts["hour"]), int(parts["minute"]), Fraction(parts["second"])
    if minute > 59 or second >= 60 or hour > 24 or (hour == 24 and (minute or second)):
        return None
    return hour * 3600 + minute * 60 + second


def moment(lexical: str, name: str) -> Moment | None:
    """Return the moment of an xsd:dateTime, xsd:date or xsd:time (`name`), None if ill-formed."""
    match = _MOMENTS[name].fullmatch(lexical)
    if match is None:
        return None
    parts = match.groupdict()
    seconds: Fraction | None = Fraction(0)
    if name != "date":
        seconds = _clock(parts)
        if seconds == 86400 and name == "time":  # 24:00:00 is another way to write 00:00:00
            seconds = Fraction(0)
    if name != "time" and seconds is not None:
        days = _days(int(parts["year"]), int(parts["month"]), int(parts["day"]))
        seconds = None if days is None else seconds + 86400 * days
    zone = parts["zone"]
    offset = _zone_seconds(zone) if zone else 0
    if seconds is None or offset is None:
        return None
    return Moment(seconds - offset, bool(zone))


def months_and_seconds(lexical: str) -> tuple[int, Fraction] | None:
    """Return the months and the seconds of an xsd:duration, None if ill-formed."""
    match = _DURATION.fullmatch(lexical)
    if match is None:
        return None
    part = {key: value or "0" for key, value in match.groupdict().items()}
    sign = -1 if part["sign"] == "-" else 1
    months = int(part["years"]) * 12 + int(part["months"])
    hours = int(part["days"]) * 24 + int(part["hours"])
    seconds = (hours * 60 + int(part["minutes"])) * 60 + Fraction(part["seconds"])
    return sign * months, sign * seconds


def _is_integer(lexical: str, name: str) -> bool:
    if INTEGER.fullmatch(lexical) is None:
        return False
    low, high = INTEGER_RANGES[name]
    value = int(lexical)
    return (low is None or value >= low) and (high is None or value <= high)


def _is_duration(lexical: str, name: str) -> bool:
    if months_and_seconds(lexical) is None:
        return False
    before_time = lexical.partition("T")[0]
    if name == "dayTimeDuration":
        return not ("Y" in before_time or "M" in before_time)
    return name == "duration" or not ("D" in before_time or "T" in lexical)


_CHECKS: Final[Mapping[str, Callable[[str, str], bool]]] = MappingProxyType(
    dict.fromkeys(INTEGER_RANGES, _is_integer)
    | {name: (lambda text, kind: moment(text, kind) is not None) for name in _MOMENTS}
    | dict.fromkeys(("duration", "dayTimeDuration", "yearMonthDuration"), _is_duration)
    | {
        "decimal": lambda text, _: DECIMAL.fullmatch(text) is not None,
        "double": lambda text, _: DOUBLE.fullmatch(text) is not None,
        "float": lambda text, _: DOUBLE.fullmatch(text) is not None,
        "boolean": lambda text, _: _BOOLEAN.fullmatch(text) is not None,
        "hexBinary": lambda text, _: _HEX.fullmatch(text) is not None,
        "base64Binary": lambda text, _: _BASE64.fullmatch(text) is not None,
    }
)


def ill_typed(lexical: str, datatype: str) -> bool:
    """Return whether `lexical` is outside the lexical space of `datatype` (a plain IRI).

    Only the datatypes of SPARQL 1.1 must be checked
    (https://www.w3.org/TR/shacl/#DatatypeConstraintComponent); dates, times, durations and binary
    data are checked as well. Of any other datatype every lexical form passes.

    >>> ill_typed("300", "http://www.w3.org/2001/XMLSchema#byte")
    True
    """
    name = datatype.removeprefix(XSD)
    check = _CHECKS.get(name) if datatype.startswith(XSD) else None
    return check is not None and not check(lexical, name)
