"""XPath regular expressions, as SPARQL's REGEX takes them, translated for the `re` module.

https://www.w3.org/TR/xpath-functions/#regex-syntax. Where the two notations agree the pattern is
handed on as it is; look-around, which XPath lacks, is let through.
"""

from __future__ import annotations

import re
import sys
import unicodedata
from collections.abc import Iterable
from functools import lru_cache
from typing import Final

__all__ = ["translate"]

_FLAGS: Final = {"i": re.IGNORECASE, "m": re.MULTILINE, "s": re.DOTALL}
_NAME_START: Final = (
    ":A-Z_a-z\xc0-\xd6\xd8-\xf6\xf8-\u02ff\u0370-\u037d\u037f-\u1fff\u200c-\u200d\u2070-\u218f"
    "\u2c00-\u2fef\u3001-\ud7ff\uf900-\ufdcf\ufdf0-\ufffd\U00010000-\U000effff"
)
_NAME: Final = _NAME_START + "\\-.0-9\xb7\u0300-\u036f\u203f-\u2040"
_CODES: Final = dict(
    zip(
        [
            "Lu",
            "Ll",
            "Lt",
            "Lm",
            "Lo",
            "Mn",
            "Mc",
            "Me",
            "Nd",
            "Nl",
            "No",
            "Pc",
            "Pd",
            "Ps",
            "Pe",
            "Pi",
            "Pf",
            "Po",
            "Sm",
            "Sc",
            "Sk",
            "So",
            "Zs",
            "Zl",
            "Zp",
            "Cc",
            "Cf",
            "Cs",
            "Co",
            "Cn",
        ],
        "ABCDEFGHIJKLMNOPQRSTUVWXYZabcd",
        strict=True,
    )
)
_CATEGORY: Final = re.compile(r"\{(Is[A-Za-z0-9-]+|[LMNPZSC][a-z]?)\}")


def translate(pattern: str, flags: str) -> re.Pattern[str]:
    r"""Return the compiled equivalent of an XPath pattern with XPath flags (of ``smixq``).

    >>> bool(translate(r"^\p{Lu}[a-z-[aeiou]]+$", "").search("Tst"))
    True

    Raises:
        ValueError: if the pattern or a flag is not valid or a Unicode block is asked for.

    """
    options = re.NOFLAG
    if "q" in flags:
        return re.compile(re.escape(pattern), re.IGNORECASE if "i" in flags else re.NOFLAG)
    for flag in flags:
        if flag not in "smix":
            raise ValueError(f"{flag!r} is not a flag")
        options |= _FLAGS.get(flag, re.NOFLAG)
    try:
        return re.compile(_Translator(pattern, flags).run(), options)
    except re.error as error:
        raise ValueError(str(error)) from error


class _Translator:
    """One pass over a pattern."""

    __slots__ = ("_at", "_flags", "_pattern")

    def __init__(self, pattern: str, flags: str) -> None:
        self._pattern = pattern
        self._flags = flags
        self._at = 0

    def run(self) -> str:
        out: list[str] = []
        while self._at < len(self._pattern):
            char = self._next()
            if char == "\\":
                out.append(self._escape(inside=False))
            elif char == "[":
                out.append(self._group())
            elif char == "$" and "m" not in self._flags:
                out.append(r"\Z")  # Python's $ also matches before a final line feed
            elif char == "." and "s" not in self._flags:
                out.append(r"[^\n\r]")
            elif not ("x" in self._flags and char in " \t\n\r"):
                out.append(char)
        return "".join(out)

    def _next(self) -> str:
        if self._at == len(self._pattern):
            raise ValueError("the pattern ends too early")
        self._at += 1
        return self._pattern[self._at - 1]

    def _escape(self, *, inside: bool) -> str:
        """Translate what follows a backslash; `inside` a character class, without brackets."""
        char = self._next()
        if char in "pP":
            return self._category(negated=char == "P", inside=inside)
        if char in "icIC":
            members = _NAME_START if char in "iI" else _NAME
            return _bracketed(members, negated=char.isupper(), inside=inside)
        if char == "w":
            return _bracketed(_category_members("PZC"), negated=True, inside=inside)
        if char == "W":
            return _bracketed(_category_members("PZC"), negated=False, inside=inside)
        if char in "sS":  # XPath: space, tab, line feed, carriage return only
            return _bracketed(" \\t\\n\\r", negated=char == "S", inside=inside)
        return f"\\{char}"

    def _category(self, *, negated: bool, inside: bool) -> str:
        match = _CATEGORY.match(self._pattern, self._at)
        if match is None:
            raise ValueError(r"\p is not followed by a category in braces")
        self._at = match.end()
        if match.group(1).startswith("Is"):
            raise ValueError(f"the Unicode block {match.group(1)} is not supported")
        members = _category_members(match.group(1))
        if not members:
            raise ValueError(f"{match.group(1)} is not a Unicode category")
        return _bracketed(members, negated=negated, inside=inside)

    def _group(self) -> str:
        """Translate a character class, whose opening bracket has been read."""
        negated = self._pattern.startswith("^", self._at)
        self._at += negated
        members: list[str] = []
        removed = ""
        while (char := self._next()) != "]":
            if char == "\\":
                members.append(self._escape(inside=True))
            elif char == "-" and self._pattern.startswith("[", self._at):
                self._at += 1
                removed = f"(?!{self._group()})"  # class subtraction
            elif char in "[&~|" or (char == "-" and self._pattern.startswith("]", self._at)):
                # plain characters here; Python reserves some of them, in pairs
                members.append(f"\\{char}")
            else:
                members.append(char)
        if not members:
            raise ValueError("a character class is empty")
        group = f"[{'^' * negated}{''.join(members)}]"
        return f"(?:{removed}{group})" if removed else group


def _bracketed(members: str, *, negated: bool, inside: bool) -> str:
    if not inside:
        return f"[{'^' * negated}{members}]"
    return _complement(members) if negated else members


@lru_cache(maxsize=1)
def _every_category() -> str:
    """Return the category of every character, as one character (see _CODES) each."""
    category = unicodedata.category
    return "".join([_CODES[category(chr(code))] for code in range(sys.maxunicode + 1)])


@lru_cache(maxsize=64)
def _category_members(categories: str) -> str:
    """Return the ranges of the characters in a category ("Lu", "L") or several ("PZC")."""
    wanted = tuple(categories) if categories.isupper() else (categories,)
    codes = "".join(code for name, code in _CODES.items() if name.startswith(wanted))
    return _ranges(re.finditer(f"[{codes}]+", _every_category())) if codes else ""


@lru_cache(maxsize=64)
def _complement(members: str) -> str:
    every = "".join(map(chr, range(sys.maxunicode + 1)))
    return _ranges(re.finditer(f"[^{members}]+", every))


def _ranges(runs: Iterable[re.Match[str]]) -> str:
    """Return the members of a character class for runs in a string of all characters."""
    return "".join(f"\\U{run.start():08x}-\\U{run.end() - 1:08x}" for run in runs)
