"""The rows of a sheet, and what is wrong with each cell.

Every wrong cell is named with its row (as a spreadsheet counts them, the header being row 1), its
column and what is accepted.
"""

from __future__ import annotations

import csv
import difflib
import io
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

from leastwise.graph.case.reading import find_concept
from leastwise.graph.errors import LeastwiseError, Problem
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.names import camel
from leastwise.graph.shacl.terms import literal

__all__ = ["CLAIM_KEY", "CsvError", "Row", "read_csv", "read_header", "read_rows"]

KEY = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")
CLAIM_KEY = re.compile(r"[A-Za-z0-9]+(?:[-.][A-Za-z0-9]+)*")


class CsvError(LeastwiseError):
    """A sheet that can't be imported; carries every wrong cell found, not only the first."""

    def __init__(self, place: str, problems: Sequence[Problem]) -> None:
        self.place, self.problems = place, tuple(problems)
        super().__init__("\n".join(f"{place}, {problem}" for problem in problems))


def read_csv(path: Path) -> str:
    """Return the text of a CSV file, whichever byte order mark it starts with.

    Raises:
        CsvError: the file can't be read, or isn't UTF-8.

    """
    try:
        return path.read_bytes().decode("utf-8-sig")
    except OSError as error:
        given = f"it can't be read ({error.strerror}); that"
        raise CsvError(str(path), [Problem("file", given, "a CSV file")]) from error
    except UnicodeDecodeError as error:
        what = Problem("file", f"byte {error.start}", "UTF-8 (“CSV UTF-8” in a spreadsheet)")
        raise CsvError(str(path), [what]) from error


def _dialect(text: str) -> str:
    first = text.partition("\n")[0]
    return ";" if first.count(";") > first.count(",") else ","


def read_header(text: str) -> list[str]:
    """Return the names of the columns, as they stand in the first row."""
    return next(csv.reader(io.StringIO(text)), [])


