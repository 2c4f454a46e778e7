"""Lexical forms, the order of values, and regular expressions."""

from __future__ import annotations

import datetime as dt
from decimal import Decimal
from fractions import Fraction

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from leastwise.graph.shacl.ordering import OrderColumn, comparable, compare_columns
from leastwise.graph.shacl.regex import translate
from leastwise.graph.shacl.xsd import ill_typed, moment, months_and_seconds

XSD = "http://www.w3.org/2001/XMLSchema#"

WELL_FORMED = {
    "integer": ["0", "-0", "+7", "007"],
    "nonNegativeInteger": ["0", "-0", "99999999999999999999"],
    "positiveInteger": ["1"],
    "nonPositiveInteger": ["0", "-1"],
    "negativeInteger": ["-1"],
    "long": ["9223372036854775807"],
    "int": ["-2147483648"],
    "short": ["32767"],
    "byte": ["-128", "+127"],
    "unsignedLong": ["18446744073709551615"],
    "unsignedInt": ["4294967295"],
    "unsignedShort": ["65535"],
    "unsignedByte": ["255"],
    "decimal": ["1", "1.", ".5", "-0.50"],
    "double": ["1", "1e5", "-1.5E-3", "INF", "-INF", "NaN", ".5e0"],
    "float": ["1.5", "INF"],
    "boolean": ["true", "false", "0", "1"],
    "string": ["", "anything\n"],
    "date": ["2024-02-29", "-0001-01-01", "12024-01-01", "2020-01-01Z", "2020-01-01+14:00"],
    "dateTime": ["2020-01-01T00:00:00", "2020-12-31T24:00:00Z", "2020-01-01T23:59:59.999-05:30"],
    "time": ["00:00:00", "23:59:59.5Z", "24:00:00"],
    "duration": ["P1Y2M3DT4H5M6.7S", "-P1D", "PT1M", "P1M"],
    "dayTimeDuration": ["P1DT1H", "-PT0.5S"],
    "yearMonthDuration": ["P1Y2M", "P3M"],
    "hexBinary": ["", "0aFF"],
    "base64Binary": ["", "TWFu", "TWE=", "TQ==", "TW Fu"],
    "gYear": ["2020", "whatever: not checked"],
}
ILL_FORMED = {
    "integer": ["", "1.0", "1e3", " 1", "1 ", "one", "--1", "1\n", "\u0663"],
    "nonNegativeInteger": ["-1"],
    "positiveInteger": ["0"],
    "nonPositiveInteger": ["1"],
    "negativeInteger": ["0"],
    "long": ["9223372036854775808"],
    "int": ["2147483648"],
    "short": ["-32769"],
    "byte": ["128", "300", "c"],
    "unsignedLong": ["18446744073709551616", "-1"],
    "unsignedInt": ["4294967296"],
    "unsignedShort": ["65536"],
    "unsignedByte": ["256"],
    "decimal": ["1e3", ".", "INF", "1,5"],
    "double": ["inf", "1e", "infinity", "nan", "1_0"],
    "float": ["Inf"],
    "boolean": ["TRUE", "yes", "", "2"],
    "date": ["2023-02-29", "2020-1-1", "20-01-01", "02020-01-01", "2020-00-01", "2020-01-01+14:01"],
    "dateTime": [
        "2020-01-01",
        "2020-01-01T25:00:00",
        "2020-01-01T24:00:01",
        "2020-01-01T00:60:00",
        "2020-01-01T00:00:60",
        "2020-01-01 00:00:00",
        "2020-04-31T00:00:00",
        "2020-01-01T00:00:00+5:00",
    ],
    "time": ["24:00:01", "1:00:00", "12:00"],
    "duration": ["P", "P1", "PT", "P1DT", "1D", "P1.5D", "P1H"],
    "dayTimeDuration": ["P1Y", "P1M"],
    "yearMonthDuration": ["P1D", "PT1M"],
    "hexBinary": ["a", "0g"],
    "base64Binary": ["T", "TQ=", "TR==", "TWE", "T=Q="],
}


@pytest.mark.parametrize("name", WELL_FORMED)
def test_well_formed(name: str) -> None:
    assert [text for text in WELL_FORMED[name] if ill_typed(text, XSD + name)] == []


