"""Reads a case from JSON or YAML and ties its names to the knowledge.

Every problem is reported with the path to the field and what would be accepted; nothing is
dropped silently.
"""

from __future__ import annotations

import difflib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from leastwise.graph.case.record import Case
from leastwise.graph.case.text import load_text, read_text
from leastwise.graph.errors import CaseError, Problem
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.knowledge.languages import is_english
from leastwise.graph.shacl.terms import split_literal

__all__ = [
    "UNIDENTIFIED",
    "as_problem",
    "as_problems",
    "case_schema",
    "find_concept",
    "fold_name",
    "load_text",
    "name_table",
    "parse_case",
    "read_case",
    "resolve_case",
    "show",
]

MAX_BYTES = 8 * 1024 * 1024
#: What stands in a record for a material that has no entry in the knowledge.
UNIDENTIFIED = "material:unidentified"
#: Schemes with groups that a record may not name; of materials it may name any.
CLASS_OF = {
    "agent": "lw:Agent",
    "damage": "lw:Damage",
    "technique": "lw:Technique",
    "test": "lw:Test",
}


def read_case(path: Path, knowledge: Knowledge) -> Case:
    """Return the case in a JSON or YAML file, with its names tied to the knowledge.

    Raises:
        CaseError: the file can't be read, isn't JSON or YAML, or holds a wrong field.

    """
    try:
        if path.stat().st_size > MAX_BYTES:
            raise CaseError([Problem(str(path), "a file over 8 MiB", "a smaller file")])
        text = path.read_text("utf-8")
    except UnicodeDecodeError as error:
        raise CaseError([Problem(str(path), "a file that isn't UTF-8", "UTF-8 text")]) from error
    except OSError as error:
        raise CaseError([Problem(str(path), f"{error.strerror}", "a readable file")]) from error
    return parse_case(text, knowledge, is_json=path.suffix.lower() == ".json")


def parse_case(text: str, knowledge: Knowledge, *, is_json: bool = False) -> Case:
    """Return the case written in *text* (YAML, of which JSON is a part).

    Raises:
        CaseError: with every problem found.

    """
    written = read_text(text, is_json=is_json)
    try:
        return case_from_data(written.data, knowledge)
    except CaseError as error:
        raise CaseError([written.placed(problem) for problem in error.problems]) from error


def case_from_data(data: object, knowledge: Knowledge) -> Case:
    """Return the case held in plain lists and mappings.

    Raises:
        CaseError: with every problem found.

    """
    if not isinstance(data, dict):
        raise CaseError([Problem("the record", show(data), "a mapping of fields to values")])
    try:
        case = Case.model_validate(data)
    except ValidationError as error:
        raise CaseError(as_problems(error)) from error
    return resolve_case(case, knowledge)


def case_schema() -> dict[str, Any]:
    """Return the JSON Schema of a case record."""
    schema = Case.model_json_schema()
    return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema}


def resolve_case(case: Case, knowledge: Knowledge) -> Case:
    """Return the case with every material, damage and test named by its CURIE.

    Raises:
        CaseError: a name that the knowledge doesn't hold, a part that isn't listed, a twice-used
            identifier; all of them at once.

    """
    problems: list[Problem] = []
    names = _Names(knowledge, problems)
    data = case.model_dump()
    for i, part in enumerate(data["parts"]):
        for j, one in enumerate(part["materials"]):
            one["material"] = names.of(
                f"parts[{i}].materials[{j}].material", one["material"], "material"
            )
    for i, damage in enumerate(data["damages"]):
        damage["damage"] = names.of(f"damages[{i}].damage", damage["damage"], "damage")
    for i, test in enumerate(data["tests"]):
        test["test"] = names.of(f"tests[{i}].test", test["test"], "test")
        if test["material"] is not None:
            test["material"] = names.of(f"tests[{i}].material", test["material"], "material")
        if test["agent"] is not None:
            test["agent"] = names.of(f"tests[{i}].agent", test["agent"], "agent")
        elif knowledge.is_true(test["test"], "lw:oneAgentAtATime"):
            agents = ", ".join(knowledge.objects(test["test"], "lw:testsAgent"))
            problems.append(Problem(f"tests[{i}].agent", "no agent", f"the agent tried: {agents}"))
    for i, pack in enumerate(data["packs"]):
        pack["technique"] = names.of(f"packs[{i}].technique", pack["technique"], "technique")
    problems += _loose_ends(case)
    if problems:
        raise CaseError(problems)
    return Case.model_validate(data)


def find_concept(name: str, scheme: str, knowledge: Knowledge) -> str | None:
    """Return the CURIE that a user's name stands for: CURIE, key or a label in any language.

    Case, spaces and hyphens don't matter. None if nothing fits.
    """
    return name_table(knowledge, scheme).get(fold_name(name))


class _Names:
    def __init__(self, knowledge: Knowledge, problems: list[Problem]) -> None:
        self._knowledge, self._problems = knowledge, problems
        self._tables: dict[str, dict[str, str]] = {}

    def of(self, path: str, given: str, scheme: str) -> str:
        if scheme not in self._tables:
            self._tables[scheme] = name_table(self._knowledge, scheme)
        table = self._tables[scheme]
        found = table.get(fold_name(given))
        if found is None:
            near = difflib.get_close_matches(fold_name(given), table, n=3, cutoff=0.6)
            close = list(dict.fromkeys(table[name] for name in near))
            accepted = f"a {scheme} of the knowledge" + (
                f"; near to it: {', '.join(close)}" if close else ""
            )
            if scheme == "material":
                accepted += f"; where none fits, {UNIDENTIFIED} with your word in its note"
            self._problems.append(Problem(path, repr(given), accepted))
            return given
        return found


