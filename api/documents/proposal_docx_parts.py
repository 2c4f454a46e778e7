"""The Word document beneath a proposal: page, styles, running lines, fields and table widths."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import Any

from docx import Document
from docx.document import Document as Docx
from docx.enum.style import WD_STYLE_TYPE
from docx.enum.table import WD_TABLE_ALIGNMENT
from docx.enum.text import WD_ALIGN_PARAGRAPH
from docx.oxml import OxmlElement
from docx.oxml.ns import qn
from docx.shared import Mm, Pt, RGBColor
from docx.styles.styles import Styles
from docx.table import Table as DocxTable
from docx.text.paragraph import Paragraph

from leastwise.api.documents.proposal_plain import Plain

__all__ = ["QUIET", "WIDTH_MM", "field", "lay_out", "new_document", "repeat", "set_widths", "small"]

LANGUAGE, FONT = "en-GB", "Georgia"
INK, QUIET = RGBColor(0x23, 0x20, 0x1B), RGBColor(0x5B, 0x54, 0x49)
WIDTH_MM = 165
#: Whose word -> the rule at the left of a paragraph: line style, width in eighths of a point.
RULES = {
    "own": ("single", 18),
    "record": ("single", 4),
    "derived": ("dotted", 12),
    "review": ("dotDash", 12),
}
NOTICES = {
    "defeated": ("double", 12),
    "undecided": ("dashed", 12),
    "missing": ("dotted", 12),
    "people": ("single", 12),
    "note": ("single", 4),
}
HEADINGS = (("Title", 22, 0), ("Heading 1", 14, 18), ("Heading 2", 11, 10))


def new_document(plain: Plain, day: str) -> Docx:
    """Return an empty document with page, styles, running lines and properties of a proposal."""
    doc = Document()
    page = doc.sections[0]
    page.page_width, page.page_height = Mm(210), Mm(297)
    page.left_margin, page.right_margin = Mm(25), Mm(20)
    page.top_margin, page.bottom_margin = Mm(25), Mm(22)
    core = doc.core_properties
    core.title = f"{plain['title']}: {plain['kind_words'].lower()}"[:255]
    core.subject = f"{plain['kind_words']}, {plain['object']}"[:255]
    core.keywords, core.author, core.language = f"version {plain['version']}", "", LANGUAGE
    core.version = plain["version"]
    core.comments = f"case {plain['case_digest']}, knowledge {plain['knowledge']}"
    at = datetime.fromisoformat(f"{day}T12:00:00").replace(tzinfo=UTC)
    core.created = core.modified = at
    _base_styles(doc)
    _own_styles(doc)
    _running(plain, page)
    return doc


def _set_language(styles: Styles) -> None:
    """Put the language of the text in the place of the template's."""
    lang = OxmlElement("w:lang")
    for name in ("w:val", "w:eastAsia"):
        lang.set(qn(name), LANGUAGE)
    defaults = styles.element.find(f".//{qn('w:rPrDefault')}/{qn('w:rPr')}")
    for old in defaults.findall(qn("w:lang")):
        defaults.remove(old)
    defaults.append(lang)


def _base_styles(doc: Docx) -> None:
    styles = doc.styles
    normal = styles["Normal"]
    normal.font.name, normal.font.size, normal.font.color.rgb = FONT, Pt(10), INK
    normal.element.get_or_add_rPr().get_or_add_rFonts().set(qn("w:eastAsia"), FONT)
    normal.paragraph_format.space_after = Pt(5)
    _set_language(styles)
    for name, size, before in HEADINGS:
        style = styles[name]
        style.font.name, style.font.size, style.font.color.rgb = FONT, Pt(size), INK
        style.font.bold = name != "Title"
        fonts = style.element.get_or_add_rPr().get_or_add_rFonts()
        for attribute in ("asciiTheme", "hAnsiTheme", "eastAsiaTheme", "cstheme"):
            fonts.attrib.pop(qn(f"w:{attribute}"), None)
        room = style.paragraph_format
        room.space_before, room.space_after, room.keep_with_next = Pt(before), Pt(5), True


def _own_styles(doc: Docx) -> None:
    """Add a style for each voice, each kind of notice, marks and references."""
    for by, rule in RULES.items():
        _ruled(doc, f"Voice {by}", "Normal", rule)
        _ruled(doc, f"Voice {by} list", "List Bullet", rule)
    for about, rule in NOTICES.items():
        _ruled(doc, f"Notice {about}", "Normal", rule)
    mark = doc.styles.add_style("Whose word", WD_STYLE_TYPE.PARAGRAPH)
    mark.base_style, mark.font.italic, mark.font.size = doc.styles["Normal"], True, Pt(8.5)
    mark.font.color.rgb = QUIET
    room = mark.paragraph_format
    room.keep_with_next, room.space_before, room.space_after = True, Pt(5), Pt(1)
    reference = doc.styles.add_style("Reference", WD_STYLE_TYPE.PARAGRAPH)
    reference.base_style, reference.font.size = doc.styles["Normal"], Pt(8.5)
    room = reference.paragraph_format
    room.left_indent, room.first_line_indent, room.space_after = Mm(10), Mm(-10), Pt(3)


