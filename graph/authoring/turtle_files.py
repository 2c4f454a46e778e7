"""Which Turtle files are to be checked, whether they can be read, and how a fault is told."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path

from leastwise.graph.authoring.turtle_places import subject_above, syntax_mend
from leastwise.graph.errors import KnowledgeError
from leastwise.graph.knowledge.turtle import load_triples

__all__ = ["Fault", "is_unreadable", "turtle_in"]


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong: file and line (0 if unknown), subject, what is wrong and how to mend it.

    A *blocking* fault would make answers wrong or impossible; the others leave them poorer.
    """

    level: str  # error, warning
    file: str
    line: int
    subject: str
    what: str
    blocking: bool = False

    def __str__(self) -> str:
        place = f"{self.file}:{self.line}" if self.line else self.file
        return f"{place}: {self.level}: {self.subject}: {self.what}"


def turtle_in(paths: Iterable[Path]) -> list[Path]:
    """Return the Turtle files of files and folders, each once; examples of rules aside.

    Raises:
        KnowledgeError: a path is not there, or is a folder without Turtle.

    """
    found: list[Path] = []
    for path in paths:
        if path.is_dir():
            turtle = sorted(path.rglob("*.ttl"))
            inside = [p for p in turtle if "examples" not in p.relative_to(path).parts]
            if not inside:
                raise KnowledgeError(
                    str(path), "holds no .ttl files.", "Give a folder with Turtle."
                )
            found += inside
        elif path.is_file():
            found.append(path)
        else:
            raise KnowledgeError(str(path), "is not there.", "Give a Turtle file or a folder.")
    return list(dict.fromkeys(found))


def is_unreadable(path: Path, faults: list[Fault]) -> bool:
    """Return whether a file can't be read as Turtle; what is wrong with it goes to *faults*."""
    try:
        triples, _ = load_triples([path], None)
    except KnowledgeError as error:
        faults.append(_syntax_fault(path, error))
        return True
    if not len(triples):
        what = "The file holds no statements. Add some, or take the file away."
        faults.append(Fault("warning", str(path), 0, "empty file", what))
    return False


def _syntax_fault(path: Path, error: KnowledgeError) -> Fault:
    found = re.search(r", line (\d+)", error.place)
    line = int(found.group(1)) if found else 0
    text = path.read_text("utf-8", "replace") if found else ""
    said = re.sub(r"Parser error (?:at|between) line \d+ [^:]*: ", "", error.what)
    what = f"{said} {syntax_mend(said) or error.mend}"
    return Fault("error", str(path), line, subject_above(text, line) or "file", what, blocking=True)