def name_table(knowledge: Knowledge, scheme: str) -> dict[str, str]:
    """Return folded name -> CURIE of a scheme: CURIEs, keys and labels in any language."""
    table: dict[str, str] = {}
    prefix = f"{scheme}:"
    members = knowledge.instances(CLASS_OF.get(scheme, "skos:Concept"))
    concepts = [concept for concept in members if concept.startswith(prefix)]
    for english in (False, True):  # an English label wins over one in another language
        for predicate in ("skos:altLabel", "skos:prefLabel"):  # and a preferred label over others
            for concept in concepts:
                for label in knowledge.objects(concept, predicate):
                    if label[:1] == '"' and is_english(label) is english:
                        table[fold_name(split_literal(label)[0])] = concept
    for concept in concepts:
        table[fold_name(concept)] = table[fold_name(concept.removeprefix(prefix))] = concept
    return table


def fold_name(name: str) -> str:
    """Return a name without the differences that don't matter: case, spaces, hyphens."""
    return " ".join(name.casefold().replace("-", " ").replace("_", " ").split())


def _loose_ends(case: Case) -> Iterator[Problem]:
    """Yield what doesn't fit together inside the record."""
    parts = {part.id for part in case.parts}
    listed = f" ({', '.join(sorted(parts))})" if len(parts) <= 12 else ""
    accepted = f"the id of a part in parts{listed}"
    for path, part in _named_parts(case):
        if part not in parts:
            yield Problem(path, repr(part), accepted)
    yield from _twice("parts", [part.id for part in case.parts])
    yield from _twice("damages", [damage.id for damage in case.damages])
    made_from, made_to = case.object.made_from, case.object.made_to
    if isinstance(made_from, int) and isinstance(made_to, int) and made_from > made_to:
        yield Problem("object.made_from", str(made_from), f"a year up to made_to, {made_to}")
    for i, contact in enumerate(case.contacts):
        if contact.between[0] == contact.between[1]:
            yield Problem(f"contacts[{i}].between", repr(contact.between[0]), "two different parts")
    for i, damage in enumerate(case.damages):
        for part, times in Counter(damage.parts).items():
            if times > 1:
                yield Problem(f"damages[{i}].parts", repr(part), "each part once")
    damages = {damage.id for damage in case.damages}
    for i, pack in enumerate(case.packs):
        if pack.damage not in damages:
            yield Problem(f"packs[{i}].damage", repr(pack.damage), "the id of a damage in damages")


def _named_parts(case: Case) -> Iterator[tuple[str, str]]:
    """Yield the path and the name of every mention of a part."""
    for i, contact in enumerate(case.contacts):
        yield from ((f"contacts[{i}].between[{j}]", end) for j, end in enumerate(contact.between))
    for i, damage in enumerate(case.damages):
        yield from ((f"damages[{i}].parts[{j}]", part) for j, part in enumerate(damage.parts))
    for i, test in enumerate(case.tests):
        yield f"tests[{i}].part", test.part
    for i, pack in enumerate(case.packs):
        for j, layer in enumerate(pack.stack.layers):
            if layer.part is not None:
                yield f"packs[{i}].stack.layers[{j}].part", layer.part


def _twice(listing: str, ids: list[str]) -> Iterator[Problem]:
    """Yield the ids of a list that were used before."""
    seen: set[str] = set()
    for i, one in enumerate(ids):
        if one in seen:
            yield Problem(f"{listing}[{i}].id", repr(one), "an id that is used once")
        seen.add(one)


def as_problems(error: ValidationError) -> list[Problem]:
    """Return one problem a field; where a field may be of several kinds, all are named."""
    found: dict[str, list[Problem]] = {}
    for one in error.errors(include_url=False):
        problem = as_problem(one)
        found.setdefault(problem.path, []).append(problem)
    return [
        Problem(path, problems[0].given, " or ".join(dict.fromkeys(p.accepted for p in problems)))
        for path, problems in found.items()
    ]


def as_problem(error: Any) -> Problem:
    """Turn one pydantic error into a path, what was given and what would be accepted."""
    path = _path(error["loc"])
    kind, context = error["type"], error.get("ctx", {})
    if kind == "missing":
        return Problem(path, "a missing field", "a value for this field")
    if kind == "extra_forbidden":
        return Problem(path, "an unknown field", "a field that the format has (see the schema)")
    return Problem(path, show(error.get("input")), _accepted(kind, context, str(error["msg"])))


def _accepted(kind: str, context: dict[str, Any], message: str) -> str:
    if kind in ("literal_error", "enum"):
        return f"one of {context.get('expected')}"
    if kind == "string_pattern_mismatch":
        return "lower-case letters, digits and hyphens, at most 64"
    if kind == "too_short":
        return f"at least {context.get('min_length')}"
    if kind == "too_long":
        return f"at most {context.get('max_length')}"
    return message.removeprefix("Input should be ").removeprefix("Value error, ")


def _path(loc: tuple[int | str, ...]) -> str:
    path = ""
    for place, step in enumerate(loc):
        if step == "date" and loc[place - 1 : place] != ("date",):  # the field, not the kind
            path += f".{step}" if path else step
        elif isinstance(step, int):
            path += f"[{step}]"
        elif not step.startswith(("literal[", "constrained-", "function-")) and step not in (
            "float",
            "int",
            "date",
            "Extent",
            "list[constrained-str]",
        ):
            path += f".{step}" if path else step
    return path or "the record"


def show(value: object) -> str:
    """Return a value as an error shows it, cut to 60 characters."""
    text = repr(value)
    return text if len(text) <= 60 else text[:57] + "..."
