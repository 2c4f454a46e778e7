"""Questions on claims: a remark, a rebuttal with its source, or a change proposed as Turtle.

Anybody who may write can ask; an editor of the knowledge settles it. A change is taken only after
it was compared with the knowledge as it stands, so that whoever takes it has seen which verdicts
it changes. Taken, it is a file for the collection's own folder; shipped claims stay as they are.
"""

from __future__ import annotations

import tempfile
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from leastwise.api.store import Document, Store
from leastwise.api.store.records.visible import documents_of_kind
from leastwise.graph.authoring.compare_told import comparison_told
from leastwise.graph.errors import LeastwiseError
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.weighing.advise import Adviser

__all__ = [
    "KINDS",
    "QUESTION",
    "STATES",
    "ClaimQuestion",
    "NotCompared",
    "WrongQuestion",
    "ask",
    "compare_change",
    "question_by_id",
    "questions_on",
    "settle",
    "write_change",
]

#: Kind of record.
QUESTION = "claim-question"
KINDS = {
    "remark": "a remark",
    "rebuttal": "a rebuttal with its source",
    "change": "a proposed change",
}
STATES = ("open", "accepted", "declined")
MOST = {"text": 4000, "source": 1000, "turtle": 40_000}


class WrongQuestion(LeastwiseError):  # noqa: N818 - reads as what happened
    """What was sent can't be kept; *fields* says of each field what is wrong."""

    def __init__(self, fields: Mapping[str, str]) -> None:
        self.fields = dict(fields)
        super().__init__(" ".join(f"{name}: {what}" for name, what in fields.items()))


class NotCompared(LeastwiseError):  # noqa: N818 - reads as what happened
    """A change is taken only after it was compared with the knowledge as it now stands."""

    def __init__(self, name: str) -> None:
        super().__init__(f"{name}: compare it first with the knowledge as it now stands.")


@dataclass(frozen=True, slots=True)
class ClaimQuestion:
    """One question with what came of it."""

    document: Document

    @property
    def id(self) -> str:
        """Return its name in the store."""
        return self.document.id

    @property
    def claim(self) -> str:
        """Return the claim that it is about."""
        return str(self.document.body["claim"])

    def said(self, key: str) -> str:
        """Return one of its texts: what, text, source, turtle, state, answer; "" if not given."""
        return str(self.document.body.get(key, ""))

    @property
    def comparison(self) -> tuple[str, ...]:
        """Return what the change would change, line by line; empty before it was compared."""
        return tuple(self.document.body.get("comparison", {}).get("lines", ()))

    def compared_with(self, adviser: Adviser) -> bool:
        """Return whether it was compared with this knowledge and these rules."""
        held = self.document.body.get("comparison", {})
        return bool(held) and all(held.get(key) == one for key, one in _stamp(adviser).items())


def _stamp(adviser: Adviser) -> dict[str, str]:
    return {"knowledge": adviser.knowledge.digest, "rules": adviser.rules.digest}


def questions_on(store: Store, claim: str = "") -> list[ClaimQuestion]:
    """Return the questions on a claim, oldest first; on all claims without one."""
    found = (ClaimQuestion(one) for one in documents_of_kind(store, QUESTION))
    return [one for one in found if claim in ("", one.claim)]


def question_by_id(store: Store, name: str) -> ClaimQuestion:
    """Return one question.

    Raises:
        NotStored: there is none of this name.

    """
    return ClaimQuestion(store.read(name, QUESTION))


def ask(
    store: Store, k: Knowledge, given: Mapping[str, str], who: str, folders: Sequence[Path] = ()
) -> ClaimQuestion:
    """Keep a question; *given* holds claim, what, text, source and turtle.

    What the collection's own *folders* define may be named in a change.

    Raises:
        WrongQuestion: a field is missing, too long, or a change isn't knowledge that can be used.

    """
    body = {key: given.get(key, "").strip() for key in ("claim", "what", *MOST)}
    wrong = _wrong(body, k, folders)
    if wrong:
        raise WrongQuestion(wrong)
    what = f"{KINDS[body['what']]} on {body['claim']}"
    kept = store.create(QUESTION, {**body, "state": "open"}, who=who, what=what, title=what)
    return ClaimQuestion(kept)


