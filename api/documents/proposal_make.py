"""One door to the documents of a proposal: put together once, written in the form asked for."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from leastwise.api.documents.proposal_figures import Figures, Photograph, figures_of
from leastwise.graph import Adviser
from leastwise.graph.answer import Answer
from leastwise.graph.case.record import Case
from leastwise.graph.names import BASE
from leastwise.graph.planning.values import Plan
from leastwise.graph.proposal.report.make import make_report, make_work
from leastwise.graph.proposal.report.reviews import Reviews
from leastwise.graph.proposal.report.values import Edition, Report
from leastwise.graph.proposal.report.words import OwnWords

__all__ = ["FORMS", "PRINTED", "Pieces", "Proposal", "printed", "put_together", "written"]

#: How a file's name ends -> media type.
FORMS = {
    "pdf": "application/pdf",
    "docx": "application/vnd.openxmlformats-officedocument.wordprocessingml.document",
    "html": "text/html; charset=utf-8",
    "jsonld": "application/ld+json",
}


#: Forms that are set by pages, the same for every document.
PRINTED = ("pdf", "docx")


def printed(form: str, report: Report, figures: Figures) -> bytes:
    """Return a document in one of PRINTED."""
    if form == "pdf":
        from leastwise.api.documents.proposal_pdf import proposal_pdf  # noqa: PLC0415 - slow

        return proposal_pdf(report, figures)
    from leastwise.api.documents.proposal_docx import proposal_docx  # noqa: PLC0415 - slow

    return proposal_docx(report, figures)


@dataclass(frozen=True, slots=True)
class Proposal:
    """A proposal with its figures, ready to be written."""

    report: Report
    figures: Figures
    case: Case

    def written(self, form: str, base: str = BASE) -> bytes:
        """Return the proposal in one of FORMS; names in linked data stand under *base*."""
        if form in PRINTED:
            return printed(form, self.report, self.figures)
        if form == "html":
            from leastwise.api.documents.proposal_html import proposal_html  # noqa: PLC0415

            return proposal_html(self.report, self.figures).encode()
        from leastwise.api.documents.proposal_jsonld import proposal_jsonld  # noqa: PLC0415 - slow

        return proposal_jsonld(self.report, self.case, base).encode()


@dataclass(frozen=True, slots=True)
class Pieces:
    """What a proposal is put together from, besides the case.

    Attributes:
        words: its own words, and the choices that differ from the plan's.
        answer: the answer for the case.
        plan: the plan that it proposes.
        edition: its versions and its day.
        photographs: photographs by id, with their files.
        sketch: the newest sketch as it is stored, or None.
        reviews: what was said in Review, or None where it is to say nothing of that.

    """

    words: OwnWords
    answer: Answer
    plan: Plan
    edition: Edition
    photographs: Mapping[str, Photograph]
    sketch: Mapping[str, Any] | None = None
    reviews: Reviews | None = None


def put_together(adviser: Adviser, case: Case, given: Pieces) -> Proposal:
    """Return the proposal with its figures."""
    work = make_work(case, adviser, given.words, answer=given.answer, plan=given.plan)
    ground = str(given.sketch.get("ground", "")) if given.sketch else ""
    figures = figures_of(
        work,
        photographs=list(given.photographs.values()),
        sketch=given.sketch,
        sketch_photograph=given.photographs.get(ground.removeprefix("photograph:")),
    )
    report = make_report(
        work,
        given.edition,
        figures=figures.by_section,
        pictures_before=figures.photographs_before,
        reviews=given.reviews,
    )
    return Proposal(report, figures, work.case)


def written(adviser: Adviser, case: Case, given: Pieces, form: str, base: str) -> bytes:
    """Return the proposal in one of FORMS; names in linked data stand under *base*."""
    return put_together(adviser, case, given).written(form, base)
