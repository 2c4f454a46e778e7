"""Entries of a record that are unknown, and which of them would change the answer if known.

Each is filled in with what it may turn out to be, one at a time, and the case weighed again. An
entry changes the answer if any filling gives another choice for a problem, or another answer to
whether the object can serve its purpose.
"""

from __future__ import annotations

import contextlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from leastwise.graph.case.reading import resolve_case
from leastwise.graph.case.record import HEADINGS, Case, Constituent, Part
from leastwise.graph.case.written import UNNAMED
from leastwise.graph.errors import CaseError
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.meanings import Verdict
from leastwise.graph.sentences import agreed, is_plural, the, the_all
from leastwise.graph.weighing.advise import Adviser
from leastwise.graph.weighing.headline import serving
from leastwise.graph.weighing.shared import with_pieces_of
from leastwise.graph.weighing.standing import Standing, standings
from leastwise.graph.weighing.steps import Variant

__all__ = ["MOST_RUNS", "OpenEntry", "open_entries"]

MOST_RUNS: Final = 150  # how often a case is weighed again at most
TRI: Final = ("yes", "no")
#: What an entry may turn out to be, by its place in the record. An empty tuple: not to be tried.
MAY_BE: Final[dict[str, tuple[Any, ...]]] = {
    "significance.curator_agrees": TRI,
    "aim.mounting": ("on-figure", "flat", "slanted", "hung", "pressure-mounted", "boxed"),
    "aim.degrees_from_vertical": (),
    "aim.months": (3.0, 60.0),
    "aim.lux": (50.0, 300.0),
    "aim.hours_per_day": (),
    "aim.days_per_year": (),
    "aim.rh_controlled": TRI,
    "aim.travels": TRI,
    "means.hours": (4.0, 200.0),
    "means.skill": ("assistant", "specialist"),
    "means.equipment": ([],),
    "object.made_from": (),
    "object.form": (),
}
PART: Final = {
    "lies_flat": "whether {0} can be laid flat.",
    "reverse_reachable": "whether the back of {0} can be reached.",
    "bears_handling": "whether {0} bears handling.",
    "bears_needle": "whether {0} bears a needle.",
    "sound_surroundings": "whether there is sound cloth beside the damage of {0}.",
}
#: Headings under which silence counts as something unknown.
WEIGHED: Final = {m: h for h, m in UNNAMED.items() if h in ("fibre", "colour")}
DAMAGE: Final[dict[str, tuple[Any, ...]]] = {
    "severity": ("slight", "severe"),
    "activity": ("active", "stable"),
    "evidence": TRI,
    "extent": (),
    "shows_on_display": (),
}
#: What a deposit may turn out to be that is taken off in different ways.
DEPOSITS: Final = ("grease", "starch", "resin")
_CONTACT_WORDS: Final = {
    "barrier": "whether a sheet can be put between {0}.",
    "parting": "whether {0} can be taken apart.",
}
CONTACT: Final = {"barrier": ("possible", "impossible"), "parting": ("possible", "impossible")}
_Path = tuple[str | int, ...]
#: Problem -> what would be chosen for it, by id and in words.
_Choices = Mapping[str, tuple[str, str]]
#: What nobody has named may be, so different that it matters which; none says that there is none.
KINDS: Final = {
    "fibre": ("material:cotton", "material:silk", "material:cellulose-acetate"),
    "colour": ("none", "material:direct-dye", "material:indigo"),
    "finish": ("none", "material:starch-size", "material:wax-glaze"),
}


@dataclass(frozen=True, slots=True)
class _Filling:
    """What an entry may turn out to be: in words, where it is written, and what is written."""

    said: str
    at: _Path
    value: Any


@dataclass(frozen=True, slots=True)
class OpenEntry:
    """An entry that is unknown.

    *changes* says whether knowing it could change the answer: yes, no, or not-tried. *if_known*
    tells which value gives which change, in words.
    """

    path: str
    says: str
    changes: str
    if_known: tuple[str, ...] = ()

    def __str__(self) -> str:
        return f"{self.path}: {self.says}" + "".join(f"\n    {one}" for one in self.if_known)


def open_entries(case: Case, adviser: Adviser, most_runs: int = MOST_RUNS) -> list[OpenEntry]:
    """Return what a case leaves unknown; what would change the answer comes first."""
    return _Trials(case, adviser, most_runs).all()


