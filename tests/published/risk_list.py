"""The list of well-known risks: small cases written in a few words, and what must come of each.

A file of `risks/` holds a basis (where the risks are known from) and risks. Parts are given as
"material, material": one that is presumed ends in "?", one that nobody identified in "??". The
first part bears the damage that the technique answers, all else is as well recorded as can be:
what needs a test has it with a good result, the record denies nothing and means are at hand, so
that whatever stops the option is the risk itself. A contact can be neither closed nor parted
unless it says so.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from pathlib import Path
from typing import Any

from leastwise.graph import Adviser, Case
from leastwise.graph.answer import Answer, FindingView
from leastwise.graph.case.reading import case_from_data
from leastwise.graph.weighing.compose import Composer
from leastwise.graph.weighing.earlier import EARLIER
from tests.yaml_files import read_yaml

FOLDER = Path(__file__).parent / "risks"
FIELDS = {
    "id", "says", "technique", "damage", "parts", "contacts", "also", "tests", "must", "asks",
    "tells", "basis", "aim", "object", "on", "fields", "severity", "without",
}  # fmt: skip
FLAGS = ("lies_flat", "reverse_reachable", "bears_handling", "bears_needle", "sound_surroundings")
#: What may come of a risk: stopped is defeated, undecided or not even offered since the record
#: speaks against it, told is a word of caution; what waits is barred as the object stands, and
#: open once work for another damage has taken away why.
OUTCOMES = {"defeated", "undecided", "waits", "stopped", "accepted", "told"}


@dataclass(frozen=True)
class Risk:
    """One risk of the list, as it was written."""

    data: dict[str, Any]
    basis: str

    def __post_init__(self) -> None:
        strange = self.data.keys() - FIELDS
        if strange or self.data["must"] not in OUTCOMES or not self.basis:
            raise ValueError(f"{self.data['id']}: {strange or self.data['must']}")

    @property
    def id(self) -> str:
        """Return the name of the risk."""
        return str(self.data["id"])

    @property
    def option(self) -> str:
        """Return the option that is looked at, or an empty text if the record itself is."""
        technique = self.data.get("technique", "")
        return f"found/{technique}" if technique else ""

    def case(self, adviser: Adviser) -> Case:
        """Return the record of the risk."""
        return case_from_data(self._record(adviser), adviser.knowledge)

    def _record(self, adviser: Adviser) -> dict[str, Any]:
        d, names = self.data, list(self.data["parts"])
        first = [d.get("on", names[0])]
        needed = f"need:{d['damage']}" in adviser.catalogue.knowledge.instances("lw:Need")
        keys = {key for t in adviser.catalogue.techniques.values() for key in t.equipment_keys}
        found = [] if needed else [_damage("found", d["damage"], first, d.get("severity"))]
        needs = [{"id": "found", "need": d["damage"], "parts": first}] if needed else []
        for part, kinds in d.get("also", {}).items():
            for words in kinds.split(", "):
                kind, _, severity = words.partition("/")  # "metal-corrosion/slight"
                found.append(_damage(f"{part}-{kind}".replace(" ", "-"), kind, [part], severity))
        aim = {
            "purpose": "display", "mounting": "flat", "travels": "no", "rh_controlled": "yes",
            "months": 3, "lux": 50, "hours_per_day": 5, "days_per_year": 40,
        }  # fmt: skip
        thing = {"name": "object", "kind": "costume", "past_treatment": "washed; nothing else"}
        return {
            "leastwise_case": 1, "id": self.id, "title": d["says"][:200], "demo": True,
            "object": thing | d.get("object", {}),
            "parts": [self._part(name) for name in names],
            "contacts": [_contact(words) for words in d.get("contacts", [])],
            "damages": found, "needs": needs, "tests": [*self._tests(adviser)],
            "significance": {"statement": "An invented object.", "curator_agrees": "yes"},
            "aim": aim | d.get("aim", {}),
            "means": {"hours": 500, "skill": "specialist", "equipment": sorted(keys)},
        }  # fmt: skip

    def _part(self, name: str) -> dict[str, Any]:
        made = [_constituent(one) for one in self.data["parts"][name].split(", ")]
        fields = dict.fromkeys(FLAGS, "yes") | self.data.get("fields", {}).get(name, {})
        return {"id": name, "name": name, "materials": made} | fields

    def _tests(self, adviser: Adviser) -> list[dict[str, str]]:
        """Return the tests done: those the technique can't do without, and those written down."""
        technique = adviser.catalogue.techniques.get(f"technique:{self.data.get('technique')}")
        first = self.data.get("on", next(iter(self.data["parts"])))
        done = []
        for name in technique.needs_tests if technique else ():
            test = adviser.catalogue.tests[name]
            brought = {use.agent for use in technique.brings} if technique else set()
            agents = sorted(brought & test.tests_agent) if test.one_agent_at_a_time else [None]
            if name.partition(":")[2] not in self.data.get("without", []):
                good = {"test": name, "part": first, "result": "good"}
                done += [good | ({"agent": one} if one else {}) for one in agents]
        return done + [_test(words) for words in self.data.get("tests", [])]


