"""How the record answers one condition at one place: yes, no, unknown, or not a word.

Each reading belongs to a property of a condition (seed_data/conditions.ttl says what they mean)
and looks at one field of the record. A reading returns None where the record is silent, so that
the condition may say what silence means; *unknown* is what the record itself leaves open.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from leastwise.graph.case.record import Case, Contact, DamageFound, Extent, Part, Tri
from leastwise.graph.case.written import OTHER
from leastwise.graph.knowledge.concepts import Catalogue, Technique
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.names import camel
from leastwise.graph.weighing.hangs import PIECE, WHOLE, asks

__all__ = ["STRUCTURE", "About", "Readings", "any_of", "of_bool", "opposite"]

ROOT, STRUCTURE = "material:textile", "material:structure"
#: A kind of contact that is none.
APART = "apart"
SAYS_NOTHING = ("unknown", "")


class About(NamedTuple):
    """What a condition is asked of besides a part: a damage or need, and a technique."""

    problem: DamageFound | None = None
    technique: Technique | None = None


def of_bool(answer: bool) -> Tri:
    """Return yes or no."""
    return Tri.YES if answer else Tri.NO


def opposite(answer: Tri) -> Tri:
    """Return no for yes, yes for no; unknown stays."""
    if answer is Tri.YES:
        return Tri.NO
    return Tri.YES if answer is Tri.NO else answer


def any_of(answers: Iterable[Tri]) -> Tri:
    """Return yes if one is yes, no if all are no, else unknown."""
    found = list(answers)
    if Tri.YES in found:
        return Tri.YES
    return Tri.NO if all(one is Tri.NO for one in found) else Tri.UNKNOWN


@dataclass(frozen=True)
class Readings:
    """The readings of one case, by the property of a condition that asks for them."""

    case: Case
    catalogue: Catalogue

    @cached_property
    def by_property(self) -> dict[str, Callable[[str, str, About], Tri | None]]:
        """Return property -> reading(condition, part, about)."""
        return {
            "lw:partField": self._part_field,
            "lw:readFromContacts": self._parting,
            "lw:contactIs": self._contact,
            "lw:significanceField": self._significance,
            "lw:aimField": self._aim_field,
            "lw:equipmentKey": self._equipment,
            "lw:partMaterial": self._material,
            "lw:partNamed": self._named,
            "lw:whenDamage": self._damage,
            "lw:whenProblem": self._problem,
            "lw:whenKindIsTold": self._kind_told,
            "lw:whenMounted": self._mounted,
            "lw:whenPurpose": self._purpose,
            "lw:whenObjectKind": self._kind,
            "lw:whenObjectForm": self._form,
            "lw:whenSeverity": self._severity,
            "lw:whenActivity": self._activity,
            "lw:extentAtMost": self._extent,
            "lw:degreesAtLeast": self._degrees,
            "lw:madeSince": self._made,
            "lw:whenPastTreatment": self._past_treatment,
            "lw:readFromBarriers": self._barred,
            "lw:objectAreaOver": self._area,
            "lw:damageField": self._damage_field,
        }

    def of(self, condition: str) -> Callable[[str, str, About], Tri | None] | None:
        """Return what reads a condition, or None where it is put together from others."""
        made = self.catalogue.knowledge.made
        name = made(("read from", condition), self._property)
        return self.by_property[name] if name else None

    def _property(self, k: Knowledge, key: tuple[str, str]) -> str:
        said = k.predicates(key[1])
        return next((name for name in self.by_property if name in said), "")

    @cached_property
    def parts(self) -> dict[str, Part]:
        """Return the parts by id."""
        return {part.id: part for part in self.case.parts}

    @cached_property
    def _beside(self) -> dict[str, list[str]]:
        """Part -> parts that touch it and are not taken off."""
        found: dict[str, list[str]] = {}
        for contact in self.case.contacts:
            if contact.parting != "done" and contact.kind != APART:
                a, b = contact.between
                found.setdefault(a, []).append(b)
                found.setdefault(b, []).append(a)
        return found

    @cached_property
    def _pieces(self) -> dict[str, tuple[str, ...]]:
        """Part -> the parts of its piece in the order of the record, such as a skirt and its tiers.

        Which kinds of contact join says the knowledge; one that nobody looked at doesn't.
        """
        import networkx as nx  # noqa: PLC0415 - most cases ask nothing of a piece

        joined: nx.Graph[str] = nx.Graph()
        joined.add_nodes_from(self.parts)
        joined.add_edges_from(
            c.between
            for c in self.case.contacts
            if c.parting != "done"
            and self.catalogue.knowledge.is_true(f"contact:{c.kind}", "lw:joins")
        )
        pieces = (set(one) for one in nx.connected_components(joined))
        return {
            part: whole
            for piece in pieces
            for whole in [tuple(p for p in self.parts if p in piece)]
            for part in whole
        }

    def scope(self, condition: str, part: str) -> list[str]:
        """Return the parts where a condition looks: itself, what touches it, its piece, or all."""
        where = asks(condition, self.catalogue.knowledge).scope
        if where == WHOLE:
            return list(self.parts)
        if where == PIECE:
            return list(self._pieces[part])
        return [part, *self._beside.get(part, ())] if where == "neighbours" else [part]

    def _objects(self, condition: str, name: str) -> list[str]:
        return self.catalogue.knowledge.objects(condition, name)

    def _over(self, condition: str, part: str, answer: Callable[[str], Tri | None]) -> Tri | None:
        """Return the answer over all places of the scope; None if all are silent."""
        places = self.scope(condition, part)
        said = [a for p in places if (a := answer(p)) is not None]
        if not said:
            return None
        silent = len(said) < len(places)
        found = any_of(said)
        return None if found is Tri.NO and silent else found

    def _part_field(self, condition: str, part: str, _: About) -> Tri | None:
        name = self.catalogue.knowledge.text(condition, "lw:partField")
        return self._over(condition, part, lambda p: _said(getattr(self.parts[p], name), Tri.YES))

    def _parting(self, _: str, part: str, __: About) -> Tri:
        answers = [c.parting for c in self.case.contacts if part in c.between]
        if "impossible" in answers:
            return Tri.NO
        return Tri.UNKNOWN if "unknown" in answers else Tri.YES

    def _contact(self, condition: str, part: str, _: About) -> Tri | None:
        """Read whether a part touches another in one of the ways that a condition names.

        Where it must be the first of the two, being only the second one is no. Silent is a record
        with a contact that may be such a one; without any, the answer is no.
        """
        kinds = set(self._objects(condition, "lw:contactIs"))
        mine = [c for c in self.case.contacts if part in c.between and c.kind != APART]
        fitting = [c.between.index(part) for c in mine if f"contact:{c.kind}" in kinds]
        if self._objects(condition, "lw:endIs") == ["lw:theFirst"]:
            if fitting:
                return of_bool(0 in fitting)
            return None if self._may_touch(condition, mine) else Tri.NO
        if fitting:
            return Tri.YES
        return None if self._may_touch(condition, mine) else Tri.NO

    def _named(self, condition: str, part: str, _: About) -> Tri | None:
        """Read whether one of the words stands in the name of a part; no word says nothing."""
        names = " ".join(self.parts[p].name for p in self.scope(condition, part))
        words = set(re.findall(r"[a-z]+", names.casefold()))
        named = not words.isdisjoint(self.catalogue.knowledge.texts(condition, "lw:partNamed"))
        return Tri.YES if named else None

    def _may_touch(self, condition: str, contacts: Iterable[Contact]) -> bool:
        maybe = set(self._objects(condition, "lw:contactMayBe"))
        return any(f"contact:{one.kind}" in maybe for one in contacts)

    def _significance(self, condition: str, _: str, __: About) -> Tri | None:
        name = self.catalogue.knowledge.text(condition, "lw:significanceField")
        return _said(getattr(self.case.significance, name))

    def _aim_field(self, condition: str, _: str, __: About) -> Tri | None:
        return _said(
            getattr(self.case.aim, self.catalogue.knowledge.text(condition, "lw:aimField"))
        )

    def _equipment(self, condition: str, _: str, __: About) -> Tri | None:
        at_hand = self.case.means.equipment
        if isinstance(at_hand, str):
            return None
        return of_bool(self.catalogue.knowledge.text(condition, "lw:equipmentKey") in at_hand)

    def _problem(self, condition: str, _: str, about: About) -> Tri | None:
        if about.problem is None:
            return None
        kinds = self._objects(condition, "lw:whenProblem")
        mine = self.catalogue.knowledge.broader(about.problem.damage)
        return of_bool(not set(kinds).isdisjoint(mine))

    def _kind_told(self, _: str, __: str, about: About) -> Tri | None:
        """Read whether a damage is named; a group of kinds, or one of another kind, is not."""
        if about.problem is None or about.problem.damage == OTHER["damage"]:
            return None
        named = about.problem.damage in (*self.catalogue.damages, *self.catalogue.needs)
        return Tri.YES if named else None

    def _mounted(self, condition: str, _: str, __: About) -> Tri | None:
        return _among(self._objects(condition, "lw:whenMounted"), self.case.aim.mounting)

    def _purpose(self, condition: str, _: str, __: About) -> Tri | None:
        wanted = self._objects(condition, "lw:whenPurpose")
        purposes = set(self.case.aim.purposes)
        if purposes == {"unknown"}:
            return None
        return of_bool(any(f"aim:{purpose}" in wanted for purpose in purposes))

    def _kind(self, condition: str, _: str, __: About) -> Tri | None:
        return _among(self._objects(condition, "lw:whenObjectKind"), self.case.object.kind)

    def _form(self, condition: str, _: str, __: About) -> Tri | None:
        form = self.case.object.form
        wanted = self.catalogue.knowledge.texts(condition, "lw:whenObjectForm")
        return None if form in SAYS_NOTHING else of_bool(form in wanted)

    def _made(self, condition: str, _: str, __: About) -> Tri | None:
        year = self.catalogue.knowledge.number(condition, "lw:madeSince") or 0
        first, last = self.case.object.made_from, self.case.object.made_to
        if not isinstance(first, str) and first >= year:
            return Tri.YES
        return Tri.NO if not isinstance(last, str) and last < year else None

    def _past_treatment(self, condition: str, _: str, __: About) -> Tri | None:
        wanted = self.catalogue.knowledge.texts(condition, "lw:whenPastTreatment")
        return of_bool(self.case.object.past_treatment in wanted)

    def _barred(self, _: str, part: str, __: About) -> Tri:
        """Read whether no barrier fits between a part and anything that it touches."""
        mine = [c.barrier for c in self.case.contacts if part in c.between and c.kind != APART]
        return of_bool(bool(mine) and all(one == "impossible" for one in mine))

    def _area(self, condition: str, _: str, __: About) -> Tri | None:
        """Read whether the object covers more than so many square centimetres."""
        area = self.case.object.size.area
        largest = self.catalogue.knowledge.number(condition, "lw:objectAreaOver") or 0
        return of_bool(area > largest) if area else None

    def _degrees(self, condition: str, _: str, __: About) -> Tri | None:
        least = self.catalogue.knowledge.number(condition, "lw:degreesAtLeast") or 0
        angle = self.case.aim.degrees_from_vertical
        if isinstance(angle, str):
            return None if angle == "unknown" else Tri.NO
        return of_bool(angle >= least)

    def _severity(self, condition: str, _: str, about: About) -> Tri | None:
        found = about.problem.severity if about.problem else "unknown"
        return _among(self._objects(condition, "lw:whenSeverity"), found)

    def _activity(self, condition: str, _: str, about: About) -> Tri | None:
        found = about.problem.activity if about.problem else "unknown"
        return _among(self._objects(condition, "lw:whenActivity"), found)

    def _extent(self, condition: str, _: str, about: About) -> Tri | None:
        k = self.catalogue.knowledge
        extent = about.problem.extent if about.problem else None
        if not isinstance(extent, Extent) or extent.unit != k.text(condition, "lw:extentIn"):
            return None
        return of_bool(extent.value <= (k.number(condition, "lw:extentAtMost") or 0))

    def _damage_field(self, condition: str, _: str, about: About) -> Tri | None:
        k = self.catalogue.knowledge
        value = getattr(about.problem, k.text(condition, "lw:damageField"), "unknown")
        wanted = k.texts(condition, "lw:fieldIs")
        if not wanted:
            return _said(Tri(value))
        return None if value in SAYS_NOTHING else of_bool(value in wanted)

    def _damage(self, condition: str, part: str, _: About) -> Tri:
        """Read the damages recorded; what the record doesn't list is not there."""
        places = set(self.scope(condition, part))
        kinds = set(self._objects(condition, "lw:whenDamage"))
        how = self._objects(condition, "lw:whenActivity")
        k = self.catalogue.knowledge
        return of_bool(
            any(
                places.intersection(one.parts)
                and kinds.intersection(k.broader(one.damage))
                and (not how or camel(one.activity) in how)
                for one in self.case.damages
            )
        )

    def _material(self, condition: str, part: str, _: About) -> Tri | None:
        """Read what parts are made of; asked for every option, and the same for all of them."""
        k = self.catalogue.knowledge
        key = condition, "" if asks(condition, k).scope == WHOLE else part
        if key not in self._materials:
            wanted = self._objects(condition, "lw:partMaterial")
            read = self._over(condition, part, lambda p: self._made_of(self.parts[p], wanted))
            self._materials[key] = read
        return self._materials[key]

    @cached_property
    def _materials(self) -> dict[tuple[str, str], Tri | None]:
        """(condition, part) -> what was read; no part where a condition asks of all of them."""
        return {}

    def _made_of(self, part: Part, wanted: list[str]) -> Tri | None:
        """Read whether a part holds one of the *wanted* materials; None if it may and is silent."""
        answers = [a for one in wanted if (a := self._holding(part, one)) is not None]
        if len(answers) < len(wanted) and Tri.YES not in answers:
            return Tri.UNKNOWN if Tri.UNKNOWN in answers else None
        return any_of(answers)

    def _holding(self, part: Part, wanted: str) -> Tri | None:
        """Return what :meth:`_holds` says; many conditions want the same materials."""
        key = part.id, wanted
        if key not in self._held:
            self._held[key] = self._holds(part, wanted)
        return self._held[key]

    @cached_property
    def _held(self) -> dict[tuple[str, str], Tri | None]:
        return {}

    def _holds(self, part: Part, wanted: str) -> Tri | None:
        known = self.catalogue.held
        answers = []
        for one in part.materials:
            key = (one.material, one.identified, wanted)
            if key not in known:
                known[key] = self._is(*key)
            if (answer := known[key]) is not None:
                answers.append(answer)
        return any_of(answers) if answers else None

    def _is(self, material: str, identified: str, wanted: str) -> Tri | None:
        """Return whether what is recorded as a material is *wanted*; None for another branch."""
        k = self.catalogue.knowledge
        up, mine = k.broader(wanted), k.broader(material)
        branch = _branch(up)
        if wanted in mine:  # a structure is seen, whatever nobody has identified
            seen = identified != "unknown" or branch in (STRUCTURE, wanted)
            return Tri.YES if seen else Tri.UNKNOWN
        if material in up or self._may_be(material, up):
            return Tri.UNKNOWN
        return Tri.NO if branch == _branch(mine) else None

    def _may_be(self, material: str, above: tuple[str, ...]) -> bool:
        """Return whether what has yet to be found out could turn out to be what is wanted."""
        parents = self.catalogue.knowledge.objects(material, "skos:broader")
        unsettled = material in self.catalogue.uncertain_materials
        return unsettled and not set(parents).isdisjoint(above)


def _branch(lineage: tuple[str, ...]) -> str:
    """Return the uppermost kind that a material belongs to: fibre, finish, structure and so on."""
    return next((one for one in reversed(lineage) if one != ROOT), "")


def _among(wanted: Iterable[str], value: str) -> Tri | None:
    """Return whether a value of the record is one of *wanted*; silence may itself be wanted."""
    if camel(value) in wanted:
        return Tri.YES
    return None if value == "unknown" else Tri.NO


def _said(answer: Tri, not_applicable: Tri = Tri.NO) -> Tri | None:
    if answer is Tri.NOT_APPLICABLE:
        return not_applicable
    return None if answer is Tri.UNKNOWN else answer
