"""The figures that a display is worked out with, as the knowledge holds them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from leastwise.graph.errors import KnowledgeError
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.physics.bounds import Range

__all__ = ["Book", "ClothClass", "Figure", "HeadingKind", "Share", "Step"]


@dataclass(frozen=True, slots=True)
class Figure:
    """A number from low to high, why it is so, and the claims that it rests on."""

    range: Range
    because: str
    claims: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class ClothClass:
    """Cloth that bears about the same load."""

    key: str
    label: str
    limit: Range
    weighs_from: float | None
    structures: frozenset[str]
    damages: frozenset[str]
    claims: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Share:
    """The part of a garment's weight that one place carries with one step of help."""

    step: int
    words: str
    place: str
    range: Range
    claims: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HeadingKind:
    """A heading with what it carries."""

    key: str
    label: str
    techniques: tuple[str, ...]
    limit: Range
    needs_rows: bool
    claims: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Step:
    """How many gathered layers hold a skirt out up to a slope."""

    slope_up_to: float
    layers: int
    because: str


@dataclass(frozen=True)
class Book:
    """The figures of a knowledge."""

    knowledge: Knowledge

    def _range(self, one: str) -> Range:
        k = self.knowledge
        low, high = k.number(one, "lw:least"), k.number(one, "lw:most")
        if low is None or high is None:
            raise KnowledgeError(one, "has no lw:least and lw:most.", "Give both.")
        return Range(low, high)

    def _claims(self, one: str) -> tuple[str, ...]:
        return tuple(self.knowledge.objects(one, "lw:restsOn"))

    def figure(self, key: str) -> Figure:
        """Return a single figure by its key.

        Raises:
            KnowledgeError: the knowledge has no such figure.

        """
        k = self.knowledge
        for one in k.instances("lw:DisplayFigure"):
            if k.text(one, "lw:key") == key:
                return Figure(self._range(one), k.text(one, "lw:because"), self._claims(one))
        raise KnowledgeError("lw:DisplayFigure", f"{key} is missing.", "Keep display.ttl whole.")

    def names(self, kind: str) -> dict[str, tuple[str, ...]]:
        """Return the words by which each measure or place goes, its label first."""
        k = self.knowledge
        found = {}
        for one in k.instances(kind):
            words = (k.label(one), k.text(one, "lw:key"), *k.texts(one, "skos:altLabel"))
            found[k.text(one, "lw:key")] = tuple(dict.fromkeys(words))
        return found

    def measures(self, written: Mapping[str, float]) -> dict[str, float]:
        """Return what a record gives in cm, by the keys of the knowledge; other names are left."""
        key_of = {_fold(w): key for key, words in self.names("lw:Measure").items() for w in words}
        return {
            key_of[_fold(name)]: float(value)
            for name, value in written.items()
            if _fold(name) in key_of
        }

    def ease(self, measure: str, cloth: str) -> Figure | None:
        """Return the ease at a measure for sound or weak cloth, in cm of girth."""
        k = self.knowledge
        for one in k.instances("lw:Ease"):
            of = k.object(one, "lw:ofMeasure") or ""
            if k.text(of, "lw:key") == measure and k.text(one, "lw:forCloth") == cloth:
                return Figure(self._range(one), "common practice", self._claims(one))
        return None

    def classes(self) -> tuple[ClothClass, ...]:
        """Return the classes of cloth, the heaviest first."""
        k = self.knowledge
        found = [
            ClothClass(
                k.text(one, "lw:key"),
                k.label(one),
                self._range(one),
                k.number(one, "lw:weighsFrom"),
                frozenset(k.objects(one, "lw:ofStructure")),
                frozenset(k.objects(one, "lw:withDamage")),
                self._claims(one),
            )
            for one in k.instances("lw:ClothClass")
        ]
        return tuple(sorted(found, key=lambda c: (-(c.weighs_from or 0.0), c.key)))

    def shares(self, kind: str) -> tuple[Share, ...]:
        """Return who carries the weight of a kind of garment, by steps of help."""
        k = self.knowledge
        rows = [o for o in k.instances("lw:LoadShare") if k.text(o, "lw:garmentKind") == kind]
        words = {self._step(one): k.text(one, "lw:helpInWords") for one in rows
                 if k.text(one, "lw:helpInWords")}  # fmt: skip
        found = [
            Share(
                self._step(one),
                words.get(self._step(one), ""),
                k.text(one, "lw:carriedAt"),
                self._range(one),
                self._claims(one),
            )
            for one in rows
        ]
        return tuple(sorted(found, key=lambda s: (s.step, s.place)))

    def _step(self, one: str) -> int:
        return int(self.knowledge.number(one, "lw:helpedBy") or 0)

    def headings(self) -> tuple[HeadingKind, ...]:
        """Return the headings in the order in which they are tried."""
        k = self.knowledge
        found = [
            HeadingKind(
                k.text(one, "lw:key"),
                k.label(one),
                tuple(k.objects(one, "lw:for")),
                self._range(one),
                k.is_true(one, "lw:needsRows"),
                self._claims(one),
            )
            for one in k.instances("lw:Heading")
        ]
        return tuple(sorted(found, key=lambda h: h.key))

    def friction(self, surface: str, cover: str) -> Figure | None:
        """Return the friction of a surface on a cover; None where the knowledge has none."""
        k = self.knowledge
        for one in k.instances("lw:Friction"):
            if (k.text(one, "lw:surface"), k.text(one, "lw:cover")) == (surface, cover):
                return Figure(self._range(one), "practice, a wide band", self._claims(one))
        return None

    def surface(self, kinds: frozenset[str]) -> str:
        """Return how a back of these materials and structures grips; "" if nothing fits."""
        k = self.knowledge
        for one in sorted(k.instances("lw:Surface"), key=lambda s: k.text(s, "lw:key")):
            if kinds.intersection(k.objects(one, "lw:madeOf")):
                return k.text(one, "lw:surface")
        return ""

    def underskirts(self) -> tuple[Step, ...]:
        """Return the steps of underskirts, the straightest skirt first."""
        k = self.knowledge
        found = [
            Step(
                k.number(one, "lw:slopeUpTo") or 0.0,
                int(k.number(one, "lw:netLayers") or 0),
                k.text(one, "lw:because"),
            )
            for one in k.instances("lw:UnderskirtStep")
        ]
        return tuple(sorted(found, key=lambda s: s.slope_up_to))


def _fold(name: str) -> str:
    return name.casefold().replace("_", " ").replace("-", " ").strip()