def _damage(name: str, kind: str, parts: list[str], severity: str | None = None) -> dict[str, Any]:
    return {
        "id": name, "damage": kind, "parts": parts, "evidence": "no",
        "severity": severity or "moderate", "activity": "stable",
    }  # fmt: skip


def _constituent(words: str) -> dict[str, str]:
    name = words.rstrip("?")
    known = {0: "certain", 1: "presumed", 2: "unknown"}[len(words) - len(name)]
    return {"material": name, "identified": known}


def _contact(words: str) -> dict[str, Any]:
    first, kind, second, *more = words.split()
    closing = {"barrier": "impossible", "parting": "impossible"}
    return {"between": [first, second], "kind": kind} | closing | dict(m.split(":") for m in more)


def _test(words: str) -> dict[str, str]:
    """Return a test from "part test [agent] result"."""
    part, test, *agent, result = words.split()
    return {"part": part, "test": test, "result": result} | ({"agent": agent[0]} if agent else {})


def read_risks() -> list[Risk]:
    """Return all risks of the list."""
    found = []
    for path in sorted(FOLDER.glob("*.yaml")):
        data = read_yaml(path)
        found += [Risk(one, one.get("basis", data["basis"])) for one in data["risks"]]
    return found


@dataclass(frozen=True)
class Outcome:
    """What comes of a risk."""

    risk: Risk
    answer: Answer
    offered: bool  # whether the technique answers such a problem where nothing speaks against it

    @cached_property
    def findings(self) -> list[FindingView]:
        """Return what is said of the option, of the record and to people."""
        mine = [f for o in self.answer.options() if o.id == self.risk.option for f in o.findings]
        return [*mine, *self.answer.record, *self.answer.people_first]

    @cached_property
    def verdict(self) -> str:
        """Return the verdict on the option, or an empty text where no option is looked at."""
        return next((o.verdict for o in self.answer.options() if o.id == self.risk.option), "")

    @cached_property
    def waits(self) -> bool:
        """Return whether the option is open for no more than after work for another damage."""
        mine = [o for o in self.answer.options() if o.id == self.risk.option]
        earlier = [act for o in mine for act in o.acts if act.supplies == EARLIER]
        return self.verdict == "undecided" and bool(earlier)

    @cached_property
    def asked(self) -> set[str]:
        """Return what would settle what leaves the option open, by the last part of its name."""
        return {
            mend.what.partition(":")[2] if mend.kind in ("test", "identity") else mend.kind
            for f in self.findings
            if f.effect == "leavesUndecided"
            for mend in f.mends
        }

    @property
    def wrong(self) -> str:
        """Return what is wrong, or an empty text."""
        must, data = self.risk.data["must"], self.risk.data
        if not self.verdict and self.risk.option:
            fits = self.offered and must in ("stopped", "defeated")
        elif must == "waits":
            fits = self.waits
        elif must == "stopped":
            fits = self.verdict in ("defeated", "undecided")
        else:
            fits = must in ("told", self.verdict)
        if not fits:
            return f"{self.verdict or 'no option'} instead of {must}"
        if data.get("asks") and self.asked.isdisjoint(data["asks"]):
            return f"asks {sorted(self.asked)} and not {data['asks']}"
        said = " ".join(f.message for f in self.findings).lower()
        silent = [word for word in data.get("tells", []) if word.lower() not in said]
        return f"doesn't say {silent}" if silent else ""


def outcome(adviser: Adviser, risk: Risk) -> Outcome:
    """Return what comes of a risk."""
    steps = adviser.steps(risk.case(adviser), risk.option)
    answering = {
        effect.technique
        for kind in ("damage", "need")
        for effect in adviser.catalogue.effects.get(f"{kind}:{risk.data['damage']}", ())
    }
    offered = f"technique:{risk.data.get('technique')}" in answering
    return Outcome(risk, Composer(steps).answer(), offered)
