"""The changes behind those that an answer shows, so that a test can make them."""

from collections.abc import Iterable

from leastwise.graph.case.record import Case
from leastwise.graph.questions.change import Change, ChangeView, Key
from leastwise.graph.questions.changes import closed_changes, open_changes
from leastwise.graph.weighing.advise import Adviser


class Makeable:
    """All changes that are open for some options of a case, or that its record rules out."""

    def __init__(self, adviser: Adviser, case: Case, options: Iterable[str]) -> None:
        self.by_key: dict[Key, Change] = {
            change.key: change
            for option in options
            for find in (open_changes, closed_changes)
            for change in find(adviser, case, option)
        }

    def of(self, views: Iterable[ChangeView]) -> list[Change]:
        """Return the changes that are shown so."""
        return [self.by_key[view.key] for view in views]