@dataclass(frozen=True, slots=True)
class _Asked:
    """An unknown entry and the cases that its fillings make; None where it isn't tried."""

    path: str
    says: str
    cases: tuple[tuple[str, Case], ...] | None


class _Trials:
    """Fills in what is unknown; all fillings are weighed together."""

    def __init__(self, case: Case, adviser: Adviser, most_runs: int) -> None:
        self._case, self._adviser, self._left = case, adviser, most_runs
        self._plain = case.model_dump(mode="json")

    def all(self) -> list[OpenEntry]:
        asked = [self._asked(*one) for one in _unknown(self._case, self._adviser.knowledge)]
        cases = [case for one in asked for _, case in one.cases or ()]
        weighed = self._adviser.variants([Variant(one) for one in [self._case, *cases]])
        choices = (_choices(standings(one)) for one in weighed)
        now = next(choices) if cases else {}
        found = [_entry(one, now, choices) for one in asked]
        rank = {"yes": 0, "no": 1, "not-tried": 2}
        return sorted(found, key=lambda one: rank[one.changes])

    def _asked(self, path: _Path, says: str, values: tuple[Any, ...]) -> _Asked:
        shown = _shown(path)
        if not values or self._left < len(values):
            return _Asked(shown, says, None)
        self._left -= len(values)
        return _Asked(shown, says, tuple(self._filled(path, values)))

    def _filled(self, path: _Path, values: tuple[Any, ...]) -> Iterator[tuple[str, Case]]:
        """Yield what a value is in words, and the case with it; none that the record can't hold."""
        for value in values:
            filling = (
                value if isinstance(value, _Filling) else _Filling(_as_said(value), path, value)
            )
            data = _with(self._plain, filling.at, filling.value)
            with contextlib.suppress(CaseError, ValueError):
                case = resolve_case(Case.model_validate(data), self._adviser.knowledge)
                yield filling.said, with_pieces_of(self._case, case)


def _entry(asked: _Asked, now: _Choices, then: Iterator[_Choices]) -> OpenEntry:
    """Return an entry with what its fillings change; *then* yields what each of them comes to."""
    if asked.cases is None:
        return OpenEntry(asked.path, asked.says, "not-tried")
    told = tuple(
        f"if {said}: {problem}: {words} instead of {before[1]}"
        for said, _ in asked.cases
        for problem, (choice, words) in next(then).items()
        if (before := now.get(problem, ("", "nothing")))[0] != choice
    )
    return OpenEntry(asked.path, asked.says, "yes" if told else "no", told)


def _as_said(value: Any) -> str:
    return ", ".join(value) or "none" if isinstance(value, list) else str(value)


def _choices(standing: Mapping[str, Sequence[Standing]]) -> _Choices:
    """Return for each problem what would be chosen, by id and in words; and whether all is met."""
    serves = serving(standing.values())
    found = {"purpose": (serves, serves.replace("-", " "))}
    for problem, options in standing.items():
        first = next((o for o in options if o.verdict == Verdict.ACCEPTED), None)
        found[problem] = (first.id, first.label) if first else ("", "nothing is accepted")
    return found


def _unknown(case: Case, knowledge: Knowledge) -> Iterator[tuple[_Path, str, tuple[Any, ...]]]:
    """Yield path, words and possible values of each unknown entry, in the order of the record."""
    names = {part.id: part.name for part in case.parts}
    for i, part in enumerate(case.parts):
        yield from _of_part(i, part, knowledge)
    for i, contact in enumerate(case.contacts):
        between = the_all(names.get(part, part) for part in contact.between)
        if contact.kind == "unknown":
            yield ("contacts", i, "kind"), f"how {between} touch.", ()
        for name, values in CONTACT.items():
            if getattr(contact, name) == "unknown":
                words = _CONTACT_WORDS[name].format(between)
                yield ("contacts", i, name), words, values
    for i, damage in enumerate(case.damages):
        if damage.deposit == "unknown" and knowledge.is_true(damage.damage, "lw:hasDeposit"):
            yield ("damages", i, "deposit"), f"what {damage.id} is a deposit of.", DEPOSITS
        for name, values in DAMAGE.items():
            if getattr(damage, name) == "unknown":
                yield ("damages", i, name), f"{name.replace('_', ' ')} of {damage.id}.", values
    for where, values in MAY_BE.items():
        group, _, name = where.partition(".")
        if getattr(getattr(case, group), name) == "unknown":
            yield (group, name), f"{name.replace('_', ' ')}.", values


