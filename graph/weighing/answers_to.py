"""Which techniques answer a kind of damage or need, by the claims of what they do to it."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from leastwise.graph.knowledge.concepts import Catalogue, Effect, Technique

__all__ = ["Answers", "answers_to"]

#: Each technique with its claims, the one that holds most first.
Answers = list[tuple[Technique, tuple[Effect, ...]]]
#: What an effect on a kind of damage waits for where the record names only the group of it.
KIND_IS_TOLD = "condition:kind-of-damage-is-told"


def answers_to(kind: str, catalogue: Catalogue) -> Answers:
    """Return each technique that answers a kind of damage or need, with its claims, by name.

    The claims on the nearest kind count. A group, such as deformation, has none of its own: what
    answers one of the kinds in it may do so here, and waits until it is told which kind it is.
    """
    effects: dict[str, tuple[Effect, ...]] = {}
    for one in catalogue.knowledge.broader(kind):
        _add(effects, catalogue.effects.get(one, ()))
    if not effects:
        _add(effects, _of_kinds_in(kind, catalogue))
    return [(catalogue.techniques[name], effects[name]) for name in sorted(effects)]


def _add(effects: dict[str, tuple[Effect, ...]], claims: Iterable[Effect]) -> None:
    """Add the claims on techniques that nothing nearer speaks of."""
    mine: dict[str, list[Effect]] = {}
    for effect in claims:
        mine.setdefault(effect.technique, []).append(effect)
    for technique, found in mine.items():
        effects.setdefault(technique, tuple(found))


def _of_kinds_in(group: str, catalogue: Catalogue) -> Iterable[Effect]:
    """Yield the effects on the kinds of damage in a group, each waiting for its kind to be told."""
    for kind in catalogue.damages:
        if group in catalogue.knowledge.broader(kind)[1:]:
            for one in catalogue.effects.get(kind, ()):
                yield replace(one, holds_if=(*one.holds_if, KIND_IS_TOLD))
