"""A proposal as a Word document: real headings, lists, tables and fields, nothing drawn by hand."""

from __future__ import annotations

import io
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any

from docx.document import Document as Docx
from docx.enum.section import WD_ORIENT, WD_SECTION
from docx.enum.text import WD_BREAK
from docx.shared import Mm, Pt
from docx.table import _Cell
from docx.text.paragraph import Paragraph
from PIL import Image

from leastwise.api.documents.proposal_docx_parts import (
    QUIET,
    WIDTH_MM,
    lay_out,
    new_document,
    repeat,
    set_widths,
    small,
)
from leastwise.api.documents.proposal_figures import Figures, Held
from leastwise.api.documents.proposal_pdf import drawing_as_png
from leastwise.api.documents.proposal_plain import Plain, set_out
from leastwise.graph.proposal.report.values import Report

__all__ = ["proposal_docx"]

HIGHEST_MM = 190


def proposal_docx(report: Report, figures: Figures) -> bytes:
    """Return a proposal as a Word document (Office Open XML)."""
    plain = set_out(report)
    return _Writer(plain, figures, new_document(plain, report.edition.date)).written()


@dataclass(frozen=True)
class _Writer:
    plain: Plain
    figures: Figures
    doc: Docx

    def written(self) -> bytes:
        """Return the file."""
        self._first_page()
        if self.plain["brief"]:
            self._new_page()
            self._paragraph("Annex", style="Whose word")
        for section in self.plain["sections"]:
            self._section(section)
        if self.plain["elements"]:
            self._elements()
        self._references()
        held = io.BytesIO()
        self.doc.save(held)
        return held.getvalue()

    def _paragraph(self, text: str = "", style: str = "Normal") -> Paragraph:
        """Add a paragraph; the style goes in by its id, since looking names up is slow."""
        paragraph = self.doc.add_paragraph(text)
        paragraph._p.style = self._style_ids[style]
        return paragraph

    def _new_page(self) -> None:
        self._paragraph().add_run().add_break(WD_BREAK.PAGE)

    def _heading(self, text: str, level: int) -> None:
        self._paragraph(text, f"Heading {level}")

    @cached_property
    def _style_ids(self) -> dict[str, str]:
        return {style.name or "": style.style_id for style in self.doc.styles}

    # -- content

    def _first_page(self) -> None:
        plain = self.plain
        self._paragraph(plain["kind_words"], style="Whose word")
        self._paragraph(plain["title"], style="Title")
        self._paragraph().add_run(plain["object"]).italic = True
        if plain["demo"]:
            self._notice("note", "Invented. ", _said(plain["demo"]))
        about = "missing" if plain["draft"] else "note"
        self._notice(about, "", _said(plain["draft_words"]))
        for notice in plain["notices"]:
            self._block(notice, "derived")
        if plain["summary"]:
            self._mark("derived")
        for line in plain["summary"]:
            self._line(self._paragraph(style="Voice derived list"), line)
        for i, page in enumerate(plain["brief"]):
            if i:
                self._new_page()
            self._mark("derived")
            for block in page:
                self._block(block, "derived", level=1)
        self._facts({"rows": [{"term": k, "line": _said(v), "missing": False}
                              for k, v in plain["edition"]]})  # fmt: skip
        self._paragraph(plain["how_marked"])
        self._paragraph(plain["advice"])

    def _elements(self) -> None:
        plain = self.plain
        self._heading("What a proposal has to hold", 1)
        self._mark("derived")
        numbers = {s["key"]: s["number"] for s in plain["sections"]}
        rows = [
            [
                {"lines": [e["label"]], "refs": e["refs"]},
                *(_said(x) for x in (e["duty"], e["state_words"], str(numbers[e["section"]]),
                                     e["remark"])),
            ]
            for e in plain["elements"]
        ]  # fmt: skip
        head = ["Element", "Duty", "Here", "Section", "Remark"]
        widths = [0.38, 0.1, 0.17, 0.1, 0.25]
        self._table(
            {"caption": f"Required elements ({len(rows)})", "head": head, "rows": rows,
             "widths": widths, "marked": []}
        )  # fmt: skip

    def _section(self, section: Mapping[str, Any]) -> None:
        wide = section["key"] == "reasons"
        if wide:
            self._turn(WD_ORIENT.LANDSCAPE)
        self._heading(f"{section['number']}  {section['title']}", 1)
        if not section["passages"]:
            self._paragraph("Nothing to say.")
        for passage in section["passages"]:
            self._mark(passage["by_words"])
            for block in passage["blocks"]:
                self._block(block, passage["by"])
        if wide:
            self._turn(WD_ORIENT.PORTRAIT)

    def _turn(self, way: WD_ORIENT) -> None:
        page = self.doc.add_section(WD_SECTION.NEW_PAGE)
        page.orientation = way
        long, short = Mm(297), Mm(210)
        lies = way is WD_ORIENT.LANDSCAPE
        page.page_width, page.page_height = (long, short) if lies else (short, long)

    def _mark(self, words: str) -> None:
        self._paragraph(words, style="Whose word")

    def _block(self, block: Mapping[str, Any], by: str, level: int = 2) -> None:
        match block["kind"]:
            case "para":
                self._line(self._paragraph(style=f"Voice {by}"), block["line"])
            case "notice":
                begins = block["line"]["lines"][0].startswith(block["about_words"])
                lead = "" if begins else f"{block['about_words']}. "
                self._notice(block["about"], lead, block["line"])
            case "bullets":
                self._list(block, by)
            case "facts":
                self._facts(block)
            case "table":
                self._table(block)
            case "heading":
                self._heading(block["text"], level)
            case "figure":
                self._picture(block)
            case "sign":
                self._sign(block)

    def _list(self, block: Mapping[str, Any], by: str) -> None:
        for number, item in enumerate(block["items"], 1):
            style = f"Voice {by}" if block["ordered"] else f"Voice {by} list"
            paragraph = self._paragraph(style=style)
            if block["ordered"]:
                paragraph.add_run(f"{number}. ")
            self._line(paragraph, item)

    def _line(self, paragraph: Paragraph, line: Mapping[str, Any], *, bold: bool = False) -> None:
        for i, part in enumerate(line["lines"]):
            run = paragraph.add_run(part)
            run.bold = bold or None
            if i < len(line["lines"]) - 1:
                run.add_break()
        if line["refs"]:
            run = paragraph.add_run(f" [{line['refs']}]")
            run.font.size, run.font.color.rgb = Pt(7.5), QUIET

    def _notice(self, about: str, lead: str, line: Mapping[str, Any]) -> None:
        paragraph = self._paragraph(style=f"Notice {about}")
        if lead:
            paragraph.add_run(lead).bold = True
        self._line(paragraph, line, bold=about == "missing" and not lead)

    def _facts(self, block: Mapping[str, Any]) -> None:
        table = self.doc.add_table(rows=0, cols=2)
        lay_out(table, [0.28, 0.72])
        for row in block["rows"]:
            term, said = table.add_row().cells
            run = term.paragraphs[0].add_run(row["term"])
            run.font.color.rgb, run.font.size = QUIET, Pt(9)
            line = {"lines": ["still missing"], "refs": row["line"]["refs"]}
            self._cell(said, line if row["missing"] else row["line"])
        set_widths(table, [0.28, 0.72])
        self._after()

    def _table(self, block: Mapping[str, Any]) -> None:
        caption = self._paragraph(style="Whose word")
        caption.add_run(block["caption"])
        table = self.doc.add_table(rows=1, cols=len(block["head"]))
        table.style = self.doc.styles["Table Grid"]
        lay_out(table, block["widths"])
        for cell, text in zip(table.rows[0].cells, block["head"], strict=True):
            small(cell.paragraphs[0], text, bold=True)
        repeat(table.rows[0])
        for i, row in enumerate(block["rows"]):
            cells = table.add_row().cells
            for j, (cell, line) in enumerate(zip(cells, row, strict=True)):
                self._cell(cell, line, bold=j == 0 and i in block["marked"])
        set_widths(table, block["widths"])
        self._after()

    def _cell(self, cell: _Cell, line: Mapping[str, Any], *, bold: bool = False) -> None:
        paragraph = cell.paragraphs[0]
        paragraph.paragraph_format.space_after = Pt(1)
        self._line(paragraph, line, bold=bold)
        for run in paragraph.runs:
            run.font.size = run.font.size or Pt(9)

    def _after(self) -> None:
        """Put a little room after a table; two tables would grow together without it."""
        room = self._paragraph()
        room.paragraph_format.space_after = Pt(2)
        room.paragraph_format.line_spacing = Pt(6)

    def _picture(self, block: Mapping[str, Any]) -> None:
        held = self.figures.files[block["key"]]
        data = io.BytesIO(_as_bitmap(held))
        page = self.doc.sections[-1]
        lies = page.orientation is WD_ORIENT.LANDSCAPE
        most, highest = (240, 125) if lies else (WIDTH_MM, HIGHEST_MM)
        scale = min(most / held.width, highest / held.height, 0.265)
        holder = self._paragraph()
        run = holder.add_run()
        shape = run.add_picture(data, width=Mm(held.width * scale))
        shape._inline.docPr.set("descr", block["alt"])
        shape._inline.docPr.set("title", block["caption"][:200])
        holder.paragraph_format.keep_with_next = True
        self._paragraph(block["caption"], style="Whose word")

    def _sign(self, block: Mapping[str, Any]) -> None:
        table = self.doc.add_table(rows=1, cols=4)
        table.style = self.doc.styles["Table Grid"]
        widths = [0.3, 0.28, 0.27, 0.15]
        lay_out(table, widths)
        for cell, text in zip(table.rows[0].cells, ("", "Name", "Signature", "Date"), strict=True):
            small(cell.paragraphs[0], text, bold=True)
        repeat(table.rows[0])
        for row in block["rows"]:
            line = table.add_row()
            line.height = Mm(14)
            self._cell(line.cells[0], _said(row["role"]))
            line.cells[0].paragraphs[0].paragraph_format.keep_with_next = True
            self._cell(line.cells[1], _said(row["name"]))
        set_widths(table, widths)
        self._after()

    def _references(self) -> None:
        plain = self.plain
        if not plain["references"]:
            return
        self._heading("References", 1)
        self._paragraph(
            "Basis: read, the source was read; memory, recalled and not opened; practice, our own "
            "judgement or common practice."
        )
        for r in plain["references"]:
            source = f" Source S{r['source']}." if r["source"] else ""
            confidence = f", confidence {r['confidence']}" if r["confidence"] else ""
            self._paragraph(
                f"{r['number']}\t{r['statement']} [{r['claim']}] Basis: "
                f"{r['basis'] or 'not said'}{confidence}.{source}",
                style="Reference",
            )
        self._sources()

    def _sources(self) -> None:
        sources = self.plain["sources"]
        if sources:
            self._heading("Sources", 1)
        for s in sources:
            address = f" {s['address']}" if s["address"] else ""
            self._paragraph(f"S{s['number']}\t{s['citation']}{address}", style="Reference")


def _said(text: str) -> Plain:
    return {"lines": text.split("\n"), "refs": ""}


def _as_bitmap(held: Held) -> bytes:
    if held.is_drawing:
        return drawing_as_png(held)
    if held.media_type in ("image/jpeg", "image/png"):
        return held.data
    turned = io.BytesIO()
    with Image.open(io.BytesIO(held.data)) as picture:
        picture.convert("RGB").save(turned, "PNG")
    return turned.getvalue()
