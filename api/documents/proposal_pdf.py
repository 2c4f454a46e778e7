"""A proposal or treatment record as tagged PDF (PDF/UA-1), set by Typst from plain data.

Text goes in as JSON strings and is never read as markup. The fonts are those that Typst brings
along; only for letters that none of them has are the machine's own asked, and what has no shape
there either is named in brackets.
"""

from __future__ import annotations

import json
import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from contextlib import contextmanager
from datetime import UTC, datetime
from functools import cache
from importlib import resources
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any, Final

import typst

from leastwise.api.documents.proposal_figures import Figures, Held
from leastwise.api.documents.proposal_plain import set_out
from leastwise.graph.proposal.report.values import Report

__all__ = ["drawing_as_png", "proposal_pdf", "set_pdf"]

STANDARD: Final = "ua-1"
#: Letters that every text of ours may hold; Typst's own fonts have them all.
PLAIN = frozenset(map(chr, range(0x20, 0x7F))) | frozenset("\n\t")
LONG, PIECE = 24, 10
SERIF = 'font-family="Libertinus Serif"'
_LONG_WORD = re.compile(rf"[^\s\u200b-]{{{LONG},}}")
_PROBE = '#set document(title: "x")\n#set text(font: ("Libertinus Serif", "New Computer Modern", "DejaVu Sans Mono"))\n#sys.inputs.text'  # noqa: E501


def proposal_pdf(report: Report, figures: Figures) -> bytes:
    """Return a proposal or treatment record as PDF; the same report and figures, the same bytes.

    Raises:
        typst.TypstError: the template or a figure can't be set; a fault of ours.

    """
    return set_pdf(report.kind, _content(report, figures), figures.files, report.edition.date)


def set_pdf(template: str, plain: Mapping[str, Any], held: Mapping[str, Held], date: str) -> bytes:
    """Return plain data set by a template of ours; the same data and day, the same bytes.

    Raises:
        typst.TypstError: the template or a figure can't be set; a fault of ours.

    """
    text = json.dumps(plain, ensure_ascii=False, sort_keys=True)
    text, own_fonts_do = _shown(text)
    files = {
        "main.typ": _template(template).encode(),
        "document.typ": _template("document").encode(),
        "content.json": text.encode(),
    }
    for key, one in held.items():
        files[f"{key}.{one.suffix}"] = _file(one)
    with _laid_out(files) as main:
        found = typst.compile(
            main,
            root=main.parent,
            format="pdf",
            ignore_system_fonts=own_fonts_do,
            pdf_standards=STANDARD,
            timestamp=_instant(date),
        )
    return _one(found)


def drawing_as_png(held: Held, width: int = 1600) -> bytes:
    """Return a drawing as PNG, for documents that hold no SVG; *width* in pixels."""
    main = (
        "#set page(width: auto, height: auto, margin: 0pt)\n"
        f'#image("drawing.svg", width: {held.width:g}pt, alt: "drawing")'
    )
    with _laid_out({"main.typ": main.encode(), "drawing.svg": _file(held)}) as path:
        found = typst.compile(
            path,
            root=path.parent,
            format="png",
            ppi=72 * width / held.width,
            ignore_system_fonts=True,
        )
    return _one(found)


@contextmanager
def _laid_out(files: Mapping[str, bytes]) -> Iterator[Path]:
    """Give the main file of a folder that holds the files for a moment; Typst sees no other."""
    with TemporaryDirectory(prefix="leastwise-") as folder:
        for name, data in files.items():
            (Path(folder) / name).write_bytes(data)
        yield Path(folder) / "main.typ"


def _one(found: bytes | list[bytes] | None) -> bytes:
    """Return the file, or the first of its pages where each is a file."""
    if isinstance(found, list):
        return found[0]
    assert found is not None  # noqa: S101 - Typst gives nothing only where it writes a file
    return found


def _file(held: Held) -> bytes:
    """Return a figure's file; the letters of a drawing are set in a font that is at hand."""
    if not held.is_drawing:
        return held.data
    svg = re.sub(r'font-family="[^"]*"', SERIF, held.data.decode())
    return re.sub(r"font-family='[^']*'", SERIF, svg).encode()


def _content(report: Report, figures: Figures) -> dict[str, Any]:
    plain = set_out(report)
    numbers = {s["key"]: s["number"] for s in plain["sections"]}
    for element in plain["elements"]:
        element["number"] = numbers[element["section"]]
    for one in plain["references"]:
        source = f" Source S{one['source']}." if one["source"] else ""
        confidence = f", confidence {one['confidence']}" if one["confidence"] else ""
        one["tail"] = f"[{one['claim']}] Basis: {one['basis'] or 'not said'}{confidence}.{source}"
    title = plain["title"]
    plain |= {
        "short-title": title if len(title) <= 64 else title[:62].rstrip() + " …",
        "author": "",
        "keywords": f"version {plain['version']}",
        "description": f"{plain['kind_words']}, {plain['object']}",
        "files": {
            key: {
                "name": f"{key}.{held.suffix}",
                "width": held.width,
                "height": held.height,
                "most": 0.75 if held.is_drawing else 1,
            }
            for key, held in figures.files.items()
        },
    }
    whole: dict[str, Any] = _broken(plain)
    return whole


def _broken(value: Any) -> Any:
    """Let words that are longer than a column break; addresses in links stay whole."""
    if isinstance(value, str):
        return _LONG_WORD.sub(lambda m: _pieces(m[0]), value)
    if isinstance(value, list):
        return [_broken(one) for one in value]
    if isinstance(value, dict):
        kept = ("href", "name", "key")
        return {k: v if k in kept and isinstance(v, str) and "role" not in value else _broken(v)
                for k, v in value.items()}  # fmt: skip
    return value


def _pieces(word: str) -> str:
    return "\u200b".join(word[i : i + PIECE] for i in range(0, len(word), PIECE))


def _shown(text: str) -> tuple[str, bool]:
    """Return a text in which every letter can be shown, and whether Typst's own fonts do it."""
    rare = sorted(set(text) - PLAIN)
    absent = _absent("".join(rare), own=True)
    if not absent:
        return text, True
    nowhere = _absent("".join(sorted(absent)), own=False)
    for letter in sorted(nowhere):
        text = text.replace(letter, _named(letter))
    return text, nowhere == absent


def _named(letter: str) -> str:
    r"""Return a letter that can't be shown by its name, as text inside JSON.

    >>> _named("\U0001F600")
    '[grinning face]'
    """
    name = unicodedata.name(letter, "").lower()
    return f"[{name or f'U+{ord(letter):04X}'}]"


@cache
def _absent(letters: str, *, own: bool) -> frozenset[str]:
    """Return the letters that no font has, by halving what can't be set."""
    if not letters or _sets(letters, own=own):
        return frozenset()
    if len(letters) == 1:
        return frozenset(letters)
    half = len(letters) // 2
    return _absent(letters[:half], own=own) | _absent(letters[half:], own=own)


def _sets(letters: Iterable[str], *, own: bool) -> bool:
    try:
        typst.compile(
            _PROBE.encode(),
            format="pdf",
            ignore_system_fonts=own,
            pdf_standards=STANDARD,
            sys_inputs={"text": " ".join(letters)},
        )
    except typst.TypstError:
        return False
    return True


@cache
def _template(name: str) -> str:
    return resources.files("leastwise.api").joinpath(f"templates/{name}.typ").read_text("utf-8")


def _instant(date: str) -> int:
    """Return noon of a date as seconds since 1970, for the PDF's own dates."""
    return int(datetime.fromisoformat(f"{date}T12:00:00").replace(tzinfo=UTC).timestamp())
