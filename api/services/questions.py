"""Questions on the options of a case, as every door asks them."""

from __future__ import annotations

import difflib
from typing import TYPE_CHECKING, Any

from leastwise.graph.encoding import to_json
from leastwise.graph.errors import UnknownOption
from leastwise.graph.ids import OptionId

if TYPE_CHECKING:
    from leastwise.graph.answer import Answer, OptionAnswer
    from leastwise.graph.case.record import Case
    from leastwise.graph.questions.preferred import ArgumentsView
    from leastwise.graph.weighing.advise import Adviser
    from leastwise.graph.weighing.scores import OptionScores

__all__ = ["arguments_of", "as_json_text", "drawing_of", "find_option", "option_id", "scores_of"]


def as_json_text(result: Any) -> str:
    """Return a result as JSON: the same bytes at every door."""
    return to_json(result) + "\n"


def find_option(answer: Answer, name: str) -> OptionAnswer:
    """Return an option by its id, or by its last part if only one option has it.

    Raises:
        UnknownOption: none or several fit; names near to it are suggested.

    """
    options = answer.options()
    exact = [o for o in options if o.id == name]
    loose = exact or [o for o in options if o.id.name == name]
    if len(loose) == 1:
        return loose[0]
    names = [o.id for o in loose] or difflib.get_close_matches(name, [o.id for o in options], n=3)
    raise UnknownOption("option", name, names)


def option_id(adviser: Adviser, case: Case, name: str) -> OptionId:
    """Return the id of the option called *name*, which may be the last part of an id.

    Raises:
        UnknownOption: none or several fit; names near to it are suggested.

    """
    return find_option(adviser.weigh(case), name).id


def scores_of(adviser: Adviser, case: Case, option: str) -> OptionScores:
    """Return the scores of an option with their intervals and grounds."""
    from leastwise.graph.weighing.scores import score_intervals  # noqa: PLC0415 - only for this question

    steps = adviser.steps(case, option)
    candidate = steps.candidates[0]
    exposures = steps.data.exposures[candidate.id]
    score = steps.scores[candidate.id]
    return score_intervals(candidate, exposures, score, adviser.catalogue, steps.policy)


def arguments_of(adviser: Adviser, case: Case, option: str, *, preferred: bool) -> ArgumentsView:
    """Return the arguments on an option, with the preferred extensions if they are asked for."""
    from leastwise.graph.questions.preferred import view_arguments  # noqa: PLC0415 - only for this question

    return view_arguments(option, adviser.arguments(case, option), preferred=preferred)


def drawing_of(adviser: Adviser, case: Case, option: str) -> str:
    """Return the arguments on an option as SVG text."""
    from leastwise.api.drawings.arguments import draw_arguments  # noqa: PLC0415

    graph = adviser.arguments(case, option)
    return draw_arguments(graph.arguments["option"].text, graph)