@pytest.mark.parametrize("name", ILL_FORMED)
def test_ill_formed(name: str) -> None:
    assert [text for text in ILL_FORMED[name] if not ill_typed(text, XSD + name)] == []


def test_only_xsd_datatypes_are_checked() -> None:
    assert not ill_typed("x", "http://example.org/integer")


def less(left: tuple[str, str], right: tuple[str, str], *, or_equal: bool = False) -> bool:
    columns = [
        OrderColumn.of([comparable(text, name if ":" in name else XSD + name, "")])
        for text, name in (left, right)
    ]
    at = np.zeros(1, dtype=np.intp)
    return bool(compare_columns(columns[0], at, columns[1], at, or_equal=or_equal)[0])


def order(left: tuple[str, str], right: tuple[str, str]) -> str | None:
    signs = {
        "<": less(left, right),
        ">": less(right, left),
        "=": less(left, right, or_equal=True) and less(right, left, or_equal=True),
    }
    found = [sign for sign, holds in signs.items() if holds]
    assert len(found) <= 1
    return found[0] if found else None


ORDER = [
    (("1", "integer"), "<", ("1.5", "decimal")),
    (("2", "byte"), "=", ("2.0", "decimal")),
    (("2", "byte"), "=", ("2e0", "double")),
    (("0.1", "decimal"), "=", ("0.1", "double")),
    (("0.1", "float"), ">", ("0.1", "double")),
    (("0.1", "float"), "=", ("0.1", "decimal")),
    (("16777217", "integer"), "=", ("16777216", "float")),
    (("9007199254740993", "integer"), ">", ("9007199254740992", "integer")),
    (("9007199254740993", "integer"), "=", ("9007199254740992", "double")),
    (("1" + "0" * 400, "integer"), "=", ("INF", "double")),
    (("-1" + "0" * 400, "integer"), "=", ("-INF", "double")),
    (("1" + "0" * 400, "integer"), "<", ("2" + "0" * 400, "integer")),
    (("NaN", "double"), None, ("NaN", "double")),
    (("NaN", "double"), None, ("1", "integer")),
    (("1e39", "float"), "=", ("INF", "double")),
    (("a", "string"), "<", ("b", "string")),
    (("B", "string"), "<", ("a", "string")),
    (("1", "string"), None, ("1", "integer")),
    (("false", "boolean"), "<", ("1", "boolean")),
    (("true", "boolean"), None, ("1", "integer")),
    (("2020-01-01", "date"), "<", ("2020-01-02", "date")),
    (("2020-01-01Z", "date"), ">", ("2020-01-01+01:00", "date")),
    (("2020-01-01Z", "date"), None, ("2020-01-01", "date")),
    (("2020-01-01", "date"), None, ("2020-01-01T00:00:00", "dateTime")),
    (("2019-12-31T24:00:00", "dateTime"), "=", ("2020-01-01T00:00:00", "dateTime")),
    (("2020-01-01T00:00:00Z", "dateTime"), "=", ("2020-01-01T05:30:00+05:30", "dateTime")),
    (("2020-01-01T00:00:00.1", "dateTime"), ">", ("2020-01-01T00:00:00.05", "dateTime")),
    (("-0044-03-15", "date"), "<", ("0001-01-01", "date")),
    (("12:00:00", "time"), "<", ("12:00:00.001", "time")),
    (("24:00:00", "time"), "=", ("00:00:00", "time")),
    (("PT36H", "dayTimeDuration"), "=", ("P1DT12H", "dayTimeDuration")),
    (("P1Y", "yearMonthDuration"), ">", ("P11M", "yearMonthDuration")),
    (("P1Y", "yearMonthDuration"), None, ("P1D", "dayTimeDuration")),
    (("P1Y", "duration"), None, ("P2Y", "duration")),
    (("2020", "gYear"), None, ("2021", "gYear")),
    (("x", "integer"), None, ("1", "integer")),
    (("x", "http://example.org/dt"), None, ("x", "http://example.org/dt")),
]


