"""What a change of knowledge changes, in lines of text for people."""

from __future__ import annotations

from collections.abc import Iterator

from leastwise.graph.authoring.compare import CaseChange, Comparison, OptionChange, Stand

__all__ = ["comparison_told"]


def comparison_told(found: Comparison) -> Iterator[str]:
    """Yield which claims, concepts and rules differ, and which verdicts and ranks change."""
    yield f"From {found.old} to {found.new}"
    for kind in ("claim", "concept", "rule"):
        for what in ("added", "removed", "changed"):
            mine = [s for s in found.subjects if (s.kind, s.what) == (kind, what)]
            if mine:
                yield f"\n{kind.capitalize()}s {what}: {len(mine)}"
                yield from (
                    f"  {one.subject}" + (f" ({', '.join(one.properties)})" * bool(one.properties))
                    for one in mine
                )
    if not found.subjects:
        yield "No claim, concept or rule differs."
    for case in found.cases:
        yield from _case(case)


def _case(case: CaseChange) -> Iterator[str]:
    if case.problem:
        yield f"\n{case.case}: {case.problem}"
    elif not case.options:
        yield f"\n{case.case}: no verdict and no rank changes."
    for damage, options in case.options.items():
        yield f"\n{case.case}, {damage}"
        for option in options:
            yield f"  {option.label}: {_stand(option.old)} -> {_stand(option.new)}{_why(option)}"


def _stand(stand: Stand | None) -> str:
    if stand is None:
        return "not an option"
    aim = "" if stand.meets_aim else ", aim not met"
    return f"{stand.verdict}, rank {stand.rank}, burden {stand.burden:.2f}{aim}"


def _why(option: OptionChange) -> str:
    gained, lost = ", ".join(option.rules_gained), ", ".join(option.rules_lost)
    return (f"; now speaks {gained}" if gained else "") + (f"; no longer {lost}" if lost else "")
