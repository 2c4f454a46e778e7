"""What a collection's own folder overrides of the knowledge beneath it, in sentences.

An overlay adds; it takes nothing away. Where it says something else of a shipped subject than the
shipped files do, the shipped value stays first, and the difference is listed in every answer, so
that nothing wins or loses unseen. Listed too is what changes an answer without contradicting
anybody: a claim that leads a grade from now on, a second default policy, a rule switched off.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise
from pathlib import Path

from leastwise.graph.answer import Overlay, Override
from leastwise.graph.case.reading import find_concept
from leastwise.graph.knowledge.concepts import Catalogue, Effect
from leastwise.graph.knowledge.knowledge import Knowledge, load_knowledge, overlay_files
from leastwise.graph.knowledge.rules import shipped_rules
from leastwise.graph.knowledge.turtle import load_triples
from leastwise.graph.names import SCHEMES
from leastwise.graph.shacl.terms import split_literal

__all__ = ["find_overrides", "read_overlays", "rules_overridden", "said_of"]

#: Properties that are read as one value, so that a second one is a contradiction.
SINGLE = frozenset(
    """
    dcterms:bibliographicCitation dcterms:source lw:activity lw:at lw:basis lw:beneficial
    lw:claimKind lw:confidence lw:damage lw:doseLoss lw:efficacy lw:efficacyLow lw:equipment
    lw:extentUnit lw:formula lw:graded lw:hours lw:isBrittleByNature lw:isDefault
    lw:materialLost lw:mayBeEvidence lw:minutes lw:monitoring lw:onlyIf lw:oneAgentAtATime
    lw:order lw:property lw:protects lw:readAs lw:residualAllowed lw:series lw:setUp lw:severity
    lw:sewn lw:skill lw:spreads lw:stopSign lw:technique lw:traced lw:travels lw:under
    lw:unidentified lw:unit
    lw:unknownCountsAs lw:value lw:valueHigh lw:weakensObject
    """.split()  # noqa: SIM905 - a list of forty strings would fill the screen
)
#: Texts that are single in each language.
SINGLE_TEXTS = frozenset({"skos:prefLabel", "skos:definition", "lw:statement"})
#: Properties with a node of their own for each key; a second node for a key contradicts the first.
KEYED = {
    "lw:burdens": "lw:axis",
    "lw:hinders": "lw:aim",
    "lw:weighs": "lw:axis",
    "lw:brings": "lw:agent",
    "lw:passes": "lw:manner",
}
#: More names for a shipped concept change nobody's answer.
HARMLESS = frozenset({"skos:altLabel", "skos:hiddenLabel", "skos:note", "rdfs:seeAlso"})
LONGEST = 90
_TYPED = re.compile(r'"([^"]*)"\^\^<[^>]*>')


def read_overlays(
    folders: Sequence[Path], *, cache: Path | None = None, merged: Knowledge | None = None
) -> tuple[Overlay, ...]:
    """Return what each folder overrides of the shipped knowledge and of the folders before it.

    *merged* is the knowledge with all folders laid over it, where that was loaded before.

    Raises:
        KnowledgeError: a folder or file that can't be used, with its place and mend.

    """
    found = []
    rule_files = shipped_rules()
    layers = _layers(merged or load_knowledge(folders, cache=cache)) if folders else []
    for folder, (base, over) in zip(folders, pairwise(layers), strict=False):
        files, rules = overlay_files(folder)
        overrides = [
            *(find_overrides(base, load_knowledge(files=files), over) if files else ()),
            *(_of_rules(rule_files, rules, cache) if rules else ()),
        ]
        found.append(Overlay(folder.resolve().name, tuple(overrides)))
        rule_files = [*rule_files, *rules]
    return tuple(found)


def _layers(knowledge: Knowledge) -> list[Knowledge]:
    """Return a knowledge with one folder after the other laid over it, the lowest first."""
    layers = [knowledge]
    while layers[0].beneath is not None:
        layers.insert(0, layers[0].beneath)
    return layers


def _of_rules(shipped: list[Path], files: list[Path], cache: Path | None) -> Iterator[Override]:
    base = Knowledge(*load_triples(shipped, cache))
    return rules_overridden(base, Knowledge(*load_triples(files, None)))


def find_overrides(base: Knowledge, own: Knowledge, merged: Knowledge) -> Iterator[Override]:
    """Yield what *own* overrides of *base*; *merged* is the one laid over the other."""
    for subject in sorted(s for s in own.subjects() if s[:2] != "_:" and s in base):
        if subject.startswith("rule:"):
            continue
        yield from _contradictions(subject, base, own)
    yield from _names_taken(base, own, merged)
    before, after = Catalogue(base), Catalogue(merged)
    yield from _grades_changed(before, after, _graded_anew(base, own, merged))
    yield from _several_parents(own, after)
    yield from _effects_changed(before, after)
    for kind, many in (("lw:Policy", "policies"), ("lw:DoseScale", "scales of dose")):
        old, new = base.defaults(kind), merged.defaults(kind)
        if new and (old[-1:] != new[-1:] or len(new) > len(old)):
            used = f"several {many} are marked as the default; {new[-1]} is used."
            yield Override((old or new)[-1], used)


def said_of(k: Knowledge, subject: str) -> dict[str, list[str]]:
    """Return everything said of a subject, with nameless nodes spelled out, each list sorted."""
    return {p: sorted(_spelled(k, o) for o in os) for p, os in k.predicates(subject).items()}


def _spelled(k: Knowledge, term: str, above: tuple[str, ...] = ()) -> str:
    if not term.startswith("_:"):
        return term
    if term in above:
        return "[ ]"  # a nameless node that points back to itself
    inner = [
        f"{p} {_spelled(k, o, (*above, term))}"
        for p, objects in k.predicates(term).items()
        for o in objects
    ]
    return f"[ {' ; '.join(sorted(inner))} ]"


def _contradictions(subject: str, base: Knowledge, own: Knowledge) -> Iterator[Override]:
    for predicate, objects in own.predicates(subject).items():
        shipped = base.objects(subject, predicate)
        known = {_spelled(base, one) for one in shipped}
        for one in objects:
            given = _spelled(own, one)
            if given in known or predicate in HARMLESS:
                continue
            rivals = [r for r in shipped if _are_rivals(predicate, one, own, r, base)]
            if rivals:
                was = _short(_spelled(base, rivals[0]))
                end = "both act" if predicate == "lw:brings" else "the former stays"
                yield Override(
                    subject, f"{predicate} is {was} beneath, and {_short(given)} here; {end}."
                )
            elif predicate not in SINGLE_TEXTS:
                yield Override(subject, f"{predicate} {_short(given)} is added to it.")


def _are_rivals(predicate: str, mine: str, own: Knowledge, other: str, base: Knowledge) -> bool:
    if predicate in SINGLE:
        return True
    if predicate in SINGLE_TEXTS:
        texts = mine[:1] == other[:1] == '"'
        return texts and split_literal(mine)[2] == split_literal(other)[2]
    key = KEYED.get(predicate)
    return key is not None and own.object(mine, key) == base.object(other, key)


def _short(spelled: str) -> str:
    text = _TYPED.sub(r"\1", spelled)
    text = f"“{split_literal(text)[0]}”" if text.startswith('"') else text
    return text if len(text) <= LONGEST else text[: LONGEST - 1] + "…"


def _names_taken(base: Knowledge, own: Knowledge, merged: Knowledge) -> Iterator[Override]:
    for subject in sorted(own.instances("skos:Concept")):
        scheme = subject.partition(":")[0]
        if subject in base or scheme not in SCHEMES:
            continue
        for name in [*own.texts(subject, "skos:prefLabel"), *own.texts(subject, "skos:altLabel")]:
            holder = find_concept(name, scheme, base)
            if holder is not None:
                now = find_concept(name, scheme, merged)
                yield Override(
                    holder, f"{subject} claims its name “{name}”; in a record it means {now}."
                )


def _graded_anew(base: Knowledge, own: Knowledge, merged: Knowledge) -> list[str]:
    """Return the shipped materials whose grades *own* may change: no other need be compared."""
    subjects = own.subjects()
    touched = {a for s in subjects for k in (own, merged) for a in k.objects(s, "lw:about")}
    touched.update(subjects)
    return [
        one
        for one in base.instances("skos:Concept")
        if one.startswith("material:")
        and not touched.isdisjoint((*base.broader(one), *merged.broader(one)))
    ]


def _grades_changed(
    before: Catalogue, after: Catalogue, materials: Sequence[str]
) -> Iterator[Override]:
    """Yield the agents whose harm to shipped *materials* is another from now on."""
    found: dict[tuple[str, int, int, str], list[str]] = {}
    for agent in sorted(before.agents):
        for material in materials:
            was, now = before.sensitivity(material, agent), after.sensitivity(material, agent)
            if was.known and was.harm != now.harm:
                found.setdefault((agent, was.harm, now.harm, now.claims[0]), []).append(material)
    for (agent, was_harm, now_harm, claim), touched in found.items():
        yield Override(
            _listed(touched),
            f"harm by {agent} is {was_harm} beneath, and {now_harm} from now on by {claim}; "
            "the nearest graded material counts, and there the gravest claim.",
        )


def _several_parents(own: Knowledge, after: Catalogue) -> Iterator[Override]:
    """Yield the materials that stand under several whose grades differ: the gravest counts."""
    for material in sorted(s for s in own.subjects() if s.startswith("material:")):
        parents = after.knowledge.objects(material, "skos:broader")
        led = [
            f"{agent} {found.harm} by {found.inherited_from}"
            for agent in sorted(after.agents)
            if len({after.sensitivity(one, agent).harm for one in parents}) > 1
            and (found := after.sensitivity(material, agent)).inherited_from
        ]
        if led and own.objects(material, "skos:broader"):
            under = f"stands under {', '.join(parents)}"
            yield Override(
                material, f"{under}; of their grades the gravest counts: {_listed(led)}."
            )


def _listed(names: Sequence[str]) -> str:
    more = f" and {len(names) - 4} more" if len(names) > 4 else ""
    return ", ".join(names[:4]) + more


def _effects_changed(before: Catalogue, after: Catalogue) -> Iterator[Override]:
    for damage in sorted(before.effects):
        was, now = _best(before.effects[damage]), _best(after.effects.get(damage, ()))
        for technique in sorted(was):
            old, new = was[technique], now[technique]
            if old.id != new.id:
                yield Override(
                    technique,
                    f"efficacy on {damage} is {old.efficacy} beneath, and {new.efficacy} from now "
                    f"on by {new.id}; the best claim leads, both stand.",
                )


def _best(effects: Iterable[Effect]) -> dict[str, Effect]:
    best: dict[str, Effect] = {}
    for effect in effects:
        best.setdefault(effect.technique, effect)
    return best


def rules_overridden(base: Knowledge, own: Knowledge) -> Iterator[Override]:
    """Yield the rules of *own* that carry the name of a rule of *base*."""
    for rule in sorted(s for s in own.subjects() if s.startswith("rule:") and s in base):
        if own.is_true(rule, "sh:deactivated"):
            yield Override(rule, "this rule is switched off here.")
        elif said_of(own, rule) != said_of(base, rule):
            yield Override(
                rule, "this rule has the same name here; both are asked, so it flags more."
            )