def read_rows(
    text: str, columns: list[str], knowledge: Knowledge
) -> tuple[list[Row], Sequence[Problem]]:
    """Return the rows below the header that hold anything, and what is wrong with the sheet."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=_dialect(text))
    try:
        table = list(reader)
    except csv.Error as error:
        return [], [Problem(f"row {reader.line_num}", str(error), "a CSV row")]
    names = [name.strip().lower() for name in table[0]] if table else []
    problems = [
        Problem("row 1", repr(name), f"a column of the template{_near(name, columns)}")
        for name in names
        if name not in columns
    ]
    problems += [
        Problem("row 1", f"a header without {name}", f"all of {', '.join(columns)}")
        for name in columns
        if name not in names
    ]
    rows = []
    for number, cells in enumerate(table[1:], 2):
        if any(cell.strip() for cell in cells):
            if len(cells) > len(names):
                given = f"{len(cells)} cells"
                accepted = f"{len(names)} cells; put a text with the sign between columns in quotes"
                problems.append(Problem(f"row {number}", given, accepted))
            padded = [*cells, *[""] * len(names)]
            values = {n: " ".join(c.split()) for n, c in zip(names, padded, strict=False)}
            rows.append(Row(number, values, knowledge))
    if not rows and not problems:
        problems = [Problem("row 2", "nothing", "at least one row below the header")]
    return rows, problems


def _near(name: str, columns: Iterable[str]) -> str:
    close = difflib.get_close_matches(name, list(columns), n=1)
    return f"; near to it: {close[0]}" if close else ""


@dataclass
class Row:
    """One row while it is read: its cells, and what is wrong with them."""

    number: int
    cells: dict[str, str]
    knowledge: Knowledge
    problems: list[Problem] = field(default_factory=list)
    subject: str = ""

    def refuse(self, column: str, accepted: str, given: str | None = None) -> None:
        """Note that a cell (or the part *given* of it) is not accepted, and what is."""
        shown = repr(self.cells[column] if given is None else given)
        self.problems.append(Problem(f"row {self.number}, column {column}", shown, accepted))

    def text(self, column: str, least: int = 1) -> str:
        """Return a cell that has to be filled, as a Turtle literal in English."""
        if len(self.cells[column]) < least:
            self.refuse(column, f"a text of at least {least} characters")
        return literal(self.cells[column], language="en")

    def optional(self, column: str, predicate: str) -> list[str]:
        """Return what a cell says, as a property with a text in English; nothing if empty."""
        cell = self.cells[column]
        return [f"{predicate} {literal(cell, language='en')}"] if cell else []

    def parts(self, column: str) -> list[str]:
        """Return the parts of a cell that holds a list."""
        return [part.strip() for part in self.cells[column].split("|") if part.strip()]

    def whole(self, column: str, low: int, high: int) -> str:
        """Return a cell that has to be a whole number from *low* to *high*."""
        cell = self.cells[column]
        if not cell.isascii() or not cell.isdigit() or not low <= int(cell) <= high:
            self.refuse(column, f"a whole number from {low} to {high}")
        return cell

    def number_of(self, column: str) -> float:
        """Return a cell as a number of hours; a decimal comma will do."""
        cell = self.cells[column].replace(",", ".")
        if not re.fullmatch(r"\d+(\.\d+)?", cell):
            self.refuse(column, "a number of hours, such as 0.5")
            return 0.0
        return float(cell)

    def truth(self, column: str, predicate: str) -> list[str]:
        """Return a property that is true where the cell says yes."""
        cell = self.cells[column].lower()
        if cell not in ("", "yes", "no"):
            self.refuse(column, "yes, no or nothing")
        return [f"{predicate} true"] if cell == "yes" else []

    def choice(self, column: str, accepted: Iterable[str]) -> str:
        """Return a cell that has to be one of a few words."""
        accepted = list(accepted)
        cell = self.cells[column].lower()
        if cell not in accepted:
            self.refuse(column, f"one of {', '.join(accepted)}")
        return cell

    def key(self, column: str, scheme: str, pattern: re.Pattern[str] = KEY) -> str:
        """Return the CURIE of a new subject."""
        cell = self.cells[column]
        self.subject = f"{scheme}:{cell}"
        if not pattern.fullmatch(cell):
            self.refuse(column, "letters, digits and hyphens, such as my-own-name")
        elif self.subject in self.knowledge:
            self.refuse(column, f"a name that is still free; {self.subject} is in the knowledge")
        return self.subject

    def new_label(self, scheme: str) -> str:
        """Return the label, refusing one that a concept of the knowledge already has."""
        holder = find_concept(self.cells["label"], scheme, self.knowledge)
        if self.cells["label"] and holder is not None:
            self.refuse("label", f"a label that is still free; {holder} has this one")
        return self.text("label")

    def named(self, column: str, name: str, scheme: str) -> str:
        """Return the CURIE that a name in a cell stands for."""
        direct = f"{scheme}:{name.removeprefix(f'{scheme}:')}"
        found = direct if direct in self.knowledge else _found(name, scheme, self.knowledge)
        if found is None:
            keys = [s.partition(":")[2] for s in self.knowledge.subjects() if _is(s, scheme)]
            accepted = f"a {scheme} of the knowledge{_near(name, keys)}"
            self.refuse(column, accepted, given=name)
        return found or f"{scheme}:unknown"

    def all_named(self, column: str, scheme: str, predicate: str) -> list[str]:
        """Return a property with every concept that a cell names."""
        found = [self.named(column, name, scheme) for name in self.parts(column)]
        return [f"{predicate} {' , '.join(found)}"] if found else []

    def values(self, column: str, accepted: Sequence[str], predicate: str) -> list[str]:
        """Return a property with every fixed value that a cell names."""
        given = [part.lower() for part in self.parts(column)]
        for one in given:
            if one not in accepted:
                self.refuse(column, f"of {', '.join(accepted)}", given=one)
        return [f"{predicate} {' , '.join(camel(one) for one in given)}"] if given else []


@lru_cache(maxsize=4096)  # the same few names stand in every row of a sheet
def _found(name: str, scheme: str, knowledge: Knowledge) -> str | None:
    return find_concept(name, scheme, knowledge) if name else None


def _is(subject: str, scheme: str) -> bool:
    return subject.startswith(f"{scheme}:")
