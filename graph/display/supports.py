"""Supports chosen for a technique on a part, with why and how much.

What there is to choose from is data (seed_data/supports.ttl). A support is no heavier than the
cloth (claim:S-118), like fibre goes before unlike (claim:S-002, contested), what rubs counts where
the object is moved or dressed (claim:S-112), and net stays away from what catches (claim:S-132).
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from leastwise.graph.case.record import Case, DamageFound, Extent, Part
from leastwise.graph.display.book import Book
from leastwise.graph.display.cloth import Cloths
from leastwise.graph.display.hung import thread_strength_n
from leastwise.graph.knowledge.concepts import Catalogue

__all__ = ["Candidate", "Chooser", "Reactivation", "SupportAdvice", "cut_area_cm2"]

MOST = 3
CLOTHS = ("overlay", "encapsulation", "patch", "full", "fill", "carrier", "heading",
          "board-cover", "padding", "cover")  # fmt: skip
NET = "material:support-nylon-net"
CATCHES = ("material:metal-fastener", "material:beads", "material:sequins")
#: Harm from which a neighbour does not bear a reactivation, and from which it needs a trial.
GRAVE, TRIAL = 3, 1


@dataclass(frozen=True, slots=True)
class Reactivation:
    """How an adhesive is made to stick, and whether what lies there bears it."""

    agent: str
    label: str
    figures: str
    state: str  # bears, trial, does not bear, unknown
    says: str
    claims: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Candidate:
    """A support with why it is proposed and what speaks against it."""

    id: str
    label: str
    use: str
    weight_g_m2: tuple[float, float] | None
    strength_n: float | None
    why: tuple[str, ...]
    against: tuple[str, ...]
    dyeing: str
    ageing: str
    tests: tuple[str, ...]
    reactivations: tuple[Reactivation, ...]
    basis: str
    claims: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SupportAdvice:
    """What supports a technique takes on a part; *amount* says how much with seam and waste."""

    technique: str
    part: str
    choices: tuple[tuple[str, tuple[Candidate, ...]], ...]
    amount: str
    amount_basis: str


def cut_area_cm2(extent: Extent, reach_cm: float, waste: float) -> float | None:
    """Return the area to cut: the damage with its reach on each side, and the waste.

    An area is taken as a square, (sqrt A + 2 r)^2 (1 + w); a length as a strip,
    (l + 2 r) 2 r (1 + w).

    >>> cut_area_cm2(Extent(value=100, unit="cm2"), 2.5, 0.2)
    270.0
    >>> cut_area_cm2(Extent(value=10, unit="cm"), 2.5, 0.0)
    75.0
    """
    if extent.unit == "cm2":
        return round((math.sqrt(extent.value) + 2 * reach_cm) ** 2 * (1 + waste), 1)
    if extent.unit == "cm":
        return round((extent.value + 2 * reach_cm) * 2 * reach_cm * (1 + waste), 1)
    return None


@dataclass(frozen=True)
class Chooser:
    """Chooses supports for one case."""

    case: Case
    catalogue: Catalogue

    @property
    def _k(self) -> Book:
        return Book(self.catalogue.knowledge)

    def advise(
        self, technique: str, parts: Sequence[str], damage: DamageFound | None = None
    ) -> SupportAdvice | None:
        """Return what supports a technique takes on some parts; None where it takes none."""
        use = self._use(technique)
        part = next((p for p in self.case.parts if p.id in parts), None)
        if use is None or part is None or self.catalogue.knowledge.is_true(use, "lw:takesNone"):
            return None
        k = self.catalogue.knowledge
        only = frozenset(k.objects(use, "lw:onlyOf"))
        choices = [
            (one, self._ranked(one, technique, part, only))
            for one in sorted(k.texts(use, "lw:use"), key=_order)
        ]
        amount, basis = self._amount(use, part, damage)
        return SupportAdvice(
            technique, part.name, tuple((u, c) for u, c in choices if c), amount, basis
        )

    def thread(self, part: Part | None = None) -> tuple[str, float, tuple[str, ...]] | None:
        """Return the weakest thread for headings: label, strength in N, claims."""
        k = self.catalogue.knowledge
        known = [
            (self._strength(one), one)
            for one in k.instances("lw:SupportChoice")
            if "heading-thread" in k.texts(one, "lw:use")
        ]
        found = min(((s, one) for s, one in known if s is not None), default=None)
        if found is None:
            return None
        return k.label(found[1]), found[0], tuple(k.objects(found[1], "lw:restsOn"))

    def _use(self, technique: str) -> str | None:
        """Return the use that is said of the technique or of its nearest group."""
        k = self.catalogue.knowledge
        uses = {t: one for one in k.instances("lw:SupportUse") for t in k.objects(one, "lw:for")}
        return next((uses[up] for up in k.broader(technique) if up in uses), None)

    def _ranked(
        self, use: str, technique: str, part: Part, only: frozenset[str]
    ) -> tuple[Candidate, ...]:
        k = self.catalogue.knowledge
        found = []
        for one in k.instances("lw:SupportChoice"):
            material = k.object(one, "lw:ofMaterial") or ""
            named = not only or material in only or use in ("thread", "needle")
            if use in k.texts(one, "lw:use") and named:
                candidate, points = self._candidate(one, use, technique, part)
                if candidate is not None:
                    found.append((points, candidate.label, candidate))
        return tuple(c for _, _, c in sorted(found, key=lambda row: row[:2])[:MOST])

    def _candidate(
        self, one: str, use: str, technique: str, part: Part
    ) -> tuple[Candidate | None, float]:
        """Return a candidate with its points, the fewer the better; None if it is ruled out."""
        k = self.catalogue.knowledge
        low, high = k.number(one, "lw:least"), k.number(one, "lw:most")
        why, against, points = self._weighed(one, use, part, low)
        reacts = self._reactivations(one, technique, part)
        if use == "adhesive" and all(r.state == "does not bear" for r in reacts):
            return None, points
        points += 2 * all(r.state == "unknown" for r in reacts) if reacts else 0
        points += sum(r.state == "does not bear" for r in reacts)
        tests = tuple(k.label(t) for t in k.objects(one, "lw:needsTest"))
        claims = (*k.objects(one, "lw:restsOn"), *(c for r in reacts for c in r.claims))
        weight = (low, high) if low is not None and high is not None else None
        made = Candidate(
            id=one,
            label=k.label(one),
            use=use,
            weight_g_m2=weight,
            strength_n=self._strength(one),
            why=tuple(why),
            against=tuple(against),
            dyeing=k.text(one, "lw:dyeing"),
            ageing=k.text(one, "lw:ageing"),
            tests=tests,
            reactivations=reacts,
            basis=(k.object(one, "lw:basis") or "").removeprefix("lw:"),
            claims=tuple(dict.fromkeys(claims)),
        )
        return (None if points >= RULED_OUT else made), points

    def _weighed(
        self, one: str, use: str, part: Part, low: float | None
    ) -> tuple[list[str], list[str], float]:
        """Return what speaks for and against a support on a part, and its points."""
        k = self.catalogue.knowledge
        why: list[str] = []
        against: list[str] = []
        points = (4.0 - (k.number(one, "lw:ageingGrade") or 2)) / 2
        if use in CLOTHS and use not in ("heading", "board-cover", "padding"):
            points += self._by_weight(part, low, why, against)
        points += self._by_fibre(one, part, why, against)
        points += self._by_touch(one, part, why, against)
        fits = k.texts(one, "lw:fitsCloth")
        if fits:
            cloth = Cloths(self.case, self._k).of(part).key
            cloth = "weak" if cloth in ("unknown", "weak") else cloth
            points += 0 if cloth in fits else RULED_OUT if cloth == "weak" else 3
            words = f"for {cloth} cloth" if cloth != "weak" else "for cloth that is weak or unknown"
            (why if cloth in fits else against).append(words if cloth in fits else f"not {words}")
        return why, against, points

    def _by_weight(
        self, part: Part, low: float | None, why: list[str], against: list[str]
    ) -> float:
        weight = part.size.weight_per_area
        if weight is None or low is None:
            against.append("weight of the cloth not recorded: compare by hand")
            return 0.5
        if low > weight:
            return RULED_OUT
        why.append(f"no heavier than the cloth ({weight:.0f} g/m²)")
        return min(2.0, math.log10(weight / low))  # far lighter than the cloth carries little

    def _by_fibre(self, one: str, part: Part, why: list[str], against: list[str]) -> float:
        k = self.catalogue.knowledge
        mine = k.object(one, "lw:ofFibre")
        theirs = {u for m in part.under("fibre") for u in k.broader(m.material)}
        if mine is None or not theirs:
            return 0.0
        if mine in theirs:
            why.append("of the same fibre")
            return 0.0
        if mine == "material:polyester":
            why.append("inert, told apart from the original")
            return 0.5
        against.append("of another fibre")
        return 1.0

    def _by_touch(self, one: str, part: Part, why: list[str], against: list[str]) -> float:
        k, aim = self.catalogue.knowledge, self.case.aim
        rubs = k.number(one, "lw:rubs") or 0.0
        moved = aim.travels == "yes" or aim.mounting == "on-figure"
        points = 0.0
        if rubs >= GRAVE and moved:
            against.append("rubs or cuts where the object is moved or dressed")
            points += 2
        named = {u for p in self._near(part) for m in p.named for u in k.broader(m.material)}
        if k.object(one, "lw:ofMaterial") == NET and named.intersection(CATCHES):
            against.append("net catches on hooks and beads beside it")
            points += 2
        hides = k.number(one, "lw:hides")
        if hides is not None and hides <= 1:
            why.append("hardly seen")
        return points

    def _strength(self, one: str) -> float | None:
        k = self.catalogue.knowledge
        tex, tenacity = k.number(one, "lw:tex"), k.number(one, "lw:tenacity")
        return thread_strength_n(tenacity, tex) if tex and tenacity else None

    def _reactivations(self, one: str, technique: str, part: Part) -> tuple[Reactivation, ...]:
        """Return how it is made to stick: as the technique does it, where that brings a way."""
        k = self.catalogue.knowledge
        nodes = {k.object(n, "lw:agent") or "": n for n in k.objects(one, "lw:reactivatedBy")}
        known = self.catalogue.techniques.get(technique)
        brought = {use.agent for use in known.brings} if known else set()
        any_of = {k.object(n, "lw:agent") for o in k.instances("lw:SupportChoice")
                  for n in k.objects(o, "lw:reactivatedBy")}  # fmt: skip
        agents = [a for a in nodes if a in brought] if any_of & brought else list(nodes)
        return tuple(self._reactivation(nodes[a], a, part) for a in sorted(agents))

    def _reactivation(self, node: str, agent: str, part: Part) -> Reactivation:
        k = self.catalogue.knowledge
        ends = [k.number(node, end) for end in ("lw:least", "lw:most")]
        given = " to ".join(f"{e:g}" for e in ends if e is not None)
        figures = f"{given} {k.text(node, 'lw:unit')}".strip() if given else ""
        state, says = self._borne(agent, part)
        return Reactivation(
            agent, k.label(agent), figures, state, says, tuple(k.objects(node, "lw:restsOn"))
        )

    def _near(self, part: Part) -> list[Part]:
        """Return a part and those that a contact is recorded with."""
        joined = {p for c in self.case.contacts if part.id in c.between for p in c.between}
        return [p for p in self.case.parts if p.id in {part.id, *joined}]

    def _borne(self, agent: str, part: Part) -> tuple[str, str]:
        """Return whether the part and what touches it bear an agent, by the known sensitivities."""
        k = self.catalogue.knowledge
        unknown, trial = [], []
        for one in self._near(part):
            for m in one.materials:
                found = self.catalogue.sensitivity(m.material, agent, self.case.damage_on(one.id))
                name = f"{k.label(m.material)} of {one.name}"
                if found.harm >= GRAVE:
                    return "does not bear", f"{name} does not bear it"
                if found.harm < 0 or m.identified == "unknown":
                    unknown.append(name)
                elif found.harm >= TRIAL:
                    trial.append(name)
        if unknown:
            return "unknown", f"unknown for {', '.join(_few(unknown))}: test first"
        if trial:
            return "trial", f"a trial first on {', '.join(_few(trial))}"
        return "bears", "what lies there bears it"

    def _amount(self, use: str, part: Part, damage: DamageFound | None) -> tuple[str, str]:
        k = self.catalogue.knowledge
        reach, waste = k.number(use, "lw:reachesBeyond") or 0.0, k.number(use, "lw:waste") or 0.0
        basis = f"{reach:g} cm over on each side and {100 * waste:.0f} % waste; common practice"
        whole = {"full", "board-cover", "cover", "heading"} & set(k.texts(use, "lw:use"))
        if whole:
            return self._whole(use, part, reach, waste), basis
        extent = damage.extent if damage else "unknown"
        area = None if isinstance(extent, str) else cut_area_cm2(extent, reach, waste)
        if area is None:
            return "to be measured", "the extent of the damage is not recorded in cm or cm²"
        return f"{area:.0f} cm²", basis

    def _whole(self, use: str, part: Part, reach: float, waste: float) -> str:
        size = part.size if part.size.area else self.case.object.size
        if isinstance(size.width_cm, str):
            return "to be measured"
        width = float(size.width_cm) + 2 * reach
        if "heading" in self.catalogue.knowledge.texts(use, "lw:use"):
            return f"{width * (1 + waste):.0f} cm of sleeve or webbing"
        if isinstance(size.length_cm, str):
            return "to be measured"
        area = width * (float(size.length_cm) + 2 * reach) * (1 + waste) / 1e4
        return f"{area:.2g} m²"


RULED_OUT = 100.0


def _order(use: str) -> tuple[bool, str]:
    return use not in CLOTHS, use


def _few(names: Iterable[str], most: int = 2) -> list[str]:
    kept = list(dict.fromkeys(names))
    return [*kept[:most], f"{len(kept) - most} more"] if len(kept) > most else kept
