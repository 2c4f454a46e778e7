"""Names that a record uses, tied to the knowledge: where they stand and what they stand for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from leastwise.graph.case.values import fold_name
from leastwise.graph.case.written import OTHER
from leastwise.graph.errors import Problem
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.knowledge.languages import is_english
from leastwise.graph.knowledge.lookup import look_up
from leastwise.graph.shacl.terms import split_literal

__all__ = ["UNIDENTIFIED", "Names", "find_concept", "fold_name", "name_table", "resolve_names"]

#: What stands in a record for a material that has no entry in the knowledge.
UNIDENTIFIED: Final = "material:unidentified"
#: Schemes with groups that a record may not name; of the others it may name any concept.
CLASS_OF: Final = {
    "agent": "lw:Agent",
    "policy": "lw:Policy",
    "technique": "lw:Technique",
    "test": "lw:Test",
}
#: Where names stand in a record, and of which scheme they are.
PLACES: Final = (
    ("parts[].materials[].material", ("material",)),
    ("contacts[].kind", ("contact",)),
    ("damages[].damage", ("damage",)),
    ("needs[].need", ("need",)),
    ("tests[].test", ("test",)),
    ("tests[].material", ("material",)),
    ("tests[].agent", ("agent",)),
    ("tests[].identified", ("material", "damage")),
    ("packs[].technique", ("technique",)),
    ("weighing.policy", ("policy",)),
)
#: Problems up to which a name that nothing stands for is told with what is near to it; looking
#: for that takes a few milliseconds each.
MOST_HINTED: Final = 20
#: Where a name of a scheme is looked for besides, so that a refused practice is found too.
_SEARCHED: Final = {"technique": ("technique", "refused")}
#: Names that people use and no page shows; some say less than the thing is.
_LOOSE: Final = "skos:hiddenLabel"
#: Schemes that a record names by the bare key.
_BARE: Final = ("contact",)
_OTHERWISE: Final = {
    "material": f"({UNIDENTIFIED}), with your word in its note",
    "damage": "(damage:other), with your words under other",
    "test": "(test:other), with your words under other",
    "need": "(need:other), with your words under other",
}


class Names:
    """Ties single names to the knowledge; what nothing stands for is added to *problems*."""

    def __init__(self, knowledge: Knowledge, problems: list[Problem]) -> None:
        self._knowledge, self._problems = knowledge, problems

    def of(self, path: str, given: str, *schemes: str) -> str:
        """Return the CURIE of a name, or the name itself where nothing stands for it."""
        k = self._knowledge
        found = next(filter(None, (find_concept(given, s, k) for s in schemes)), None)
        if found is None:
            hinted = len(self._problems) < MOST_HINTED
            accepted = _accepted(given, schemes, k, hinted=hinted)
            self._problems.append(Problem(path, repr(given), accepted))
            return given
        return found


def resolve_names(data: dict[str, Any], knowledge: Knowledge) -> list[Problem]:
    """Put CURIEs for the names in a record, in place; return those that nothing stands for.

    Whatever isn't text, or stands at no place of a name, is left alone.
    """
    problems: list[Problem] = []
    names = Names(knowledge, problems)
    for pattern, schemes in PLACES:
        for path, holder, key in _at(data, pattern):
            given = holder[key]
            if not isinstance(given, str) or not given.strip() or given in OTHER.values():
                continue
            told = len(problems)
            found = names.of(path, given, *schemes)
            if len(problems) == told:
                holder[key] = found.partition(":")[2] if schemes[0] in _BARE else found
    return problems


def _at(data: Any, pattern: str, path: str = "") -> Iterator[tuple[str, dict[str, Any], str]]:
    """Yield path, mapping and key of every place that a pattern stands for."""
    head, _, rest = pattern.partition(".")
    key = head.removesuffix("[]")
    if not isinstance(data, dict) or key not in data:
        return
    here = f"{path}.{key}" if path else key
    if not rest:
        yield here, data, key
    elif head.endswith("[]") and isinstance(data[key], list):
        for i, one in enumerate(data[key]):
            yield from _at(one, rest, f"{here}[{i}]")
    else:
        yield from _at(data[key], rest, here)


def _accepted(given: str, schemes: tuple[str, ...], knowledge: Knowledge, *, hinted: bool) -> str:
    scheme, searched = schemes[0], _SEARCHED.get(schemes[0], schemes)
    near = [one.id for one in look_up(given, searched, knowledge, 3)] if hinted else []
    hint = f"; near to it: {', '.join(near)}" if near else ""
    accepted = f"a {scheme} of the knowledge{hint}"
    if scheme in _OTHERWISE:
        accepted += f"; where none fits, {_other(scheme, knowledge)} {_OTHERWISE[scheme]}"
    return accepted


def _other(scheme: str, knowledge: Knowledge) -> str:
    return knowledge.label(UNIDENTIFIED if scheme == "material" else f"{scheme}:other")


def find_concept(name: str, scheme: str, knowledge: Knowledge) -> str | None:
    """Return the CURIE that a user's name stands for: CURIE, key or a label in any language.

    Case, spaces and hyphens don't matter. None if nothing fits.
    """
    return _table(knowledge, scheme).get(fold_name(name))


def _table(knowledge: Knowledge, scheme: str) -> dict[str, str]:
    return knowledge.made(("names", scheme), lambda known, key: name_table(known, key[1]))


def name_table(knowledge: Knowledge, scheme: str) -> dict[str, str]:
    """Return folded name -> CURIE of a scheme: CURIEs, keys and labels in any language."""
    table: dict[str, str] = {}
    prefix = f"{scheme}:"
    members = knowledge.instances(CLASS_OF.get(scheme, "skos:Concept"))
    concepts = [concept for concept in members if concept.startswith(prefix)]
    for english in (False, True):  # an English label wins over one in another language
        # a preferred label wins over others, and these over a name that is only looked for
        for predicate in (_LOOSE, "skos:altLabel", "skos:prefLabel"):
            for concept in concepts:
                if predicate == _LOOSE and not knowledge.is_true(concept, "lw:unidentified"):
                    continue  # a loose word may stand for what is unknown, and for nothing else
                for label in knowledge.objects(concept, predicate):
                    if label[:1] == '"' and is_english(label) is english:
                        table[fold_name(split_literal(label)[0])] = concept
    for concept in concepts:
        table[fold_name(concept)] = table[fold_name(concept.removeprefix(prefix))] = concept
    return table
