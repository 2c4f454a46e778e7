"""Three hundred records with something wrong in each: told, asked, or read as meant; never lost.

A sound record is spoilt in one place and written as YAML. Either it is refused, or everything that
was written is found again in what was read.
"""

from __future__ import annotations

import copy
import random
from collections import Counter
from collections.abc import Callable, Iterator
from typing import Any

import pytest
import yaml

from leastwise.graph import Adviser, Case, CaseError, parse_case
from leastwise.graph.case.names import find_concept
from leastwise.graph.case.questions import questions
from leastwise.graph.knowledge.knowledge import Knowledge
from tests.yaml_files import parse_yaml

SOUND: dict[str, Any] = {
    "leastwise_case": 2,
    "id": "cape",
    "title": "A cape",
    "demo": True,
    "object": {
        "name": "evening cape", "kind": "costume", "form": "garment", "made": "about 1910",
        "made_from": 1905, "made_to": 1915, "identifier": "C 12", "keeper": "unknown",
        "past_treatment": "net over one shoulder", "size": {"weight_g": 900.0},
        "girths_cm": {"chest": 92.0},
    },
    "record": {"purpose": "display", "recorder": "A. B.", "date": "2026-11-20"},
    "parts": [
        {
            "id": "shell", "name": "outer cloth",
            "fibre": [{"is": "silk", "identified": "certain", "note": "warp and weft"}],
            "colour": [{"look": "red", "where": "border"}, {"is": "madder", "look": "pink"}],
            "finish": "none", "structure": "satin",
            "components": [{"is": "glass beads", "identified": "presumed"}, {"other": "jet"}],
            "size": {"area_cm2": 9000.0, "layers": 2},
            "lies_flat": "yes", "reverse_reachable": "no", "bears_handling": "unknown",
            "note": "shoulders thin",
        },
        {
            "id": "lining", "name": "lining",
            "fibre": {"one_of": ["cotton", {"is": "viscose rayon", "share": 0.4}]},
            "colour": "none", "structure": "not-examined", "sound_surroundings": "yes",
        },
    ],
    "contacts": [
        {
            "between": ["shell", "lining"], "kind": "stitched", "barrier": "possible",
            "parting": "impossible", "colour": "red", "note": "along the hem",
        }
    ],
    "damages": [
        {
            "id": "folds", "damage": "hard fold", "parts": ["shell"], "where": "left shoulder",
            "extent": {"value": 40.0, "unit": "cm"}, "severity": "moderate", "activity": "stable",
            "shows_on_display": "partly", "evidence": "no",
        },
        {"id": "spill", "damage": "stain", "parts": ["shell"], "deposit": "wax", "colour": "pink"},
        {"id": "odd", "other": "gnawed by a parrot", "parts": ["lining"], "severity": "slight"},
    ],
    "needs": [{"id": "hung", "other": "to be hung by its yoke", "parts": ["shell"]}],
    "tests": [
        {
            "test": "water spot test", "part": "shell", "colour": "pink", "result": "bad",
            "date": "2026-11-21", "by": "A. B.", "note": "one drop",
        },
        {"test": "fibre microscopy", "part": "shell", "identified": "silk", "laboratory": "ours"},
        {"test": "surface pH", "part": "lining", "reading": {"value": 5.5, "unit": "pH"}},
        {
            "test": "hidden spot trial", "part": "shell", "agent": "ethanol", "effect": "nothing",
            "damage": "spill",
        },
    ],
    "significance": {"statement": "worn once", "keep": ["the hem"], "curator_agrees": "yes"},
    "aim": {"purposes": ["display", "loan"], "mounting": "on-figure", "months": 6.0, "lux": 50.0,
            "travels": "yes"},
    "means": {"hours": 40.0, "skill": "conservator", "equipment": ["hot spatula", "microscope"]},
}  # fmt: skip
WORDS = ["Unknown", "", "yes", "NO", "silk", "madder", "shell", "good", "none", "display", "  x ",
         "true", "null", "1", "2026-11-22", "lining", "red", "certain", "certainn"]  # fmt: skip
VALUES: list[Any] = [None, True, False, 0, -1, 7, 1.5, 1e9, [], {}, ["silk"], {"is": "silk"}]
PLACES = tuple[Any, Any]


def _places(data: Any) -> Iterator[PLACES]:
    """Yield (holder, key) of everything that stands in a record."""
    items = data.items() if isinstance(data, dict) else enumerate(data)
    for key, value in items:
        yield data, key
        if isinstance(value, dict | list):
            yield from _places(value)