def _wrong(body: Mapping[str, str], k: Knowledge, folders: Sequence[Path]) -> dict[str, str]:
    wrong = {
        key: f"Got {len(body[key])} characters; expected at most {most}."
        for key, most in MOST.items()
        if len(body[key]) > most
    }
    if body["claim"] not in k.instances("lw:Claim"):
        wrong["claim"] = f"Got {body['claim']!r}; expected a claim such as claim:M-128."
    if body["what"] not in KINDS:
        wrong["what"] = f"Got {body['what']!r}; expected one of {', '.join(KINDS)}."
    if not body["text"]:
        wrong["text"] = "Still missing: what is to be said."
    if body["what"] == "rebuttal" and not body["source"]:
        wrong["source"] = "Still missing: the source, with author, year, title and pages."
    if body["what"] == "change" and not wrong:
        fault = _faults(body["turtle"], folders)
        if fault:
            wrong["turtle"] = fault
    return wrong


def _faults(turtle: str, folders: Sequence[Path]) -> str:
    """Return what keeps a change from being used, in words, or ""."""
    from leastwise.graph.authoring.check_knowledge import check_files  # noqa: PLC0415 - slow to import

    if not turtle:
        return "Still missing: the change, as Turtle."
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "change.ttl"
        path.write_text(turtle, "utf-8")
        faults, _ = check_files([path], over=folders)
    told = [str(fault).replace(f"{folder}/", "") for fault in faults if fault.level == "error"]
    return " ".join(told[:3])


def compare_change(
    store: Store,
    question: ClaimQuestion,
    who: str,
    folders: Sequence[Path] = (),
    cache: Path | None = None,
) -> ClaimQuestion:
    """Keep what a change would change in the invented cases, beside what it was held against.

    That is what is shipped with the collection's own *folders* over it, as it is now. Weighs each
    case twice, which takes some seconds.
    """
    from leastwise.graph.authoring.compare import SHIPPED, compare, demo_cases  # noqa: PLC0415
    from leastwise.graph.load import open_side  # noqa: PLC0415

    with tempfile.TemporaryDirectory() as folder:
        (Path(folder) / "change.ttl").write_text(question.said("turtle"), "utf-8")
        now = open_side(SHIPPED, over=folders, cache=cache)
        found = compare(now, open_side(folder, over=folders, cache=cache), demo_cases())
    lines = [line.replace(folder, "the change") for line in comparison_told(found)]
    held = _stamp(now.adviser)
    body: dict[str, Any] = {
        **question.document.body,
        "comparison": {**held, "lines": lines, "changes": found.verdicts_change},
    }
    what = f"compared {question.said('what')} on {question.claim}"
    kept = store.save(question.id, question.document.version, body, who=who, what=what)
    return ClaimQuestion(kept)


def settle(  # noqa: PLR0913 - what a decision is told by
    store: Store, question: ClaimQuestion, adviser: Adviser, *, state: str, answer: str, who: str
) -> ClaimQuestion:
    """Keep the decision on a question: accepted or declined, with the reason.

    Raises:
        WrongQuestion: the state is none of them, or no reason is given.
        NotCompared: a change is to be taken that wasn't compared with this knowledge and rules.

    """
    if state not in ("accepted", "declined"):
        raise WrongQuestion({"state": f"Got {state!r}; expected accepted or declined."})
    if not answer.strip():
        raise WrongQuestion({"answer": "Still missing: why, in a sentence."})
    is_change = question.said("what") == "change"
    if state == "accepted" and is_change and not question.compared_with(adviser):
        raise NotCompared(question.id)
    body = {**question.document.body, "state": state, "answer": answer.strip()}
    what = f"{state}: {question.document.title}"
    return ClaimQuestion(
        store.save(question.id, question.document.version, body, who=who, what=what)
    )


def write_change(question: ClaimQuestion, folder: Path) -> Path:
    """Write an accepted change into a collection's own folder and return its file.

    Raises:
        ValueError: it wasn't accepted, or the file is there already or can't be written.

    """
    if question.said("state") != "accepted" or not question.said("turtle"):
        raise ValueError(f"{question.id}: is no change that was accepted")
    path = folder / f"accepted-{question.id}.ttl"
    told = f"# Accepted by {question.document.changed_by}: {question.said('answer')}\n"
    try:
        with path.open("x", encoding="utf-8") as file:
            file.write(told.replace("\n", " ").rstrip() + "\n" + question.said("turtle") + "\n")
    except OSError as error:
        raise ValueError(f"{path}: {error.strerror}; give a folder that can be written") from error
    return path
