"""A proposal as plain lists and mappings, numbers of claims put in: what every document sets.

PDF, Word and web page say the same because they all set this.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

from leastwise.graph.proposal.report.make import open_points
from leastwise.graph.proposal.report.values import (
    BY_WORDS,
    STATE_WORDS,
    Block,
    Bullets,
    Element,
    Facts,
    Figure,
    Heading,
    Line,
    Notice,
    Para,
    Passage,
    Report,
    Sign,
    Table,
)

__all__ = ["ADVICE", "ranges", "set_out"]

ADVICE = (
    "Advice for a conservator's own judgement. It does not replace examination, training, a "
    "reviewer or the owner's consent. Where people or objects could come to harm, local codes, "
    "safety data sheets and licensed practice decide."
)
INVENTED = "An invented demo case: object, place and people are made up."
#: A further voice, said only where somebody has spoken.
REVIEW_MARKED = " Said in Review are decisions and signatures on frozen versions of this text."
HOW_MARKED = (
    "Every passage says whose word it is: own words are the writer's, from the record is what was "
    "entered of the object, derived was worked out by Leastwise from record, rules and the "
    "numbered claims. Figures in brackets name the references."
)
RECORD_MARKED = (
    "Every passage says whose word it is: from the record is what was entered day by day, own "
    "words are those of who closed it, derived was worked out by Leastwise from record and plan. "
    "Figures in brackets name the references."
)
KIND_WORDS = {"proposal": "Treatment proposal", "record": "Treatment record"}
EN_DASH = "\N{EN DASH}"
TO_BE_FILLED_IN = "to be filled in"
ABOUT_WORDS = {
    "defeated": "Defeated",
    "undecided": "Undecided",
    "missing": "Still missing",
    "people": "People first",
    "note": "Note",
}

Plain = dict[str, Any]


def ranges(numbers: Iterable[int]) -> str:
    """Return numbers in order, runs of three and more drawn together.

    >>> ranges([4, 1, 2, 3, 9]).split(EN_DASH)
    ['1', '4, 9']
    """
    runs: list[list[int]] = []
    for one in sorted(set(numbers)):
        if runs and one == runs[-1][-1] + 1:
            runs[-1].append(one)
        else:
            runs.append([one])
    said = []
    for run in runs:
        if len(run) > 2:
            said.append(f"{run[0]}{EN_DASH}{run[-1]}")
        else:
            said += [str(one) for one in run]
    return ", ".join(said)


def set_out(report: Report, *, kept: bool = False) -> Plain:
    """Return a proposal as plain data; *kept* shows what own words replaced as well."""
    numbers = report.numbers
    return {
        **_head(report),
        "summary": [_line(line, numbers) for line in report.summary],
        "brief": [[_block(b, numbers) for b in page] for page in report.brief],
        "notices": [_block(n, numbers) for n in _first_notices(report)],
        "elements": [_element(e, numbers) for e in report.elements],
        "sections": [
            {
                "number": i,
                "key": s.key,
                "title": s.title,
                "replaced": s.replaced,
                "passages": [_passage(p, numbers) for p in s.passages],
                "derived": [_passage(p, numbers) for p in s.derived] if kept else [],
            }
            for i, s in enumerate(report.sections, 1)
        ],
        **_cited(report),
    }


def _head(report: Report) -> Plain:
    """Return what a document is, of what, how far it has come, and from what it was made."""
    edition = report.edition
    stamps = {
        "case_digest": edition.case_digest[:16],
        "knowledge": edition.knowledge[:16],
        "rules": edition.rules[:16],
    }
    return {
        "kind_words": KIND_WORDS[report.kind],
        "title": report.title,
        "object": report.object,
        "case": report.case_id,
        "demo": INVENTED if report.demo else "",
        "draft": report.is_draft,
        "draft_words": _state_words(report),
        "advice": ADVICE,
        "how_marked": _marked_words(report),
        "edition": [
            ["Version", edition.version],
            ["Date", edition.date],
            ["Case", stamps["case_digest"]],
            ["Knowledge", stamps["knowledge"]],
            ["Rules", stamps["rules"]],
            ["Policy", edition.policy],
        ],
        "version": edition.version,
        "date": edition.date,
        **stamps,
    }


def _element(e: Element, numbers: Mapping[str, int]) -> Plain:
    return {
        "key": e.key,
        "label": _upper(e.label),
        "duty": e.duty,
        "state": e.state,
        "state_words": STATE_WORDS[e.state],
        "remark": e.remark,
        "section": e.section,
        "refs": ranges(numbers[c] for c in e.claims if c in numbers),
    }


def _cited(report: Report) -> Plain:
    """Return the claims that the text rests on, and the sources that they come from."""
    return {
        "references": [
            {
                "number": r.number,
                "claim": r.claim,
                "statement": r.view.statement,
                "basis": r.view.basis,
                "confidence": r.view.confidence,
                "source": r.source,
            }
            for r in report.references
        ],
        "sources": [
            {
                "number": i,
                "id": name,
                "citation": v.citation,
                "address": v.address,
                "href": v.address if v.address.startswith(("https://", "http://")) else "",
            }
            for i, name, v in report.sources
        ],
    }


def _state_words(report: Report) -> str:
    """Return in words how far the document has come."""
    if report.kind == "record":
        return _record_words(report.lacks)
    missing = [e for e in report.missing if e.key != "approval"]
    musts = sum(e.duty == "must" for e in missing)
    signed = next((e.remark for e in report.elements if e.state == "signed"), "")
    return _draft_words(musts, len(missing), signed)


def _marked_words(report: Report) -> str:
    """Return how the document says whose word each passage is."""
    if report.kind == "record":
        return RECORD_MARKED
    reviewed = bool(report.reviews and report.reviews.versions)
    return HOW_MARKED + (REVIEW_MARKED if reviewed else "")


def _first_notices(report: Report) -> list[Notice]:
    """Return the notices at the head; what waits is told by the brief where there is one."""
    waits = {"undecided"} if report.brief else set[str]()
    return [one for one in open_points(report) if one.about not in waits]


def _draft_words(musts: int, missing: int, signed: str = "") -> str:
    """Return what is still missing besides the signature, in words, for the head of the document.

    *signed* says what was signed and by whom, where this text is.

    >>> _draft_words(1, 2), _draft_words(0, 0)
    ('Draft: 1 required element is still missing, besides the signature.', 'Ready to be signed.')
    >>> _draft_words(0, 0, "version 1, by B"), _draft_words(2, 2, "version 1, by B")
    ('Signed off.', 'Draft: signed off, yet 2 required elements are still missing.')
    """
    if not musts:
        words = "Signed off" if signed else "Ready to be signed"
        return f"{words}; some is missing." if missing else f"{words}."
    are = "element is" if musts == 1 else "elements are"
    if signed:
        return f"Draft: signed off, yet {musts} required {are} still missing."
    return f"Draft: {musts} required {are} still missing, besides the signature."


def _record_words(lacks: int) -> str:
    """Return in words whether a treatment record can be closed.

    >>> _record_words(1)
    'Not final: 1 thing that a final record has to hold is still missing.'
    """
    if not lacks:
        return "Final: the record holds all that a final record has to hold."
    things = "thing" if lacks == 1 else "things"
    is_are = "is" if lacks == 1 else "are"
    return f"Not final: {lacks} {things} that a final record has to hold {is_are} still missing."


def _line(line: Line, numbers: Mapping[str, int]) -> Plain:
    return {
        "lines": line.text.split("\n"),
        "refs": ranges(numbers[c] for c in line.claims if c in numbers),
    }


def _passage(passage: Passage, numbers: Mapping[str, int]) -> Plain:
    return {
        "by": passage.by,
        "by_words": TO_BE_FILLED_IN if _is_missing(passage) else BY_WORDS[passage.by],
        "blocks": [_block(b, numbers) for b in passage.blocks],
    }


def _is_missing(passage: Passage) -> bool:
    blocks = passage.blocks
    return bool(blocks) and all(isinstance(b, Notice) and b.about == "missing" for b in blocks)


def _block(block: Block, numbers: Mapping[str, int]) -> Plain:
    plain: Plain = {"kind": block.kind}
    match block:
        case Para():
            plain["line"] = _line(block.line, numbers)
        case Notice():
            plain |= {
                "about": block.about,
                "about_words": ABOUT_WORDS[block.about],
                "line": _line(block.line, numbers),
            }
        case Bullets():
            plain |= {
                "ordered": block.ordered,
                "items": [_line(x, numbers) for x in block.items],
            }
        case Facts():
            plain["rows"] = [
                {"term": _upper(t), "line": _line(x, numbers), "missing": not x.text.strip()}
                for t, x in block.rows
            ]
        case Table():
            plain |= {
                "caption": block.caption,
                "head": list(block.head),
                "rows": [[_line(x, numbers) for x in row] for row in block.rows],
                "widths": list(block.widths),
                "marked": list(block.marked),
            }
        case Heading():
            plain |= {"text": block.text, "anchor": block.anchor}
        case Figure():
            plain |= {"key": block.key, "caption": block.caption, "alt": block.alt}
        case Sign():
            plain["rows"] = [
                {"role": r, "name": n} for r, n in zip(block.roles, block.names, strict=True)
            ]
    return plain


def _upper(text: str) -> str:
    return text[:1].upper() + text[1:]