def _change_value(record: Any, chance: random.Random) -> None:
    holder, key = chance.choice(list(_places(record)))
    holder[key] = copy.deepcopy(chance.choice([*WORDS, *VALUES]))


def _drop(record: Any, chance: random.Random) -> None:
    holder, key = chance.choice(list(_places(record)))
    del holder[key]


def _misspell_key(record: Any, chance: random.Random) -> None:
    holder, key = chance.choice([p for p in _places(record) if isinstance(p[0], dict)])
    place = chance.randrange(len(key))
    holder[key[:place] + key[place + 1 :] or "x"] = holder.pop(key)


def _swap(record: Any, chance: random.Random) -> None:
    one, other = (chance.choice(list(_places(record))) for _ in range(2))
    first, second = copy.deepcopy(one[0][one[1]]), copy.deepcopy(other[0][other[1]])
    one[0][one[1]] = second
    other[0][other[1]] = first


def _letters(record: Any, chance: random.Random) -> None:
    holder, key = chance.choice([p for p in _places(record) if isinstance(p[0][p[1]], str)])
    text = holder[key]
    holder[key] = chance.choice([text.upper(), text[1:], text + "s", text.replace(" ", "-")])


def _row_again(record: Any, chance: random.Random) -> None:
    rows = chance.choice([p[0][p[1]] for p in _places(record) if isinstance(p[0][p[1]], list)])
    if rows:
        rows.append(copy.deepcopy(chance.choice(rows)))


SPOILT: list[Callable[[Any, random.Random], None]] = [
    _change_value, _change_value, _drop, _misspell_key, _swap, _letters, _row_again,
]  # fmt: skip


def _mutated(number: int) -> str:
    chance = random.Random(number)  # noqa: S311 - to repeat, not to hide
    record = copy.deepcopy(SOUND)
    chance.choice(SPOILT)(record, chance)
    return yaml.safe_dump(record, sort_keys=False, allow_unicode=True)


# -- what was written, found again


def _lost(written: Any, case: Case, k: Knowledge) -> list[str]:
    """Return the paths of what was written and isn't in what was read."""
    read = case.model_dump(mode="json")
    rest = copy.deepcopy(written)
    rest["leastwise_case"] = 2
    lost = [*_lost_purposes(rest["aim"], case), *_lost_equipment(rest.get("means"), case, k)]
    for i, part in enumerate(rest["parts"]):
        for heading in ("fibre", "colour", "finish", "structure", "components"):
            if heading in part:
                path = f"parts[{i}].{heading}"
                lost += _lost_heading(path, heading, part.pop(heading), read["parts"][i], k)
    return lost + list(_different(rest, read, "", k))


def _lost_purposes(aim: dict[str, Any], case: Case) -> list[str]:
    given = aim.pop("purposes", None)
    given = [given] if isinstance(given, str) else given
    return [] if given is None or list(case.aim.purposes) == given else ["aim.purposes"]


def _lost_equipment(means: Any, case: Case, k: Knowledge) -> list[str]:
    given = means.pop("equipment", None) if isinstance(means, dict) else None
    if _says_unknown(given):
        return [] if case.means.equipment == "unknown" else ["means.equipment"]
    wanted = [(find_concept(one, "equipment", k) or f"x:{one}").partition(":")[2] for one in given]
    return [] if wanted == case.means.equipment else ["means.equipment"]


def _lost_heading(
    path: str, heading: str, given: Any, part: dict[str, Any], k: Knowledge
) -> list[str]:
    entries = [m for m in part["materials"] if m["heading"] == heading and not m["implied"]]
    if _says_unknown(given) or given in ([], {}) or str(given).casefold() == "not-examined":
        return [path] if [e for e in entries if not e["material"].endswith("unidentified")] else []
    if isinstance(given, str) and given.casefold() in ("none", "named"):
        return [path] if entries and given.casefold() == "none" else []
    rows = given if isinstance(given, list) else [given]
    flat = [one for row in rows for one in _alternatives(row)]
    if len(flat) != len(entries):
        return [path]
    return [
        f"{path}[{j}]" for j, row in enumerate(flat) if list(_different_entry(row, entries[j], k))
    ]


def _alternatives(row: Any) -> list[dict[str, Any]]:
    plain = {"is": row} if isinstance(row, str) or row is None else dict(row)
    choices = plain.pop("one_of", None)
    if choices is None:
        return [plain]
    return [plain | ({"is": c} if isinstance(c, str) else c) for c in choices]


