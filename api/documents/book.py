"""Writes the book of reference into a folder of its own, as HTML or as Markdown."""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path, PurePosixPath
from typing import Protocol

from leastwise.api.documents.book_html import HtmlBook
from leastwise.api.documents.book_markdown import MarkdownBook
from leastwise.api.documents.places import Places
from leastwise.graph.errors import LeastwiseError
from leastwise.graph.reference.values import Reference

__all__ = ["MARKER", "BookError", "BookForm", "Written", "book_files", "write_book"]

#: The file by which a folder is known as a book of ours; it lists the files that were written.
MARKER = "leastwise-book.json"


class BookError(LeastwiseError):
    """A folder that the book can't be written into."""


class BookForm(StrEnum):
    """What the book is written as."""

    HTML = "html"
    MARKDOWN = "markdown"


@dataclass(frozen=True, slots=True)
class Written:
    """How many pages were written, and the one to start with."""

    pages: int
    front: Path


class _Form(Protocol):
    places: Places

    def files(self) -> Iterator[tuple[str, str]]: ...


_FORMS: dict[BookForm, Callable[[Reference], _Form]] = {
    BookForm.HTML: HtmlBook,
    BookForm.MARKDOWN: MarkdownBook,
}


def book_files(book: Reference, form: BookForm = BookForm.HTML) -> Iterator[tuple[str, str]]:
    """Yield path below the folder and text of every file of the book, in a fixed order."""
    return _FORMS[form](book).files()


def write_book(
    book: Reference,
    folder: Path,
    *,
    form: BookForm = BookForm.HTML,
    force: bool = False,
    progress: Callable[[int, int], None] = lambda done, of: None,
) -> Written:
    """Write the book into *folder* and return what was written.

    A book of ours that is there already is written anew, and pages that it no longer has are
    taken away; other files are never removed.

    Args:
        book: the content.
        folder: where to write; made if it isn't there.
        form: HTML or Markdown.
        force: write even among files that are not a book of ours.
        progress: called after each page with how many are done, of how many.

    Raises:
        BookError: the folder holds something else and *force* is not given, or can't be written.

    """
    try:
        old = _files_of_a_book(folder)
        if old is None and _holds_something(folder) and not force:
            raise BookError(
                f"{folder}: holds files that are not a book of ours; expected a new or empty "
                "folder, a book written before, or --force to write among them."
            )
        return _write(_FORMS[form](book), folder, form, set(old or ()), progress)
    except OSError as error:
        raise BookError(
            f"{error.filename or folder}: can't be written ({error.strerror}); "
            "expected a folder you may write into."
        ) from error


def _write(
    shape: _Form, folder: Path, form: BookForm, old: set[str], progress: Callable[[int, int], None]
) -> Written:
    written: dict[str, None] = {}
    folder.mkdir(parents=True, exist_ok=True)
    _mark(folder, form, sorted(old))  # a run that is broken off leaves a book, not a riddle
    pages = shape.places.pages
    for path, text in shape.files():
        target = folder / path
        target.parent.mkdir(parents=True, exist_ok=True)
        target.write_text(text, encoding="utf-8", newline="\n")
        written[path] = None
        progress(len(written), len(pages))
    for path in sorted(old - {*written}):
        _remove(folder, path)
    _mark(folder, form, list(written))
    return Written(len(pages), folder / shape.places.front)


def _mark(folder: Path, form: BookForm, files: list[str]) -> None:
    text = json.dumps({"leastwise_book": 1, "format": form.value, "files": files}, indent=1)
    (folder / MARKER).write_text(text + "\n", encoding="utf-8", newline="\n")


def _holds_something(folder: Path) -> bool:
    if folder.exists() and not folder.is_dir():
        raise BookError(f"{folder}: is a file; expected a folder for the book.")
    return folder.is_dir() and any(folder.iterdir())


def _files_of_a_book(folder: Path) -> list[str] | None:
    """Return the files that the marker lists, or None if this is no book of ours."""
    marker = folder / MARKER
    if not marker.is_file():
        return None
    try:
        said = json.loads(marker.read_text("utf-8"))
        files = said["files"] if said["leastwise_book"] == 1 else None
    except (ValueError, KeyError, TypeError):
        return None
    if not isinstance(files, list) or not all(isinstance(path, str) for path in files):
        return None
    return files


def _remove(folder: Path, path: str) -> None:
    """Take away a page of an earlier book; a path that leads out of the folder is left alone."""
    pure = PurePosixPath(path)
    target = folder / path
    inside = target.parent.resolve().is_relative_to(folder.resolve())
    if ".." in pure.parts or pure.is_absolute() or not inside:
        return
    if target.is_file() or target.is_symlink():
        target.unlink()
        if target.parent != folder and not any(target.parent.iterdir()):
            target.parent.rmdir()
