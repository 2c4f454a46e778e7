"""The case, its options and exposures as columns of triples that the rules can read."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from leastwise.graph.case.record import HEADINGS, Case, Part, Tri
from leastwise.graph.meanings import TestState
from leastwise.graph.names import BASE, PREFIXES, camel, lw, term_of
from leastwise.graph.shacl.terms import Ids, TermTable, literal
from leastwise.graph.shacl.triples import Triples
from leastwise.graph.weighing.candidates import Candidate, open_questions
from leastwise.graph.weighing.conditions import ConditionReader
from leastwise.graph.weighing.contacts import Reach
from leastwise.graph.weighing.earlier import waits_for_work
from leastwise.graph.weighing.exposure import Exposure
from leastwise.graph.weighing.needs import NeedHere

__all__ = ["Rows", "case_base", "write_case", "write_exposures", "write_options"]

_TYPE = term_of("rdf:type")
_LABEL = term_of("rdfs:label")
_TRI = {
    Tri.YES: lw("yes"),
    Tri.NO: lw("no"),
    Tri.UNKNOWN: lw("unknown"),
    Tri.NOT_APPLICABLE: lw("notApplicable"),
}
_SKILL = {"assistant": 1, "conservator": 2, "specialist": 3}


def case_base(case: Case) -> str:
    """Return the IRI below which everything of a case is named."""
    return f"{BASE}case/{case.id}/"


@dataclass
class Rows:
    """Three growing columns of term ids over a table that stands on the knowledge's own.

    Long columns come as arrays; they lie beside the single triples and are joined at the end.
    """

    terms: TermTable
    ids: Mapping[str, int] = field(init=False, repr=False)
    s: list[int] = field(default_factory=list)
    p: list[int] = field(default_factory=list)
    o: list[int] = field(default_factory=list)
    _columns: list[tuple[Ids, Ids, Ids]] = field(default_factory=list, repr=False)

    def __post_init__(self) -> None:
        self.ids = _Numbers(self.terms)

    def id(self, term: str) -> int:
        """Return the number of a term."""
        return self.ids[term]

    def add(self, subject: str, predicate: str, *objects: str) -> None:
        """Add a triple for each object; all are terms."""
        ids = self.ids
        s, p = ids[subject], ids[predicate]
        for one in objects:
            self.s.append(s)
            self.p.append(p)
            self.o.append(ids[one])

    def column(self, subjects: Ids, predicate: str, objects: Ids) -> None:
        """Add a triple of one predicate for each two numbers."""
        p = np.full(subjects.size, self.ids[predicate], dtype=np.int32)
        self._columns.append((subjects, p, objects))

    def on(self, knowledge: Triples) -> Triples:
        """Return the knowledge with these rows laid over it."""
        single = (np.array(one, dtype=np.int32) for one in (self.s, self.p, self.o))
        s, p, o = (np.concatenate(one) for one in zip(single, *self._columns, strict=True))
        return knowledge.extended_with(self.terms, s, p, o)


def number(value: float) -> str:
    """Return a number as a term: xsd:integer if whole, else xsd:decimal."""
    if float(value).is_integer():
        return literal(str(int(value)), PREFIXES["xsd"] + "integer")
    return literal(f"{value:.6f}".rstrip("0"), PREFIXES["xsd"] + "decimal")


def value_term(name: str) -> str:
    """Return the term of a hyphenated value of a record."""
    return term_of(camel(name))


def part_term(case: Case, part: str) -> str:
    """Return the term of a part."""
    return f"<{case_base(case)}part/{part}>"


def option_term(case: Case, option: str) -> str:
    """Return the term of an option."""
    return f"<{case_base(case)}option/{option}>"


def write_case(case: Case, rows: Rows) -> None:
    """Write the record itself: object, parts, contacts, damage, tests, aim, means."""
    base = case_base(case)
    me = f"<{base}record>"
    rows.add(me, _TYPE, lw("Case"))
    rows.add(me, term_of("dcterms:title"), literal(case.title))
    rows.add(me, term_of("dcterms:identifier"), literal(case.id))
    rows.add(me, lw("isDemo"), literal(str(case.demo).lower(), PREFIXES["xsd"] + "boolean"))
    _write_object(case, rows, me)
    _write_aim(case, rows, me)
    for part in case.parts:
        _write_part(case, part, rows, me)
        if is_taken_off(case, part.id):
            rows.add(part_term(case, part.id), lw("takenOff"), lw("yes"))
    for i, contact in enumerate(case.contacts):
        node = f"<{base}contact/{i}>"
        rows.add(node, _TYPE, lw("Contact"))
        rows.add(me, lw("hasContact"), node)
        rows.add(node, lw("contactKind"), term_of(f"contact:{contact.kind}"))
        rows.add(node, lw("between"), *(part_term(case, end) for end in contact.between))
        rows.add(node, lw("barrier"), value_term(contact.barrier))
        rows.add(node, lw("parting"), value_term(contact.parting))
    _write_damages(case, rows, me)
    _write_tests(case, rows, me)


def is_taken_off(case: Case, part: str) -> bool:
    """Return whether a part is recorded as taken off: parted at every contact that it has."""
    partings = {contact.parting for contact in case.contacts if part in contact.between}
    return partings == {"done"}


def _write_object(case: Case, rows: Rows, me: str) -> None:
    thing = f"<{case_base(case)}object>"
    rows.add(me, lw("object"), thing)
    rows.add(thing, _TYPE, lw("Object"))
    rows.add(thing, _LABEL, literal(case.object.name))
    rows.add(thing, lw("objectKind"), value_term(case.object.kind))
    for name, value in (("madeFrom", case.object.made_from), ("madeTo", case.object.made_to)):
        if not isinstance(value, str):
            rows.add(thing, lw(name), number(value))
    lacking = {
        "purpose of the record": case.record.purpose,
        "name of the recorder": case.record.recorder,
        "date of the record": case.record.date,
        "unique identification": case.object.identifier,
        "past treatment": case.object.past_treatment,
    }
    rows.add(me, lw("lacks"), *(literal(name) for name, v in lacking.items() if v == "unknown"))
    if not case.significance.statement:
        rows.add(me, lw("lacks"), literal("statement of significance"))
    rows.add(me, lw("curatorAgrees"), _TRI[case.significance.curator_agrees])
    rows.add(me, lw("keep"), *(literal(text) for text in case.significance.keep))


def _write_aim(case: Case, rows: Rows, me: str) -> None:
    aim = case.aim
    rows.add(me, lw("aim"), *(term_of(f"aim:{one}") for one in aim.purposes))
    rows.add(me, lw("mounting"), value_term(aim.mounting))
    rows.add(me, lw("travels"), _TRI[aim.travels])
    rows.add(me, lw("rhControlled"), _TRI[aim.rh_controlled])
    for name, value in (
        ("degreesFromVertical", aim.degrees_from_vertical),
        ("months", aim.months),
        ("lux", aim.lux),
        ("annualLightDose", annual_light_dose(case)),
    ):
        given = value if isinstance(value, str) else number(value)
        rows.add(me, lw(name), value_term(given) if isinstance(value, str) else given)
    rows.add(me, lw("equipmentAtHand"), *_equipment(case))


def annual_light_dose(case: Case) -> float | str:
    """Return lux hours in a year (illuminance x hours a day x days a year), or *unknown*."""
    aim = case.aim
    values = (aim.lux, aim.hours_per_day, aim.days_per_year)
    if "unknown" in values:
        return "unknown"
    if "not-applicable" in values:
        return "not-applicable"
    lux, hours, days = (float(v) for v in values)
    return lux * hours * days


def _equipment(case: Case) -> Iterable[str]:
    at_hand = case.means.equipment
    return [lw("unknown")] if isinstance(at_hand, str) else [literal(key) for key in at_hand]


def _write_part(case: Case, part: Part, rows: Rows, me: str) -> None:
    node = part_term(case, part.id)
    rows.add(node, _TYPE, lw("Part"))
    rows.add(me, lw("hasPart"), node)
    rows.add(node, lw("case"), me)
    rows.add(node, _LABEL, literal(part.name))
    for i, one in enumerate(part.materials):
        inner = f"<{case_base(case)}part/{part.id}/material/{i}>"
        rows.add(inner, _TYPE, lw("Constituent"))
        rows.add(node, lw("constituent"), inner)
        rows.add(inner, lw("material"), term_of(one.material))
        rows.add(inner, lw("identification"), value_term(one.identified))
        if one.look:
            rows.add(inner, lw("look"), literal(one.look))
        rows.add(node, lw("material"), term_of(one.material))
    for name, value in (
        ("liesFlat", part.lies_flat),
        ("reverseReachable", part.reverse_reachable),
        ("bearsHandling", part.bears_handling),
        ("bearsNeedle", part.bears_needle),
        ("soundSurroundings", part.sound_surroundings),
    ):
        rows.add(node, lw(name), _TRI[value])
    for heading in HEADINGS:
        rows.add(node, lw(f"{heading}Stated"), value_term(getattr(part, heading)))


def _write_damages(case: Case, rows: Rows, me: str) -> None:
    for damage in case.damages:
        node = f"<{case_base(case)}damage/{damage.id}>"
        rows.add(node, _TYPE, lw("DamageFound"))
        rows.add(me, lw("hasDamage"), node)
        rows.add(node, lw("damageType"), term_of(damage.damage))
        rows.add(node, lw("severityFound"), value_term(damage.severity))
        rows.add(node, lw("activityFound"), value_term(damage.activity))
        rows.add(node, lw("evidence"), _TRI[damage.evidence])
        if damage.deposit != "unknown":
            rows.add(node, lw("depositFound"), literal(damage.deposit))
        for part in damage.parts:
            rows.add(node, lw("part"), part_term(case, part))
            rows.add(part_term(case, part), lw("bears"), term_of(damage.damage))


def _write_need(case: Case, need: NeedHere, rows: Rows, me: str) -> None:
    node = f"<{case_base(case)}damage/{need.id}>"
    rows.add(node, _TYPE, lw("NeedFound"))
    rows.add(me, lw("hasNeed"), node)
    rows.add(node, lw("damageType"), term_of(need.damage))
    rows.add(node, lw("evidence"), _TRI[need.evidence])
    rows.add(node, lw("part"), *(part_term(case, part) for part in need.parts))


def _write_tests(case: Case, rows: Rows, me: str) -> None:
    for i, done in enumerate(case.tests):
        node = f"<{case_base(case)}test/{i}>"
        rows.add(node, _TYPE, lw("TestDone"))
        rows.add(me, lw("hasTest"), node)
        rows.add(node, lw("test"), term_of(done.test))
        rows.add(node, lw("part"), part_term(case, done.part))
        rows.add(node, lw("result"), value_term(done.result))
        if done.material is not None:
            rows.add(node, lw("material"), term_of(done.material))
        if done.agent is not None:
            rows.add(node, lw("agent"), term_of(done.agent))
        if done.result != "not-judged":
            name = lw(f"tested{done.result.capitalize()}")
            rows.add(part_term(case, done.part), name, term_of(done.test))


def write_options(
    case: Case, candidates: Sequence[Candidate], reader: ConditionReader, rows: Rows
) -> None:
    """Write the options with what the record says of their conditions, tests and means."""
    me = f"<{case_base(case)}record>"
    for need in {
        c.damage.id: c.damage for c in candidates if isinstance(c.damage, NeedHere)
    }.values():
        _write_need(case, need, rows, me)
    for one in candidates:
        node = option_term(case, one.id)
        rows.add(node, _TYPE, lw("Option"))
        rows.add(node, lw("case"), me)
        rows.add(node, lw("technique"), term_of(one.technique.id))
        rows.add(node, lw("addresses"), f"<{case_base(case)}damage/{one.damage.id}>")
        rows.add(node, lw("damageType"), term_of(one.damage.damage))
        rows.add(node, lw("part"), *(part_term(case, part) for part in one.parts))
        for condition in one.requires:
            state = reader.state(condition, one)
            name = {Tri.NO: "unmet", Tri.UNKNOWN: "unknownCondition"}.get(state, "met")
            rows.add(node, lw(name), term_of(condition))
        for work in waits_for_work(one):
            rows.add(node, lw("waitsForWork"), term_of(work))
        for condition in open_questions(one, reader):
            rows.add(node, lw("openEffect"), term_of(condition))
        for lacking in one.lacking:
            rows.add(node, lw("failedEffect"), term_of(lacking))
        for test, result in reader.missing_tests(one):
            rows.add(
                node, lw("testFailed" if result is TestState.BAD else "testMissing"), term_of(test)
            )
        _write_means(case, one, reader, rows, node)


def _write_means(
    case: Case, one: Candidate, reader: ConditionReader, rows: Rows, node: str
) -> None:
    for key in one.technique.equipment_keys:
        state = reader.has_equipment(key)
        if state is not Tri.YES:
            name = "lacksEquipment" if state is Tri.NO else "unknownEquipment"
            rows.add(node, lw(name), literal(key))
    skill = _SKILL.get(case.means.skill)
    if skill is None and one.technique.skill > _SKILL["assistant"]:
        rows.add(node, lw("unknownSkill"), number(one.technique.skill))
    if skill is not None and one.technique.skill > skill:
        rows.add(node, lw("beyondSkill"), number(one.technique.skill))
    hours = case.means.hours
    least = one.hours[0]
    if not isinstance(hours, str) and least > hours:
        rows.add(node, lw("beyondHours"), number(least))


def write_exposures(case: Case, exposures: Iterable[Exposure], rows: Rows) -> range:
    """Write the exposures; what is stopped is typed StoppedExposure and no rule sees it.

    Returns the numbers of their terms, in order.
    """
    fields = dict(zip(Exposure._fields, zip(*exposures, strict=True), strict=False))
    if not fields:
        return range(0)
    base = case_base(case)
    concept, name = _Known(rows, term_of), _Known(rows, lw)
    part = _Known(rows, lambda one: f"<{base}part/{one}>")
    grade = _Known(rows, lambda one: number(int(one)))
    reach = fields["reach"]
    written: dict[str, tuple[Iterable[object], Mapping[Any, int]]] = {
        "option": (fields["option"], _Known(rows, lambda one: f"<{base}option/{one}>")),
        "technique": (fields["technique"], concept),
        "agent": (fields["agent"], concept),
        "dose": (fields["dose"], grade),
        "part": (fields["part"], part),
        "material": (fields["material"], concept),
        "identification": (fields["identification"], name),
        "reach": (map(_place, reach, fields["on_target"]), name),
        "stoppable": ([one.stoppable for one in reach], name),
        "expectedHarm": (fields["harm"], grade),
        "sensitivityState": (fields["state"], name),
        "testState": (fields["test_state"], name),
        "confined": (fields["confined"], {True: name["yes"], False: name["no"]}),
    }
    added = rows.terms.add_new(f"<{base}exposure/{one}>" for one in fields["id"])
    me = np.arange(added.start, added.stop, dtype=np.int32)
    live, stopped = rows.id(lw("Exposure")), rows.id(lw("StoppedExposure"))
    rows.column(me, _TYPE, _numbers(stopped if one.stopped else live for one in reach))
    for predicate, (values, known) in written.items():
        rows.column(me, lw(predicate), _numbers(map(known.__getitem__, values)))
    came = [(i, part[one.way[-2]]) for i, one in zip(added, reach, strict=True) if one.way[1:]]
    rows.column(_numbers(i for i, _ in came), lw("via"), _numbers(via for _, via in came))
    return added


def _place(reach: Reach, on_target: bool) -> str:
    """Return where an agent arrives, as rules read it."""
    if not reach.recorded:
        return "notRecorded"
    return "onTarget" if on_target else "onNeighbour"


def _numbers(values: Iterable[int]) -> Ids:
    return np.fromiter(values, dtype=np.int32)


class _Numbers(dict[str, int]):
    """Term -> its number in a table; each term is looked up once."""

    def __init__(self, terms: TermTable) -> None:
        super().__init__()
        self._terms = terms

    def __missing__(self, term: str) -> int:
        found = self[term] = self._terms.intern(term)
        return found


class _Known(dict[object, int]):
    """Value -> number of its term; each term is made once."""

    def __init__(self, rows: Rows, term: Callable[[str], str]) -> None:
        super().__init__()
        self._rows, self._term = rows, term

    def __missing__(self, value: object) -> int:
        found = self[value] = self._rows.id(self._term(str(value)))
        return found
