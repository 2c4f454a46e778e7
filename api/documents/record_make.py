"""The documents of a treatment record: its figures, and the record in the form asked for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from leastwise.api.documents.proposal_figures import (
    MOST_PHOTOGRAPHS,
    PRINT_PIXELS,
    TYPES,
    Figures,
    Photograph,
    add_drawing,
    as_jpeg,
    photograph_figures,
)
from leastwise.api.documents.proposal_make import FORMS, PRINTED, printed
from leastwise.api.drawings.readings import ReadingChart, reading_charts
from leastwise.graph import Adviser
from leastwise.graph.names import BASE
from leastwise.graph.proposal.report.values import Edition, Line, Para, Report
from leastwise.graph.proposal.report.words import cleaned
from leastwise.graph.treatment.report import STAGES, Treatment, treatment_report

__all__ = ["RECORD_FORMS", "RecordDocument", "RecordPieces", "record_figures", "record_written"]

#: How a file's name ends -> media type; the page of the record itself is its HTML.
RECORD_FORMS = {form: FORMS[form] for form in ("pdf", "docx", "jsonld")}
#: The charts of pages are styled by the page; a document has no style sheet.
CHART_STYLE = (
    "<style>.axis,.line{fill:none;stroke:#23201b;stroke-width:1.2}"
    ".line{stroke:#254a72;stroke-width:1.4}.mark{fill:#fff;stroke:#23201b;stroke-width:1.2}"
    ".tick{font-size:11px;fill:#5b5449}</style>"
)


def _caption(chart: ReadingChart) -> str:
    caption = f"{chart.title[:1].upper()}{chart.title[1:]} over time"
    if len(chart.legend) > 1:
        marks = zip(("square", "triangle", "circle", "diamond"), chart.legend, strict=False)
        caption += f"; marks: {', '.join(f'{mark}, {place}' for mark, place in marks)}"
    return caption


def record_figures(work: Treatment, photographs: Sequence[Photograph]) -> Figures:
    """Return the photographs by stage and the charts of the readings."""
    found = Figures(photographs_before=sum(p.stage == "before" for p in photographs))
    order = list(STAGES)
    known = [p for p in photographs if p.media_type in TYPES and p.stage in STAGES]
    shown = sorted(known, key=lambda p: order.index(p.stage))[:MOST_PHOTOGRAPHS]
    named = photograph_figures([(p.name, p.stage) for p in shown])
    for figure, one in zip(named, shown, strict=True):
        found.add(f"images-{one.stage}", figure, as_jpeg(one, PRINT_PIXELS))
    left_out = len(photographs) - len(shown)
    if left_out:
        last = shown[-1].stage if shown else "after"
        words = f"Further photographs are kept with the case and not shown here: {left_out}."
        found.by_section.setdefault(f"images-{last}", []).append(Para(Line(words)))
    parts = {p.id: cleaned(p.name) for p in work.case.parts}
    readings = [r.model_copy(update={"unit": cleaned(r.unit)}) for r in work.record.readings]
    for number, chart in enumerate(reading_charts(readings, parts), 1):
        caption = _caption(chart)
        head, _, rest = chart.svg.partition(">")
        add_drawing(found, "readings", f"readings-{number}", f"{head}>{CHART_STYLE}{rest}", caption)
    return found


@dataclass(frozen=True, slots=True)
class RecordDocument:
    """A treatment record with its figures, ready to be written."""

    report: Report
    figures: Figures
    work: Treatment

    def written(self, form: str, base: str = BASE) -> bytes:
        """Return the record in one of RECORD_FORMS; names in linked data stand under *base*."""
        if form in PRINTED:
            return printed(form, self.report, self.figures)
        from leastwise.api.documents.record_jsonld import record_jsonld  # noqa: PLC0415 - slow

        return record_jsonld(self.report, self.work, base).encode()


@dataclass(frozen=True, slots=True)
class RecordPieces:
    """What the document of a treatment record is put together from."""

    work: Treatment
    photographs: tuple[Photograph, ...]
    edition: Edition


def record_written(adviser: Adviser, given: RecordPieces, form: str, base: str) -> bytes:
    """Return the record in one of RECORD_FORMS; names in linked data stand under *base*."""
    figures = record_figures(given.work, given.photographs)
    report = treatment_report(given.work, adviser, given.edition, figures.by_section)
    return RecordDocument(report, figures, given.work).written(form, base)
