"""An answer in which each finding, reason and mend stands once, and is referred to by its name.

A rule says much the same of one option after another. Written out wherever it stands, a case of
fifty damages on ten parts makes tens of megabytes, of which nine tenths are repeated.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from leastwise.graph.answer import Answer, FindingView, MendView, Reason
from leastwise.graph.encoding import to_json_once
from leastwise.graph.weighing.alone import ProblemAnswer

__all__ = ["ONCE", "answer_once"]

#: What stands once -> the letter with which its names begin.
ONCE: Final[Mapping[type, str]] = {FindingView: "f", Reason: "r", MendView: "m"}


def answer_once(answer: Answer | ProblemAnswer) -> str:
    """Return an answer as JSON, the same bytes for the same case, knowledge and rules.

    It has the fields of the answer written out, but names in place of findings, reasons and mends;
    what the names stand for is in ``said``.
    """
    return to_json_once(answer, ONCE) + "\n"