def _of_part(i: int, part: Part, k: Knowledge) -> Iterator[tuple[_Path, str, tuple[Any, ...]]]:
    weighed = {WEIGHED[one.material] for one in part.materials if one.implied}
    is_cloth = any(one.heading == "fibre" for one in part.materials)
    for heading in HEADINGS:
        if getattr(part, heading) == "not-examined":
            counts = "weighed as unknown" if heading in weighed else "not weighed"
            if is_cloth and heading not in WEIGHED.values():
                counts = "a caution where it matters"
            says = f"{heading} of {the(part.name)}, which nobody has examined; {counts}."
            kinds = KINDS.get(heading, ()) if counts != "not weighed" else ()
            fillings = tuple(_of_heading(i, part, heading, kind, k) for kind in kinds)
            yield ("parts", i, heading), says, fillings
    yield from _materials(i, part, k)
    for name, words in PART.items():
        if getattr(part, name) == "unknown":
            yield ("parts", i, name), _of(part.name, words), TRI


def _of(name: str, words: str) -> str:
    """Return a question about a part, its verb agreeing with the name."""
    before, after = words.split("{0}")
    return f"{before}{the(name)}{agreed(before, after, plural=is_plural(name))}"


def _materials(i: int, part: Part, k: Knowledge) -> Iterator[tuple[_Path, str, tuple[Any, ...]]]:
    """Yield what nobody has identified; one of several once, with all that it may be."""
    seen: set[str] = set()
    for j, one in enumerate(part.materials):
        if one.identified != "unknown" or one.implied or one.choice in seen - {""}:
            continue
        seen.add(one.choice)
        named = [m for m in part.materials if one.choice and m.choice == one.choice] or [one]
        labels = " or ".join(k.label(m.material) for m in named)
        says = _of(part.name, f"whether {{0}} is of {labels}.")
        may_be = [m.material for m in named] if one.choice else _kinds_of(one, k)
        fillings = tuple(_certain(i, part, one, kind, k) for kind in may_be)
        yield ("parts", i, "materials", j), says, fillings


def _kinds_of(one: Constituent, k: Knowledge) -> list[str]:
    """Return what an entry of unknown kind may be, of the kinds that are tried."""
    if one.material != UNNAMED.get(one.heading):
        return []
    return [m for m in KINDS.get(one.heading, ()) if m in k]


def _certain(i: int, part: Part, one: Constituent, kind: str, k: Knowledge) -> _Filling:
    """Return the entries of a part with one of them settled, and its alternatives gone."""
    new = {"material": kind, "identified": "certain", "choice": "", "share": "unknown"}
    kept = [m for m in part.materials if m is one or not one.choice or m.choice != one.choice]
    rows = [m.model_dump(mode="json") | (new if m is one else {}) for m in kept]
    return _Filling(k.label(kind), ("parts", i, "materials"), rows)


def _of_heading(i: int, part: Part, heading: str, kind: str, k: Knowledge) -> _Filling:
    """Return a part with a heading that nobody has examined answered."""
    is_none = kind == "none"
    rows = [m.model_dump(mode="json") for m in part.materials if m.heading != heading]
    if not is_none:
        rows.append({"material": kind, "heading": heading, "identified": "certain"})
    stated = {heading: "none" if is_none else "named", "materials": rows}
    said = "there is none" if is_none else k.label(kind)
    return _Filling(said, ("parts", i), part.model_dump(mode="json") | stated)


def _with(data: dict[str, Any], path: _Path, value: Any) -> dict[str, Any]:
    """Return plain data with one value changed; what isn't on the way is shared."""
    copy: Any = {**data}
    here = copy
    for step in path[:-1]:
        here[step] = [*here[step]] if isinstance(here[step], list) else {**here[step]}
        here = here[step]
    here[path[-1]] = value
    return copy  # type: ignore[no-any-return]


def _shown(path: _Path) -> str:
    shown = "".join(f"[{step}]" if isinstance(step, int) else f".{step}" for step in path)
    return shown.lstrip(".")
