"""The case, its options and exposures as columns of triples that the rules can read."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import partial
from typing import Any

import numpy as np

from leastwise.graph.case.record import (
    HEADINGS,
    Case,
    Constituent,
    Contact,
    DamageFound,
    Part,
    TestDone,
    Tri,
)
from leastwise.graph.meanings import TestState
from leastwise.graph.names import BASE, PREFIXES, camel, lw, term_of
from leastwise.graph.shacl.terms import Ids, literal
from leastwise.graph.weighing.candidates import Candidate, open_questions
from leastwise.graph.weighing.conditions import ConditionReader
from leastwise.graph.weighing.contacts import Reach
from leastwise.graph.weighing.earlier import waits_for_work
from leastwise.graph.weighing.exposure import Exposure
from leastwise.graph.weighing.needs import NeedHere
from leastwise.graph.weighing.rows import Known, Rows

__all__ = ["case_base", "write_case", "write_exposures", "write_options"]

_TYPE = term_of("rdf:type")
_LABEL = term_of("rdfs:label")
_TRI = {
    Tri.YES: lw("yes"),
    Tri.NO: lw("no"),
    Tri.UNKNOWN: lw("unknown"),
    Tri.NOT_APPLICABLE: lw("notApplicable"),
}
#: What is said of an option and a condition that it requires.
_STATE = {
    Tri.YES: "met", Tri.NO: "unmet", Tri.UNKNOWN: "unknownCondition", Tri.NOT_APPLICABLE: "met",
}  # fmt: skip
_SKILL = {"assistant": 1, "conservator": 2, "specialist": 3}


def case_base(case: Case) -> str:
    """Return the IRI below which everything of a case is named."""
    return f"{BASE}case/{case.id}/"


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
    rows.say(me, case.aim, partial(_of_aim, case))
    rows.add(me, lw("equipmentAtHand"), *_equipment(case))
    for part in case.parts:
        _write_part(case, part, rows, me)
        if is_taken_off(case, part.id):
            rows.add(part_term(case, part.id), lw("takenOff"), lw("yes"))
    for i, contact in enumerate(case.contacts):
        node = f"<{base}contact/{i}>"
        rows.add(me, lw("hasContact"), node)
        rows.add(node, lw("between"), *(part_term(case, end) for end in contact.between))
        rows.say(node, contact, partial(_of_contact, contact))
    _write_damages(case, rows, me)
    _write_tests(case, rows, me)


def _of_contact(contact: Contact) -> Iterator[tuple[str, str]]:
    yield _TYPE, lw("Contact")
    yield lw("contactKind"), term_of(f"contact:{contact.kind}")
    yield lw("barrier"), value_term(contact.barrier)
    yield lw("parting"), value_term(contact.parting)


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


def _of_aim(case: Case) -> Iterator[tuple[str, str]]:
    aim = case.aim
    yield from ((lw("aim"), term_of(f"aim:{one}")) for one in aim.purposes)
    yield lw("mounting"), value_term(aim.mounting)
    yield lw("travels"), _TRI[aim.travels]
    yield lw("rhControlled"), _TRI[aim.rh_controlled]
    for name, value in (
        ("degreesFromVertical", aim.degrees_from_vertical),
        ("months", aim.months),
        ("lux", aim.lux),
        ("annualLightDose", annual_light_dose(case)),
    ):
        yield lw(name), value_term(value) if isinstance(value, str) else number(value)


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
    rows.add(me, lw("hasPart"), node)
    rows.add(node, lw("case"), me)
    rows.say(node, part, partial(_of_part, part))
    for i, one in enumerate(part.materials):
        inner = f"<{case_base(case)}part/{part.id}/material/{i}>"
        rows.add(node, lw("constituent"), inner)
        rows.say(inner, one, partial(_of_constituent, one))


def _of_part(part: Part) -> Iterator[tuple[str, str]]:
    yield _TYPE, lw("Part")
    yield _LABEL, literal(part.name)
    for one in part.materials:
        yield lw("material"), term_of(one.material)
    for name, value in (
        ("liesFlat", part.lies_flat),
        ("reverseReachable", part.reverse_reachable),
        ("bearsHandling", part.bears_handling),
        ("bearsNeedle", part.bears_needle),
        ("soundSurroundings", part.sound_surroundings),
    ):
        yield lw(name), _TRI[value]
    for heading in HEADINGS:
        yield lw(f"{heading}Stated"), value_term(getattr(part, heading))


def _of_constituent(one: Constituent) -> Iterator[tuple[str, str]]:
    yield _TYPE, lw("Constituent")
    yield lw("material"), term_of(one.material)
    yield lw("identification"), value_term(one.identified)
    if one.look:
        yield lw("look"), literal(one.look)


def _write_damages(case: Case, rows: Rows, me: str) -> None:
    for damage in case.damages:
        node = f"<{case_base(case)}damage/{damage.id}>"
        rows.add(me, lw("hasDamage"), node)
        rows.say(node, damage, partial(_of_damage, damage))
        for part in damage.parts:
            rows.add(node, lw("part"), part_term(case, part))
            rows.add(part_term(case, part), lw("bears"), term_of(damage.damage))


def _of_damage(damage: DamageFound) -> Iterator[tuple[str, str]]:
    yield _TYPE, lw("DamageFound")
    yield lw("damageType"), term_of(damage.damage)
    yield lw("severityFound"), value_term(damage.severity)
    yield lw("activityFound"), value_term(damage.activity)
    yield lw("evidence"), _TRI[damage.evidence]
    if damage.deposit != "unknown":
        yield lw("depositFound"), literal(damage.deposit)


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
        rows.add(me, lw("hasTest"), node)
        rows.add(node, lw("part"), part_term(case, done.part))
        rows.say(node, done, partial(_of_test, done))
        if done.result != "not-judged":
            name = lw(f"tested{done.result.capitalize()}")
            rows.add(part_term(case, done.part), name, term_of(done.test))


def _of_test(done: TestDone) -> Iterator[tuple[str, str]]:
    yield _TYPE, lw("TestDone")
    yield lw("test"), term_of(done.test)
    yield lw("result"), value_term(done.result)
    if done.material is not None:
        yield lw("material"), term_of(done.material)
    if done.agent is not None:
        yield lw("agent"), term_of(done.agent)


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
        _write_option(case, one, reader, rows)


def _write_option(case: Case, one: Candidate, reader: ConditionReader, rows: Rows) -> None:
    ids, name, concept = rows.ids, rows.name, rows.concept
    base, node = case_base(case), ids[option_term(case, one.id)]
    told = [
        (ids[_TYPE], name["Option"]),
        (name["case"], ids[f"<{base}record>"]),
        (name["technique"], concept[one.technique.id]),
        (name["addresses"], ids[f"<{base}damage/{one.damage.id}>"]),
        (name["damageType"], concept[one.damage.damage]),
        *((name["part"], ids[part_term(case, part)]) for part in one.parts),
        *((name[_STATE[reader.state(c, one)]], concept[c]) for c in one.requires),
        *((name["waitsForWork"], concept[work]) for work in waits_for_work(one)),
        *((name["openEffect"], concept[c]) for c in open_questions(one, reader)),
        *((name["failedEffect"], concept[lacking]) for lacking in one.lacking),
        *(
            (name["testFailed" if result is TestState.BAD else "testMissing"], concept[test])
            for test, result in reader.missing_tests(one)
        ),
    ]
    for predicate, value in told:
        rows.put(node, predicate, value)
    _write_means(case, one, reader, rows)


def _write_means(case: Case, one: Candidate, reader: ConditionReader, rows: Rows) -> None:
    node, technique = option_term(case, one.id), one.technique
    for key in technique.equipment_keys:
        state = reader.has_equipment(key)
        if state is not Tri.YES:
            name = "lacksEquipment" if state is Tri.NO else "unknownEquipment"
            rows.add(node, lw(name), literal(key))
    skill = _SKILL.get(case.means.skill)
    if skill is None and technique.skill > _SKILL["assistant"]:
        rows.add(node, lw("unknownSkill"), number(technique.skill))
    if skill is not None and technique.skill > skill:
        rows.add(node, lw("beyondSkill"), number(technique.skill))
    hours = case.means.hours
    if not isinstance(hours, str) and (least := one.hours[0]) > hours:
        rows.add(node, lw("beyondHours"), number(least))


def write_exposures(case: Case, exposures: Iterable[Exposure], rows: Rows) -> range:
    """Write the exposures; what is stopped is typed StoppedExposure and no rule sees it.

    Returns the numbers of their terms, in order.
    """
    fields = dict(zip(Exposure._fields, zip(*exposures, strict=True), strict=False))
    if not fields:
        return range(0)
    base = case_base(case)
    concept, name = rows.concept, rows.name
    part = Known(rows, lambda one: f"<{base}part/{one}>")
    grade = Known(rows, lambda one: number(int(one)))
    reach = fields["reach"]
    written: dict[str, tuple[Iterable[object], Mapping[Any, int]]] = {
        "option": (fields["option"], Known(rows, lambda one: f"<{base}option/{one}>")),
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