def _ruled(doc: Docx, name: str, base: str, rule: tuple[str, int]) -> None:
    """Add a paragraph style with a rule at its left."""
    style = doc.styles.add_style(name, WD_STYLE_TYPE.PARAGRAPH)
    style.base_style = doc.styles[base]
    border, left = OxmlElement("w:pBdr"), OxmlElement("w:left")
    looks = {"val": rule[0], "sz": str(rule[1]), "space": "8", "color": "23201B"}
    for key, value in looks.items():
        left.set(qn(f"w:{key}"), value)
    border.append(left)
    _put_in_place(style.element.get_or_add_pPr(), border)


def _running(plain: Plain, page: Any) -> None:
    draft = " \N{MIDDLE DOT} draft" if plain["draft"] else ""
    said = (
        f"{plain['title'][:80]}{draft}",
        f"version {plain['version']}",
        plain["date"],
        f"case {plain['case_digest']}",
        f"knowledge {plain['knowledge']}",
    )
    small(page.header.paragraphs[0], " \N{MIDDLE DOT} ".join(said))
    foot = page.footer.paragraphs[0]
    foot.alignment = WD_ALIGN_PARAGRAPH.RIGHT
    small(foot, "page ")
    field(foot, "PAGE")
    small(foot, " of ")
    field(foot, "NUMPAGES")


def small(paragraph: Paragraph, text: str, *, bold: bool = False) -> None:
    """Add small, quiet text to a paragraph."""
    run = paragraph.add_run(text)
    run.font.size, run.font.color.rgb, run.bold = Pt(8), QUIET, bold or None


def field(paragraph: Paragraph, name: str) -> None:
    """Add a field that the word processor works out, such as the number of the page."""
    for kind, text in (("begin", ""), ("", name), ("separate", ""), ("shown", "1"), ("end", "")):
        run = paragraph.add_run()
        run.font.size, run.font.color.rgb = Pt(8), QUIET
        if kind == "shown":
            run.text = text
            continue
        element = OxmlElement("w:fldChar" if kind else "w:instrText")
        if kind:
            element.set(qn("w:fldCharType"), kind)
        else:
            element.set(qn("xml:space"), "preserve")
            element.text = f" {text} "
        run._r.append(element)


def _put_in_place(properties: Any, border: Any) -> None:
    """Put a border where the schema wants it: after what says how paragraphs keep together."""
    before = ("pStyle", "keepNext", "keepLines", "pageBreakBefore", "framePr", "widowControl",
              "numPr", "suppressLineNumbers")  # fmt: skip
    place = sum(child.tag in {qn(f"w:{name}") for name in before} for child in properties)
    properties.insert(place, border)


def lay_out(table: DocxTable, widths: list[float]) -> None:
    """Give a table columns of fixed width, as shares of the line."""
    table.alignment = WD_TABLE_ALIGNMENT.LEFT
    table.autofit = False
    for column, share in zip(table.columns, _shares(widths), strict=True):
        column.width = Mm(WIDTH_MM * share)
    _room(table)


def _room(table: DocxTable) -> None:
    """Keep text off the lines of a table: 1 mm above and below (57 twentieths of a point)."""
    margins = OxmlElement("w:tblCellMar")
    for side in ("top", "bottom"):
        one = OxmlElement(f"w:{side}")
        one.set(qn("w:w"), "57")
        one.set(qn("w:type"), "dxa")
        margins.append(one)
    properties = table._tbl.tblPr
    look = properties.find(qn("w:tblLook"))  # the schema wants the margins before it
    if look is None:
        properties.append(margins)
    else:
        look.addprevious(margins)


def set_widths(table: DocxTable, widths: list[float]) -> None:
    """Set the width of every cell (Word reads these), and keep rows on one page."""
    wide = [Mm(WIDTH_MM * share) for share in _shares(widths)]
    for row in table._tbl.tr_lst:
        properties = row.get_or_add_trPr()
        if properties.find(qn("w:cantSplit")) is None:
            properties.insert(0, OxmlElement("w:cantSplit"))
        for cell, width in zip(row.tc_lst, wide, strict=True):
            cell.width = width


def _shares(widths: list[float]) -> list[float]:
    whole = sum(widths)
    return [one / whole for one in widths]


def repeat(row: Any) -> None:
    """Make a row the head of its table, repeated on every page."""
    element = OxmlElement("w:tblHeader")
    element.set(qn("w:val"), "true")
    row._tr.get_or_add_trPr().append(element)
