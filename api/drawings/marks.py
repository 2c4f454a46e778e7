"""What several drawings share: names with their values, and a bar of scale."""

from __future__ import annotations

from collections.abc import Sequence

from leastwise.api.drawings.svg import QUIET, Sheet

__all__ = ["scale_bar", "words_down"]

LEAST = 40.0


def words_down(
    sheet: Sheet, x: float, y: float, rows: Sequence[tuple[str, str]], width: float = 226.0
) -> float:
    """Write names with their values under them, from a baseline down; return what comes next."""
    for name, value in rows:
        sheet.text(x, y, name, 12, fill=QUIET)
        y = sheet.paragraph(x, y + 16, value, width, 12.5, font_weight="bold") + 6
    return y


def scale_bar(sheet: Sheet, x: float, y: float, scale: float) -> None:
    """Draw a bar of a round length in cm, with its words."""
    length = next((n for n in (10, 20, 50, 100, 200) if n * scale >= LEAST), 500)
    sheet.line([(x, y - 4), (x, y), (x + length * scale, y), (x + length * scale, y - 4)])
    sheet.text(x + length * scale + 8, y + 3, f"{length} cm", 12, fill=QUIET)
