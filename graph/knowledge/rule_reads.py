"""Which tests each rule reads, and where: so that it is known what a further test leaves as it is.

A rule is looked through as it is written. Whatever isn't plainly one of the few ways in which a
rule asks for a test by its name counts as reading every test; so what is told here may be too
much and is never too little.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import NamedTuple

from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.names import PREFIXES, curie_of, term_of
from leastwise.graph.shacl import CompiledShapes
from leastwise.graph.shacl.terms import literal

__all__ = ["TestReading", "readings_of_tests"]

#: What a part has been tested for: a test by its name stands after each of these.
TESTED = frozenset(("lw:testedGood", "lw:testedBad", "lw:testedInconclusive"))
#: By what else a rule comes upon a test: its node, or a way backwards along what is said of one.
OF_TESTS = frozenset(
    ("lw:test", "lw:part", "lw:result", "lw:material", "lw:agent", "lw:hasTest", "rdf:type")
)
NODE_OF_TEST = frozenset(("lw:hasTest", "lw:TestDone"))
#: By what a rule comes to other parts than an option treats, or than that of an exposure.
ELSEWHERE = frozenset(
    ("lw:hasPart", "lw:between", "lw:hasDamage", "lw:hasNeed", "lw:hasContact", "lw:hasTest",
     "lw:option")
)  # fmt: skip
#: What a shape may say of tests by name and not be changed by a test of another name.
BY_NAME = frozenset(
    ("sh:path", "sh:hasValue", "sh:qualifiedMinCount", "sh:qualifiedMaxCount",
     "sh:qualifiedValueShape")
)  # fmt: skip
SAID_OF_TESTS = frozenset(("lw:test", "lw:result", "lw:material", "lw:agent"))
ONE = literal("1", PREFIXES["xsd"] + "integer")
NAMES = frozenset(("sh:in", "sh:hasValue"))
#: What a rule may demand of an option or exposure, by the paths to it.
DEMANDED = {
    "technique": ("lw:technique", "lw:technique skos:broader*"),
    "agent": ("lw:agent", "lw:technique lw:brings lw:agent"),
    "problem": ("lw:damageType", "lw:damageType skos:broader*", "lw:option lw:damageType"),
    "material": ("lw:material", "lw:material skos:broader*"),
    "identification": ("lw:identification",),
    "testState": ("lw:testState",),
    "madeOf": ("lw:part lw:material", "lw:part lw:material skos:broader*"),
    "damage": ("lw:part lw:bears", "lw:case lw:hasPart lw:bears"),
}  # fmt: skip
#: What is said of a rule in words and not asked.
SAID = frozenset(("sh:message", "sh:severity"))
ON_OTHER_THINGS = frozenset(("lw:Part", "lw:Case"))


@dataclass(frozen=True, slots=True)
class TestReading:
    """What a rule reads of the tests made.

    Attributes:
        rule: its name.
        tests: the tests it names; *any_test* says that it may read every one.
        on: what it speaks of: lw:Option, lw:Exposure, or "" for something else besides.
        elsewhere: whether it may look at other parts than those treated, or that of an exposure.
        demands: (what, names): this of the option or exposure (DEMANDED), or what is broader, has
            to be one of these, or the rule says nothing of it.

    """

    __test__ = False  # not a pytest class

    rule: str
    tests: frozenset[str]
    any_test: bool
    on: str
    elsewhere: bool
    demands: tuple[tuple[str, frozenset[str]], ...]

    def may_speak_of(self, one: Mapping[str, Collection[str]]) -> bool:
        """Return whether the rule may speak of an option or exposure, given by what it is."""
        return all(not names.isdisjoint(one[what]) for what, names in self.demands)


class _Said(NamedTuple):
    """One triple of a rule."""

    node: str
    name: str
    value: str


def readings_of_tests(
    book: Knowledge, compiled: CompiledShapes, rules: Iterable[str]
) -> tuple[TestReading, ...]:
    """Return what those of the rules read of tests that may speak of options or exposures."""
    demands = _demands(compiled)
    mine = (one for one in rules if not _is_on_other_things(book, one))
    found = (_reading(book, one, demands.get(one, ())) for one in mine)
    return tuple(one for one in found if one.any_test or one.tests)


def _is_on_other_things(book: Knowledge, rule: str) -> bool:
    """Return whether a rule aims at parts or the record alone, and never at an option."""
    return {*_aimed_at(book, rule)} <= ON_OTHER_THINGS


def _aimed_at(book: Knowledge, rule: str) -> list[str]:
    """Return the classes that a rule aims at, and "" if it aims at something else."""
    aimed = [one for one in book.predicates(rule) if one.startswith("sh:target")]
    return book.objects(rule, "sh:targetClass") if aimed == ["sh:targetClass"] else [""]


def _reading(
    book: Knowledge, rule: str, demands: tuple[tuple[str, frozenset[str]], ...]
) -> TestReading:
    said = [*_all_said(book, rule)]
    values = {one.value for one in said}
    by_name = _by_name(book, said)
    backwards = [one for one in said if one.name == "sh:inversePath" and one.node not in by_name]
    any_test = any(_leads_to_tests(one.value) for one in backwards) or any(
        (one.value in TESTED and one.node not in by_name)
        or one.value in NODE_OF_TEST
        or one.name == "sh:closed"
        for one in said
    )
    aimed = _aimed_at(book, rule)
    return TestReading(
        rule,
        frozenset(one for one in values if one.startswith("test:")),
        any_test,
        aimed[0] if len(aimed) == 1 else "",
        any_test or bool(backwards) or not ELSEWHERE.isdisjoint(values),
        demands,
    )


def _all_said(book: Knowledge, rule: str) -> Iterator[_Said]:
    """Yield all that a rule asks, with the shapes, paths and lists within it."""
    seen, waiting = {rule}, [rule]
    while waiting:
        node = waiting.pop()
        for name, values in book.predicates(node).items():
            if name in SAID or not name.startswith(("sh:", "rdf:")):
                continue
            for value in values:
                yield _Said(node, name, value)
                if value not in seen and value in book:
                    seen.add(value)
                    waiting.append(value)


def _leads_to_tests(value: str) -> bool:
    return value in OF_TESTS or value.startswith("_:")


def _by_name(book: Knowledge, said: Iterable[_Said]) -> set[str]:
    """Return the last steps of the paths along which nothing but tests by their names is asked for.

    A step is the cell of a list, or the shape itself; a way backwards is the node that says so.
    """
    paths = [one for one in said if one.name == "sh:path"]
    fine = {_end(book, one) for one in paths if _is_by_name(book, one)}
    fine -= {_end(book, one) for one in paths if not _is_by_name(book, one)}
    back = {_back(book, one) for one in paths if _is_of_named_tests(book, one)}
    return fine | (back - {_back(book, one) for one in paths if not _is_of_named_tests(book, one)})


def _is_by_name(book: Knowledge, path: _Said) -> bool:
    """Return whether a property shape asks of what its path ends at by name, and nothing else."""
    asked = book.predicates(path.node)
    if asked.get("sh:minCount") == [ONE] and "sh:hasValue" in asked:  # which says it already
        asked = {name: value for name, value in asked.items() if name != "sh:minCount"}
    inner = asked.get("sh:qualifiedValueShape", [])
    return BY_NAME.issuperset(asked) and all(
        NAMES.issuperset(book.predicates(one)) for one in inner
    )


def _is_of_named_tests(book: Knowledge, path: _Said) -> bool:
    """Return whether a property shape counts tests of a part that have one of some names."""
    inner = book.objects(path.node, "sh:qualifiedValueShape")
    if not BY_NAME.issuperset(book.predicates(path.node)) or len(inner) != 1:
        return False
    asked = book.predicates(inner[0])
    members = [m for one in asked.get("sh:and", ()) for m in _members(book, one)]
    of_test = [book.predicates(one).get("sh:property", []) for one in members]
    ways = {way for one in of_test for shape in one for way in book.objects(shape, "sh:path")}
    return (
        [*asked] == ["sh:and"]
        and all([*book.predicates(one)] == ["sh:property"] for one in members)
        and ways <= SAID_OF_TESTS
        and any(_names_test(book, shape) for one in of_test for shape in one)
    )


def _names_test(book: Knowledge, shape: str) -> bool:
    """Return whether a property shape wants the test to be one of those it names."""
    asked = book.predicates(shape)
    some = asked.get("sh:minCount") == [ONE] and "sh:in" in asked
    return asked.get("sh:path") == ["lw:test"] and (some or "sh:hasValue" in asked)


def _members(book: Knowledge, node: str) -> Iterator[str]:
    while first := book.objects(node, "rdf:first"):
        yield first[0]
        node = book.objects(node, "rdf:rest")[0]


def _end(book: Knowledge, path: _Said) -> str:
    """Return the node that holds the last step of a path: a cell of a list, or the shape."""
    node, rest = path.node, path.value
    while book.objects(rest, "rdf:first"):
        node, rest = rest, book.objects(rest, "rdf:rest")[0]
    return node


def _back(book: Knowledge, path: _Said) -> str:
    """Return the last step of a path, which may be a way backwards."""
    return ([*_members(book, path.value)] or [path.value])[-1]


def _demands(compiled: CompiledShapes) -> dict[str, tuple[tuple[str, frozenset[str]], ...]]:
    """Return by rule what it demands of an option or exposure, as far as it is told here."""
    ways = {_way(path): what for what, paths in DEMANDED.items() for path in paths}
    return {
        curie_of(compiled.shapes[index].node): tuple(
            (what, frozenset(curie_of(compiled.constants[one]) for one in demand.constants))
            for demand in compiled.demands[index]
            if (what := ways.get(compiled.paths[demand.path].text))
        )
        for index in compiled.aimed
    }


def _way(path: str) -> str:
    """Return the text of a path of CURIEs; those that are broader, of any number, end it with *."""
    steps = path.removesuffix("*").split()
    return "/".join(map(term_of, steps)) + "*" * path.endswith("*")
