"""A written proposal: what a case, its plan and somebody's own words come to, as frozen values.

Nothing here knows how it is set: pages, PDF, Word and linked data all write these values. The
same case, words, knowledge and edition give the same values.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, replace

from leastwise.graph.answer import Answer, SourceView
from leastwise.graph.case.record import Case
from leastwise.graph.knowledge.cite import cite
from leastwise.graph.planning.make import make_plan
from leastwise.graph.planning.values import Plan
from leastwise.graph.proposal.report.approval import approval_notice
from leastwise.graph.proposal.report.brief import Brief
from leastwise.graph.proposal.report.care import CareSections
from leastwise.graph.proposal.report.choice import Work
from leastwise.graph.proposal.report.derived import DerivedSections, notices
from leastwise.graph.proposal.report.elements import Elements
from leastwise.graph.proposal.report.record import RecordSections
from leastwise.graph.proposal.report.reviews import Reviews
from leastwise.graph.proposal.report.values import (
    Block,
    Edition,
    Element,
    Figure,
    Line,
    Notice,
    Para,
    Passage,
    Reference,
    Report,
    Section,
)
from leastwise.graph.proposal.report.words import OwnWords, blocks_of, cleaned
from leastwise.graph.weighing.advise import Adviser

__all__ = [
    "MAY_REPLACE",
    "TITLES",
    "case_digest",
    "cleaned_passage",
    "make_report",
    "make_work",
    "open_points",
    "with_references",
]

#: The sections in order, with their titles.
TITLES: dict[str, str] = {
    "people": "People first",
    "purpose": "Purpose, recorder and date",
    "identification": "Identification",
    "images": "Photographs and sketch",
    "methods": "Methods of examination",
    "observation": "Observation",
    "interpretation": "Interpretation",
    "condition": "Present condition",
    "past_treatment": "Evidence of past treatment",
    "significance": "Significance and what must be kept",
    "aims": "Aims",
    "tests": "Tests done and to be done",
    "method": "Method and materials",
    "time": "Estimate of time",
    "cost": "Estimate of cost",
    "options": "Options considered",
    "benefits": "Benefits",
    "risks": "Risks",
    "compensation": "Compensation for loss",
    "display": "Limits of display and storage",
    "future_care": "Future care",
    "competence": "Who is competent for it",
    "deviations": "Departures from this plan",
    "approvals": "Approvals",
    "reasons": "The reasons drawn",
}
#: Sections whose drawings were worked out and not recorded.
WORKED_OUT = ("method", "reasons")
#: Sections whose derived text own words may stand for; what protects people, what was weighed,
#: what is open and what has to be approved always stays.
MAY_REPLACE = ("interpretation", "aims", "time", "benefits", "future_care", "compensation")


def case_digest(case: Case) -> str:
    """Return the digest of a case's content."""
    return hashlib.sha256(case.model_dump_json().encode()).hexdigest()


def filled_in(edition: Edition, case: Case, answer: Answer) -> Edition:
    """Return an edition with the digests that follow from a case and its answer."""
    return replace(
        edition,
        case_digest=edition.case_digest or case_digest(case),
        knowledge=answer.stamp.knowledge,
        rules=answer.stamp.rules,
        policy=answer.policy.label,
    )


def make_work(
    case: Case,
    adviser: Adviser,
    words: OwnWords,
    *,
    answer: Answer | None = None,
    plan: Plan | None = None,
) -> Work:
    """Return what is proposed for a case: the plan's choice, and where the words say so another.

    *answer* and *plan* are of the same case and adviser, where they are at hand.
    """
    return Work(
        case, adviser, answer or adviser.weigh(case), plan or make_plan(case, adviser), words
    )


def make_report(
    work: Work,
    edition: Edition,
    *,
    figures: Mapping[str, Iterable[Figure | Para]] | None = None,
    pictures_before: int = 0,
    reviews: Reviews | None = None,
) -> Report:
    """Return the proposal for a case.

    Args:
        work: what is proposed, from :func:`make_work`.
        edition: versions and date; digests that it leaves empty are filled in.
        figures: section -> drawings and photographs, which the caller holds under their keys,
            or a sentence that says why one is left out.
        pictures_before: how many photographs from before treatment there are.
        reviews: what was said in Review of the frozen versions; None gives the text as it is
            frozen, before anybody has signed.

    """
    case, answer = work.case, work.answer
    edition = filled_in(edition, case, answer)
    writer = _Writer(work, figures or {}, reviews)
    report = Report(
        case.id,
        cleaned(case.title),
        cleaned(case.object.name),
        case.demo,
        edition,
        (),
        _in_order(Elements(work, pictures_before, reviews).all()),
        work.chosen,
        tuple(writer.sections()),
        (),
        (),
        reviews=reviews,
        brief=writer.brief(),
    )
    return with_references(report, work.adviser)


