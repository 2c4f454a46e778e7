"""JSON and YAML text read into plain lists and mappings, with the line of every field.

A key that is given twice is refused with both lines, since either could be the one that is meant;
``yes``, ``no``, ``on`` and ``off`` stay words, as in YAML 1.2.
"""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, Final

from leastwise.graph.errors import CaseError, Problem

__all__ = ["MAX_DEPTH", "Written", "load_text", "read_text"]

MAX_DEPTH: Final = 40
#: Digits of a whole number that are read; no field of a record needs more.
MOST_DIGITS: Final = 18
_JSON_WORD = re.compile(r'"(?:[^"\\]|\\.)*"|[{}\[\]:,]|[^\s{}\[\]:,"]+|\n')
_LONG_NUMBER = re.compile(rf"[-+]?\d{{{MOST_DIGITS + 1},}}")
#: What a scalar of YAML may be: what JSON has as well, and a date.
_SCALARS = frozenset(
    f"tag:yaml.org,2002:{one}" for one in ("str", "int", "float", "bool", "null", "timestamp")
)
_TRUE_OR_FALSE = ("true", "True", "TRUE", "false", "False", "FALSE")


@dataclass(frozen=True, slots=True)
class Written:
    """What a text holds, and on which line (from 1) each field of it stands."""

    data: object
    lines: Mapping[str, int] = field(default_factory=dict)

    def placed(self, problem: Problem) -> Problem:
        """Return a problem with the line of its field, or of the nearest field around it."""
        path = problem.path
        while path and path not in self.lines:
            path = path[: max(path.rfind("."), path.rfind("["), 0)]
        line = self.lines.get(path, 0)
        return replace(problem, line=line) if line and not problem.line else problem


def load_text(text: str, *, is_json: bool) -> object:
    """Return what JSON or YAML text holds, as plain lists and mappings.

    Raises:
        CaseError: it is neither, is nested too deep or gives a key twice; names the line.

    """
    return read_text(text, is_json=is_json).data


def read_text(text: str, *, is_json: bool) -> Written:
    """Return what JSON or YAML text holds, with the line of every field.

    Raises:
        CaseError: it is neither, is nested too deep or gives a key twice; names the line.

    """
    try:
        return _read_json(text) if is_json else _read_yaml(text)
    except json.JSONDecodeError as error:
        place = f"line {error.lineno}, column {error.colno}"
        raise CaseError([Problem(place, error.msg, "valid JSON")]) from error
    except RecursionError as error:
        raise _too_deep() from error


def _too_deep() -> CaseError:
    return CaseError([Problem("the record", "too deep a nesting", "a case record")])


def _inside(path: str, step: str | int) -> str:
    if isinstance(step, int):
        return f"{path}[{step}]"
    return f"{path}.{step}" if path else step


def _twice(path: str, first: int, second: int) -> Problem:
    return Problem(
        path, f"a key given twice, on line {first} and on line {second}", "each key once", second
    )


def _too_long(path: str, number: str, line: int) -> Problem:
    digits = len(number.lstrip("+-"))
    return Problem(
        path or "the record",
        f"a whole number of {digits} digits",
        f"at most {MOST_DIGITS} digits",
        line,
    )


# -- JSON


def _whole(number: str) -> int:
    """Return a whole number of JSON; 0 for one that is told as too long with its line."""
    return 0 if _LONG_NUMBER.fullmatch(number) else int(number)


def _read_json(text: str) -> Written:
    data = json.loads(text, parse_int=_whole)
    if _depth(data) > MAX_DEPTH:
        raise _too_deep()
    places = _JsonPlaces(text)
    lines = dict(places.value())
    if places.problems:
        raise CaseError(places.problems)
    return Written(data, lines)


class _JsonPlaces:
    """Finds the line of every key and element of JSON that is known to be valid and shallow."""

    def __init__(self, text: str) -> None:
        self.problems: list[Problem] = []
        self._words: list[tuple[str, int]] = []
        line = 1
        for match in _JSON_WORD.finditer(text):
            if match[0] == "\n":
                line += 1
            else:
                self._words.append((match[0], line))
        self._at = 0

    def value(self, path: str = "") -> Iterator[tuple[str, int]]:
        """Yield path and line of what stands inside the value that comes next."""
        word, line = self._take()
        if word == "{":
            yield from self._members(path)
        elif word == "[":
            yield from self._elements(path)
        elif _LONG_NUMBER.fullmatch(word):
            self.problems.append(_too_long(path, word, line))

    def _members(self, path: str) -> Iterator[tuple[str, int]]:
        first: dict[str, int] = {}
        while True:
            word, line = self._take()
            if word == "}":
                return
            if word != ",":
                key = json.loads(word)
                inner = _inside(path, key)
                if key in first:
                    self.problems.append(_twice(inner, first[key], line))
                first.setdefault(key, line)
                yield inner, line
                self._take()  # the colon
                yield from self.value(inner)

    def _elements(self, path: str) -> Iterator[tuple[str, int]]:
        place = 0
        while True:
            word, line = self._words[self._at]
            if word in ("]", ","):
                self._at += 1
                place += word == ","
                if word == "]":
                    return
            else:
                yield _inside(path, place), line
                yield from self.value(_inside(path, place))

    def _take(self) -> tuple[str, int]:
        self._at += 1
        return self._words[self._at - 1]


