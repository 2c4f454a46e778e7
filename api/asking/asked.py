"""Every question that takes a case record, by name, as a worker or a thread answers it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any, Final

from leastwise.api.services.exports import export_graph
from leastwise.api.services.questions import (
    arguments_of,
    as_json_text,
    drawing_of,
    option_id,
    scores_of,
)
from leastwise.graph import Adviser, Case
from leastwise.graph.case.reading import parse_case
from leastwise.graph.errors import CaseError, Problem
from leastwise.graph.planning.make import make_plan
from leastwise.graph.proposal.check import review
from leastwise.graph.proposal.received import parse_proposal
from leastwise.graph.questions.acceptability import case_shares
from leastwise.graph.questions.path import find_path
from leastwise.graph.questions.record_check import check_record
from leastwise.graph.questions.tests_first import find_out_first
from leastwise.graph.questions.what_if import what_would_change
from leastwise.graph.questions.why import why
from leastwise.graph.weighing.once import answer_once

__all__ = ["MOST_PLACES", "QUESTIONS", "Asked", "answer"]

Given = Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class Asked:
    """A question.

    Attributes:
        question: its name in ``QUESTIONS``, ``review`` or ``check``.
        text: the record, or for ``review`` the proposal.
        is_json: whether the text is JSON; otherwise YAML.
        policy: policy that puts the options in order, or empty for that of the case.
        given: what else the question takes, as plain values.

    """

    question: str
    text: str
    is_json: bool
    policy: str = ""
    given: Given = field(default_factory=dict)


def _weigh(adviser: Adviser, case: Case, given: Given) -> str:
    one = given.get("damage")
    found = adviser.weigh_one(case, one) if one else adviser.weigh(case)
    return answer_once(found) if given.get("once") else found.as_json()


def _why(adviser: Adviser, case: Case, given: Given) -> str:
    one, other = option_id(adviser, case, given["why"]), option_id(adviser, case, given["over"])
    return as_json_text(why(adviser, case, one, other))


def _change(adviser: Adviser, case: Case, given: Given) -> str:
    name = option_id(adviser, case, given["option"])
    return as_json_text(what_would_change(adviser, case, name, most_runs=given["most_runs"]))


def _tests(adviser: Adviser, case: Case, given: Given) -> str:
    return as_json_text(find_out_first(adviser, case))


def _shares(adviser: Adviser, case: Case, given: Given) -> str:
    return as_json_text(case_shares(adviser, case, draws=given["draws"], seed=given["seed"]))


def _scores(adviser: Adviser, case: Case, given: Given) -> str:
    return as_json_text(scores_of(adviser, case, option_id(adviser, case, given["option"])))


def _arguments(adviser: Adviser, case: Case, given: Given) -> str:
    name = option_id(adviser, case, given["option"])
    return as_json_text(arguments_of(adviser, case, name, preferred=given["preferred"]))


def _drawing(adviser: Adviser, case: Case, given: Given) -> str:
    return drawing_of(adviser, case, option_id(adviser, case, given["option"]))


def _plan(adviser: Adviser, case: Case, given: Given) -> str:
    return make_plan(case, adviser, undecided=given["undecided"]).as_json()


def _path(adviser: Adviser, case: Case, given: Given) -> str:
    return find_path(adviser, case, most_tests=given["most_tests"]).as_json()


def _export(adviser: Adviser, case: Case, given: Given) -> str:
    from leastwise.graph.exchange.rdf_out import written  # noqa: PLC0415 - keeps rdflib out

    return written(export_graph(given["as"], case, adviser, given["base"]), given["form"])


#: Damages and needs times parts of a case that is answered whole. An answer says of each option
#: what it does to each part, so it grows with both; at this size it is 12 to 40 MB written out, and
#: 3 to 5 MB with each finding once.
MOST_PLACES: Final = 500

#: Name -> what answers it for a case.
QUESTIONS: Final[Mapping[str, Callable[[Adviser, Case, Given], str]]] = {
    "weigh": _weigh,
    "why": _why,
    "what-would-change": _change,
    "find-out-first": _tests,
    "shares": _shares,
    "scores": _scores,
    "arguments": _arguments,
    "drawing": _drawing,
    "plan": _plan,
    "path": _path,
    "export": _export,
}


def answer(adviser: Adviser, asked: Asked) -> str:
    """Return the answer to a question, as text.

    Raises:
        LeastwiseError: the record, the policy or something given can't be used, or the record is
            too large to be answered whole.

    """
    under = adviser.under(asked.policy)
    if asked.question == "review":
        proposal, case = parse_proposal(asked.text, under.knowledge, is_json=asked.is_json)
        return review(proposal, case, under).as_json()
    if asked.question == "check":
        given = asked.given["most_runs"]
        return check_record(asked.text, under, is_json=asked.is_json, most_runs=given).as_json()
    case = parse_case(asked.text, under.knowledge, is_json=asked.is_json)
    if not asked.given.get("damage"):
        _check_size(case)
    return QUESTIONS[asked.question](under, case, asked.given)


def _check_size(case: Case) -> None:
    """Refuse a case whose whole answer would be too long.

    Raises:
        CaseError: it has more damages and needs times parts than ``MOST_PLACES``.

    """
    problems = len(case.damages) + len(case.needs)
    if problems * len(case.parts) > MOST_PLACES:
        given = f"{problems} damages and needs on {len(case.parts)} parts"
        accepted = (
            f"at most {MOST_PLACES} for damages and needs times parts over HTTP; ask for one at a "
            "time (POST /options?damage=ID), or use the command line, which takes more"
        )
        raise CaseError([Problem("damages", given, accepted)])
