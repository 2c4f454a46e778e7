"""Which past cases are like this one, and why.

Each case is a graph: parts with their materials, contacts between parts, damage on parts. It is
told as a set of features: what a part is made of (with the broader groups), which damage lies on
which material, which materials touch and how, and what the object is needed for. The parts with
what touches them are the first round of the Weisfeiler-Lehman labelling of that graph
(Shervashidze et al. 2011, Journal of Machine Learning Research 12:2539-2561; from memory). Two
cases are as like as the weight of what they share to the weight of what either has (weighted
Jaccard). Rare features weigh more: log(1 + N / n) for a feature that n of N cases show.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from leastwise.graph.case.record import Case, Part
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["Features", "Like", "features_of", "most_alike"]

#: Feature -> how it reads; the weight of its kind (practice).
Features = Mapping[str, tuple[str, float]]
DAMAGE, TOUCH, MATERIAL, GROUP, AIM = 3.0, 2.0, 1.0, 0.5, 1.0


@dataclass(frozen=True, slots=True)
class Like:
    """A past case with its likeness (0 nothing shared, 1 alike) and the reasons in words."""

    case: str
    likeness: float
    shared: tuple[str, ...]
    only_here: tuple[str, ...]
    only_there: tuple[str, ...]


def features_of(case: Case, knowledge: Knowledge) -> dict[str, tuple[str, float]]:
    """Return the features of a case: key -> (words, weight of its kind)."""
    parts = {part.id: part for part in case.parts}
    found: dict[str, tuple[str, float]] = {}
    for part in case.parts:
        for material in _materials(part):
            label = knowledge.label(material)
            found[f"material {material}"] = (label, MATERIAL)
            for group in knowledge.broader(material):
                if group != material:
                    found[f"group {group}"] = (f"a kind of {knowledge.label(group)}", GROUP)
    found.update(_touching(case, parts, knowledge))
    for damage in case.damages:
        label = knowledge.label(damage.damage)
        found[f"damage {damage.damage}"] = (label, DAMAGE)
        for part_id in damage.parts:
            for material in _materials(parts[part_id]) if part_id in parts else ():
                key = f"damage {damage.damage} on {material}"
                found[key] = (f"{label} on {knowledge.label(material)}", DAMAGE)
    found[f"aim {case.aim.purpose}"] = (f"needed for {case.aim.purpose}", AIM)
    if case.aim.mounting != "unknown":
        words = f"shown {case.aim.mounting.replace('-', ' ')}"
        found[f"mounting {case.aim.mounting}"] = (words, AIM)
    if case.object.kind not in ("unknown", "other"):
        found[f"kind {case.object.kind}"] = (case.object.kind.replace("-", " "), AIM)
    return found


def most_alike(
    here: Features, others: Mapping[str, Features], most: int = 5, reasons: int = 6
) -> list[Like]:
    """Return the cases of *others* that are most like *here*, the likest first.

    Those that share nothing are left out.
    """
    number = len(others) + 1
    shown = Counter(key for features in (here, *others.values()) for key in features)

    def weight(key: str, features: Features) -> float:
        return features[key][1] * math.log(1.0 + number / shown[key])

    found = []
    for name, there in others.items():
        shared = here.keys() & there.keys()
        both = sum(weight(key, here) for key in shared)
        either = both + sum(weight(k, here) for k in here.keys() - shared)
        either += sum(weight(k, there) for k in there.keys() - shared)
        if both:
            found.append(
                Like(
                    name,
                    both / either,
                    tuple(_told(shared, here, weight, reasons)),
                    tuple(_told(here.keys() - shared, here, weight, reasons)),
                    tuple(_told(there.keys() - shared, there, weight, reasons)),
                )
            )
    return sorted(found, key=lambda like: (-like.likeness, like.case))[:most]


def _told(
    keys: Iterable[str],
    features: Features,
    weight: Callable[[str, Features], float],
    most: int,
) -> list[str]:
    order = sorted(keys, key=lambda key: (-weight(key, features), key))
    words = dict.fromkeys(features[key][0] for key in order if not key.startswith("group "))
    return list(words)[:most]


def _materials(part: Part) -> Sequence[str]:
    return [constituent.material for constituent in part.materials]


def _touching(
    case: Case, parts: Mapping[str, Part], knowledge: Knowledge
) -> Iterator[tuple[str, tuple[str, float]]]:
    for contact in case.contacts:
        one, other = (parts.get(name) for name in contact.between)
        if one is None or other is None:
            continue
        for upper in _materials(one):
            for lower in _materials(other):
                pair = sorted((upper, lower))
                key = f"touch {contact.kind} {pair[0]} {pair[1]}"
                names = " and ".join(knowledge.label(m) for m in pair)
                yield key, (f"{names} touch ({contact.kind.replace('-', ' ')})", TOUCH)