def _depth(data: object) -> int:
    level, depth = [data], 0
    while level:
        depth += 1
        if depth > MAX_DEPTH:
            break
        level = [
            child
            for one in level
            if isinstance(one, dict | list)
            for child in (one.values() if isinstance(one, dict) else one)
        ]
    return depth


# -- YAML


def _read_yaml(text: str) -> Written:
    import yaml  # noqa: PLC0415 - not needed for JSON

    loader = getattr(yaml, "CSafeLoader", yaml.SafeLoader)
    try:
        if any(isinstance(token, yaml.AliasToken) for token in yaml.scan(text, Loader=loader)):
            raise CaseError([Problem("the record", "a YAML alias (*)", "values written out")])
        node = yaml.compose(text, Loader=loader)
        reader = _YamlReader(yaml.constructor.SafeConstructor())
        data = None if node is None else reader.value(node, "", 1)
    except yaml.YAMLError as error:
        raise _yaml_error(error) from error
    if reader.problems:
        raise CaseError(reader.problems)
    return Written(data, reader.lines)


class _YamlReader:
    """Makes values of YAML nodes, and notes the line of each."""

    def __init__(self, constructor: Any) -> None:
        self._constructor = constructor
        self.lines: dict[str, int] = {}
        self.problems: list[Problem] = []

    def value(self, node: Any, path: str, depth: int) -> object:
        """Return the value of a node at *path*."""
        if depth > MAX_DEPTH:
            raise _too_deep()
        if node.tag == "tag:yaml.org,2002:map":
            return self._mapping(node, path, depth)
        if node.tag == "tag:yaml.org,2002:seq":
            return [self._element(one, path, i, depth) for i, one in enumerate(node.value)]
        return self._scalar(node, path)

    def _element(self, node: Any, path: str, place: int, depth: int) -> object:
        inner = _inside(path, place)
        self.lines[inner] = node.start_mark.line + 1
        return self.value(node, inner, depth + 1)

    def _mapping(self, node: Any, path: str, depth: int) -> dict[str, object]:
        found: dict[str, object] = {}
        for key_node, value_node in node.value:
            line = key_node.start_mark.line + 1
            key = key_node.value
            if not isinstance(key, str) or key_node.tag == "tag:yaml.org,2002:merge":
                given = "a key that isn't text" if not isinstance(key, str) else "a merge key (<<)"
                wanted = "a field name" if not isinstance(key, str) else "fields written out"
                self.problems.append(Problem(path or "the record", given, wanted, line))
                continue
            inner = _inside(path, key)
            if key in found:
                self.problems.append(_twice(inner, self.lines[inner], line))
                continue
            self.lines[inner] = line
            found[key] = self.value(value_node, inner, depth + 1)
        return found

    def _scalar(self, node: Any, path: str) -> object:
        place, line = path or "the record", node.start_mark.line + 1
        if node.tag not in _SCALARS:
            tag = node.tag.replace("tag:yaml.org,2002:", "!!")
            self.problems.append(Problem(place, f"a YAML tag ({tag})", "a plain value", line))
            return None
        if _is_word(node):
            text: str = node.value
            return text
        if node.tag.endswith(":int") and _LONG_NUMBER.fullmatch(node.value):
            self.problems.append(_too_long(path, node.value, line))
            return None
        try:
            value: object = self._constructor.construct_object(node, deep=True)
        except ValueError as error:  # an impossible date, such as 2026-02-30
            self.problems.append(Problem(place, str(error), "a valid YAML value", line))
            return None
        return value


def _is_word(node: Any) -> bool:
    """Return whether a scalar is text here, whatever older YAML takes it for."""
    if node.tag.endswith(":bool"):
        return node.value not in _TRUE_OR_FALSE  # yes, no, on and off are words
    if node.tag.endswith(":int"):  # 007, 1_000 and 12:30 are no numbers
        return not re.fullmatch(r"[-+]?(0|[1-9][0-9]*)", node.value)
    return node.tag.endswith(":float") and re.search("[:_]", node.value) is not None


def _yaml_error(error: Any) -> CaseError:
    mark = getattr(error, "problem_mark", None)
    place = f"line {mark.line + 1}, column {mark.column + 1}" if mark else "the record"
    return CaseError([Problem(place, str(getattr(error, "problem", error)), "valid YAML")])