def _different_entry(row: dict[str, Any], entry: dict[str, Any], k: Knowledge) -> Iterator[str]:
    rest = dict(row)
    name = rest.pop("is", rest.pop("material", None))
    if not _says_unknown(name) and find_concept(name, "material", k) != entry["material"]:
        yield "is"
    yield from _different(rest, entry, "", k)


def _different(written: Any, read: Any, path: str, k: Knowledge) -> Iterator[str]:
    if isinstance(written, dict) and isinstance(read, dict):
        for key, value in written.items():
            if key not in read:
                yield f"{path}.{key}"
            else:
                yield from _different(value, read[key], f"{path}.{key}", k)
    elif isinstance(written, list) and isinstance(read, list) and len(written) == len(read):
        for i, (one, other) in enumerate(zip(written, read, strict=True)):
            yield from _different(one, other, f"{path}[{i}]", k)
    elif not _same(written, read, k):
        yield f"{path}: {written!r} was read as {read!r}"


def _same(written: Any, read: Any, k: Knowledge) -> bool:  # noqa: PLR0911 - a case each
    if written == read or str(written) == str(read):
        return not (isinstance(written, bool) and not isinstance(read, bool))
    if isinstance(written, bool) or str(written).casefold() in ("yes", "no", "true", "false"):
        truth = {"yes": "yes", "true": "yes", "no": "no", "false": "no"}
        return truth.get(str(written).casefold()) in (read, {True: "yes", False: "no"}.get(read))
    if _says_unknown(written):
        return read in ("unknown", "not-examined", "not-judged", None, "", [])
    if isinstance(written, str) and isinstance(read, str):
        found = [
            find_concept(written, s, k) for s in ("material", "damage", "test", "agent", "contact")
        ]
        return read in found or f"contact:{read}" in found or written.strip().casefold() == read
    if isinstance(written, int | float) and isinstance(read, int | float):
        return float(written) == float(read)
    if isinstance(written, str) and isinstance(read, int | float):
        return written.strip() == f"{read:g}"  # a number in quotes
    return isinstance(written, int | float | str) and str(read) == str(written)


def _says_unknown(value: Any) -> bool:
    return value is None or (isinstance(value, str) and value.strip().casefold() in ("", "unknown"))


def test_the_sound_record_is_read_with_all_it_says(adviser: Adviser) -> None:
    case = parse_case(yaml.safe_dump(SOUND, sort_keys=False), adviser.knowledge)

    assert _lost(SOUND, case, adviser.knowledge) == []


def test_the_comparison_sees_a_loss(adviser: Adviser) -> None:
    case = parse_case(yaml.safe_dump(SOUND, sort_keys=False), adviser.knowledge)
    for loss in ({"tests": case.tests[:-1]}, {"parts": [case.parts[0], case.parts[0]]}):
        assert _lost(SOUND, case.model_copy(update=loss), adviser.knowledge)


def test_three_hundred_spoilt_records_are_told_asked_or_read_as_meant(adviser: Adviser) -> None:
    outcomes: Counter[str] = Counter()
    lost: list[tuple[int, list[str]]] = []
    for number in range(300):
        text = _mutated(number)
        try:
            case = parse_case(text, adviser.knowledge)
        except CaseError as error:
            told = all(p.path and p.given and p.accepted for p in error.problems)
            outcomes["told" if told else "told badly"] += 1
            continue
        missing = _lost(parse_yaml(text), case, adviser.knowledge)
        if missing:
            lost.append((number, missing))
        outcomes["asked" if questions(case, adviser.knowledge) else "read"] += 1

    assert lost == []
    assert sum(outcomes.values()) == 300
    assert not outcomes["told badly"]
    assert min(outcomes["told"], outcomes["read"]) > 30, outcomes


@pytest.mark.parametrize("number", range(20))
def test_a_key_written_twice_anywhere_is_refused(adviser: Adviser, number: int) -> None:
    lines = yaml.safe_dump(SOUND, sort_keys=False).split("\n")
    keyed = [
        i for i, line in enumerate(lines) if ": " in line and not line.lstrip().startswith("-")
    ]
    place = random.Random(number).choice(keyed)  # noqa: S311 - to repeat, not to hide
    text = "\n".join([*lines[: place + 1], lines[place], *lines[place + 1 :]])

    with pytest.raises(CaseError, match="twice"):
        parse_case(text, adviser.knowledge)
