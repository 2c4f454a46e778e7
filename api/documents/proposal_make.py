"""One door to the documents of a proposal: put together once, written in the form asked for."""

from __future__ import annotations

from dataclasses import dataclass

from leastwise.api.documents.proposal_figures import Figures
from leastwise.graph.case.record import Case
from leastwise.graph.names import BASE
from leastwise.graph.proposal.report.values import Report

__all__ = ["FORMS", "PRINTED", "Proposal", "printed"]

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