@dataclass(frozen=True)
class _Writer:
    """Puts the sections together, own words before what was derived."""

    work: Work
    figures: Mapping[str, Iterable[Figure | Para]]
    reviews: Reviews | None = None

    def brief(self) -> tuple[tuple[Block, ...], ...]:
        """Return the two pages that say it all in short."""
        brief = Brief(self.work)
        pages = (brief.first_page(), brief.second_page())
        return tuple(tuple(_clean_block(block) for block in page) for page in pages)

    def sections(self) -> Iterator[Section]:
        """Yield every section in order."""
        record = RecordSections(
            self.work.case, self.work.adviser.knowledge, self.work.answer, self.work.words
        )
        derived, care = DerivedSections(self.work), CareSections(self.work, self.reviews)
        worked_out: dict[str, Iterable[Passage]] = {
            "people": care.people(),
            "purpose": record.purpose(),
            "identification": record.identification(),
            "observation": record.observation(),
            "interpretation": record.interpretation(),
            "condition": record.condition(),
            "past_treatment": record.past_treatment(),
            "significance": record.significance(),
            "aims": record.aims(),
            "options": derived.options(),
            "tests": (
                Passage("record", tuple(record.tests_done())),
                Passage("derived", tuple(derived.tests())),
            ),
            "method": derived.method(),
            "time": derived.time(),
            "benefits": derived.benefits(),
            "risks": derived.risks(),
            "compensation": care.compensation(),
            "display": care.display(),
            "future_care": care.future_care(),
            "competence": care.competence(),
            "deviations": care.deviations(),
            "approvals": care.approvals(),
        }
        for key, title in TITLES.items():
            if key == "reasons" and not any(True for _ in self.figures.get(key, ())):
                continue
            yield self._section(key, title, tuple(worked_out.get(key, ())))

    def _section(self, key: str, title: str, passages: tuple[Passage, ...]) -> Section:
        words = self.work.words
        own = blocks_of(words.text(key))
        figures: tuple[Block, ...] = tuple(self.figures.get(key, ()))
        replaced = key in MAY_REPLACE and words.instead(key)
        kept = tuple(p for p in passages if p.by != "derived") if replaced else passages
        whole = [Passage("own", own)] if own else []
        whole += kept
        if replaced:
            left_out = "The derived text was left out; the writer's own words stand for it."
            whole.append(Passage("derived", (Para(Line(left_out)),)))
        if figures:
            whole.append(Passage("derived" if key in WORKED_OUT else "record", figures))
        missing = self._missing(key) if not own and not figures else None
        if missing is not None:
            whole.append(Passage("own", (missing,)))
        return Section(
            key,
            title,
            tuple(cleaned_passage(p) for p in whole),
            replaced,
            passages if replaced else (),
        )

    def _missing(self, key: str) -> Notice | None:
        """Return the notice for a section that only own words can fill."""
        if key == "cost":
            said = self.work.words.contractual
            if said == "no":
                return Notice("note", Line("Not due: the work is not contractual."))
            due = "an estimate of cost is due, since the work is contractual."
            asked = "whether the work is contractual is not said; if it is, an estimate is due."
            return Notice("missing", Line(f"Still missing: {due if said == 'yes' else asked}",
                                          ("claim:E-269",)))  # fmt: skip
        lacks = {
            "methods": Line("Still missing: how the object was looked at.", ("claim:E-267",)),
            "images": Line("Still missing: images before treatment.", ("claim:E-272",)),
        }.get(key)
        return Notice("missing", lacks) if lacks else None


def _in_order(elements: Iterable[Element]) -> tuple[Element, ...]:
    """Return the elements in the order of their sections."""
    order = list(TITLES)
    return tuple(sorted(elements, key=lambda e: order.index(e.section)))


def cleaned_passage(passage: Passage) -> Passage:
    """Return a passage in which every text can be shown; records hold what people typed."""
    return Passage(passage.by, tuple(_clean_block(b) for b in passage.blocks))


def _clean_notice(notice: Notice) -> Notice:
    return replace(notice, line=_clean_line(notice.line))


def _clean_line(line: Line) -> Line:
    return Line(cleaned(line.text), line.claims)


def _clean_block(block: Block) -> Block:  # noqa: PLR0911 - one for each kind of block
    match block.kind:
        case "para" | "notice":
            return replace(block, line=_clean_line(block.line))
        case "bullets":
            return replace(block, items=tuple(_clean_line(x) for x in block.items))
        case "facts":
            rows = tuple((cleaned(t), _clean_line(x)) for t, x in block.rows)
            return replace(block, rows=rows)
        case "table":
            cells = tuple(tuple(_clean_line(x) for x in row) for row in block.rows)
            return replace(block, rows=cells, caption=cleaned(block.caption)).trimmed()
        case "heading":
            return replace(block, text=cleaned(block.text))
        case "figure":
            return replace(block, caption=cleaned(block.caption), alt=cleaned(block.alt))
        case _:
            return block


def with_references(report: Report, adviser: Adviser) -> Report:
    """Return the report with its claims and their sources numbered as they are first cited."""
    order = list(dict.fromkeys(c for line in report.lines() for c in line.claims))
    views, sources = cite(adviser.knowledge, order)
    numbers = {claim: i for i, claim in enumerate(order, 1)}
    named: dict[str, int] = {}
    for claim in order:
        source = views[claim].source
        if source:
            named.setdefault(source, len(named) + 1)
    references = tuple(
        Reference(i, claim, views[claim], named.get(views[claim].source, 0))
        for claim, i in numbers.items()
    )
    listed: tuple[tuple[int, str, SourceView], ...] = tuple(
        (i, name, sources[name]) for name, i in named.items()
    )
    return replace(report, references=references, sources=listed, numbers=numbers)


def open_points(report: Report) -> tuple[Notice, ...]:
    """Return what may not be overlooked of a whole proposal, for the head of a document."""
    approval = approval_notice(report.reviews)
    first = () if approval is None else (_clean_notice(approval),)
    return (*first, *notices(report.chosen))