@pytest.mark.parametrize(("left", "sign", "right"), ORDER)
def test_order(left: tuple[str, str], sign: str | None, right: tuple[str, str]) -> None:
    assert order(left, right) == sign
    assert order(right, left) == {"<": ">", ">": "<"}.get(sign or "", sign)


@given(st.decimals(allow_nan=False, allow_infinity=False, places=3), st.integers())
def test_decimals_and_integers_compare_exactly(one: Decimal, other: int) -> None:
    sign = order((format(one, "f"), "decimal"), (str(other), "integer"))
    assert sign == ("<" if one < other else ">" if one > other else "=")


@given(st.datetimes(), st.datetimes())
def test_moments_compare_as_instants(one: dt.datetime, other: dt.datetime) -> None:
    sign = order((one.isoformat(), "dateTime"), (other.isoformat(), "dateTime"))
    assert sign == ("<" if one < other else ">" if one > other else "=")


@given(st.dates(), st.dates())
def test_days_are_counted_as_the_calendar_does(one: dt.date, other: dt.date) -> None:
    moments = [moment(day.isoformat(), "date") for day in (one, other)]
    assert moments[0] is not None
    assert moments[1] is not None
    assert moments[0].seconds - moments[1].seconds == (one - other).days * 86400


def test_durations_have_months_and_seconds() -> None:
    assert months_and_seconds("-P1Y2M3DT4H5M6.5S") == (-14, -Fraction("273906.5"))
    assert months_and_seconds("1 day") is None


REGEX = [
    (r"^\d+$", "", "123", True),
    (r"a.c", "", "a\nc", False),
    (r"a.c", "", "a\rc", False),
    (r"a.c", "s", "a\nc", True),
    (r"^b$", "", "a\nb", False),
    (r"^b$", "m", "a\nb\nc", True),
    (r"a$", "", "a\n", False),
    (r"A", "i", "a", True),
    (r"a b", "x", "ab", True),
    (r"[ ]b", "x", " b", True),
    (r"a.b", "q", "a.b", True),
    (r"A.B", "qi", "xa.bx", True),
    (r"a.b", "q", "axb", False),
    (r"^\p{Lu}\P{Lu}$", "", "Ab", True),
    (r"^\p{L}+$", "", "\u00e9\u03c0", True),
    (r"^[\p{Nd}_]+$", "", "12_", True),
    (r"^[^\P{Nd}]+$", "", "12", True),
    (r"^[^\P{Nd}]+$", "", "1a", False),
    (r"^\i\c*$", "", "x-1", True),
    (r"^\i\c*$", "", "1x", False),
    (r"^\I\C$", "", "- ", True),
    (r"^[\c]+$", "", "a.b", True),
    (r"^[a-z-[aeiou]]+$", "", "xyz", True),
    (r"^[a-z-[aeiou]]+$", "", "xaz", False),
    (r"^[^a-c-[x]]$", "", "d", True),
    (r"^[^a-c-[x]]$", "", "x", False),
    (r"^\w+$", "", "ab1", True),
    (r"^\w+$", "", "a_b", False),
    (r"^\W$", "", "_", True),
    (r"^[\w-]+$", "", "a-b", True),
    (r"^\s$", "", "\u00a0", False),
    (r"^\S$", "", "\u00a0", True),
    (r"^[\S]$", "", "a", True),
    (r"^[&&||~~]+$", "", "&|~", True),
    (r"^[[a]$", "", "[", True),
    (r"^\[\]\^\$\.\-$", "", "[]^$.-", True),
    (r"(a)\1", "", "aa", True),
    (r"^(?:ab)+$", "", "abab", True),
    (r"[.$]", "", "$", True),
    (r"", "", "", True),
]


@pytest.mark.parametrize(("pattern", "flags", "text", "matches"), REGEX)
def test_regular_expressions(pattern: str, flags: str, text: str, matches: bool) -> None:
    assert (translate(pattern, flags).search(text) is not None) is matches


@pytest.mark.parametrize(
    ("pattern", "flags"), [("(", ""), ("a", "g"), ("[", ""), ("\\", ""), ("[]", ""), (r"\p{", "")]
)
def test_invalid_regular_expressions(pattern: str, flags: str) -> None:
    with pytest.raises(ValueError, match=r".+"):
        translate(pattern, flags)
