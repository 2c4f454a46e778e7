"""CSV to Turtle: materials, sensitivities and techniques from a sheet, row by row.

The columns are those of the templates in seed_data/templates. A list in a cell is parted by ``|``.
Rows marked ``yes`` in the column *example* are left out.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

from leastwise.graph.authoring.csv_rows import (
    CLAIM_KEY,
    CsvError,
    Row,
    read_csv,
    read_header,
    read_rows,
)
from leastwise.graph.errors import NotFound
from leastwise.graph.knowledge.knowledge import Knowledge
from leastwise.graph.names import PREFIXES
from leastwise.graph.shacl.terms import literal

__all__ = ["KINDS", "CsvError", "Imported", "import_csv", "read_csv", "template_path"]

KINDS = ("materials", "sensitivities", "techniques")
MATERIAL_CLASS = {
    "fibre": "lw:Fibre",
    "component": "lw:Component",
    "colourant": "lw:Colourant",
    "structure": "lw:Structure",
    "finish": "lw:Finish",
    "support": "lw:SupportMaterial",
}
AXES = (
    "material-added",
    "penetration",
    "irreversibility",
    "evidence-lost",
    "future-treatment-hindered",
    "visual-change",
)
HOLDING = ("boxed", "flat", "hung", "on-figure", "pressure-mounted", "slanted")
#: Word of the sheet -> how much of its source was read.
EXTENTS = {
    "whole": "wholeText",
    "part": "partOfText",
    "abstract": "abstractOnly",
    "opening": "openingOnly",
    "quoted": "quotedElsewhere",
}
OBJECTS = ("accessory", "costume", "flat-textile", "furnishing", "other")


@dataclass(frozen=True, slots=True)
class Imported:
    """The Turtle of a sheet, the subjects it defines, and how many example rows were left out."""

    turtle: str
    subjects: tuple[str, ...]
    examples_left_out: int


def template_path(kind: str) -> Path:
    """Return the file of a template.

    Raises:
        NotFound: there is no template of that kind.

    """
    if kind not in KINDS:
        raise NotFound("template", kind, list(KINDS))
    return Path(str(resources.files("leastwise.seed_data"))) / "templates" / f"{kind}.csv"


def import_csv(
    kind: str, text: str, knowledge: Knowledge, *, place: str = "CSV", examples: bool = False
) -> Imported:
    """Return the Turtle of a sheet.

    Args:
        kind: one of KINDS.
        text: the sheet; columns parted by comma or semicolon.
        knowledge: what the names in the sheet are looked up in.
        place: what errors call the sheet.
        examples: whether rows marked as example are taken in as well; for tests.

    Raises:
        NotFound: there is no such kind.
        CsvError: wrong columns or cells, every one of them named.

    """
    columns = read_header(template_path(kind).read_text("utf-8"))
    write: dict[str, Callable[[Row], str]] = {
        "materials": _material,
        "sensitivities": _sensitivity,
        "techniques": _technique,
    }
    rows, problems = read_rows(text, columns, knowledge)
    if problems:
        raise CsvError(place, problems)
    wanted = [row for row in rows if examples or row.cells["example"].lower() != "yes"]
    blocks, subjects = [], []
    for row in wanted:
        blocks.append(write[kind](row))
        if row.subject in subjects:
            row.refuse("key" if kind != "sensitivities" else "id", "a name of its own for each row")
        subjects.append(row.subject)
    problems = [problem for row in wanted for problem in row.problems]
    if problems:
        raise CsvError(place, problems)
    return Imported(_file(kind, blocks), tuple(subjects), len(rows) - len(wanted))


def _block(subject: str, kinds: str, said: Iterable[str]) -> str:
    return f"{subject} a {kinds} ;\n    " + " ;\n    ".join(said) + " .\n"


def _other_labels(row: Row) -> list[str]:
    labels = [literal(part, language="en") for part in row.parts("other_labels")]
    return [f"skos:altLabel {' , '.join(labels)}"] if labels else []


def _material(row: Row) -> str:
    subject = row.key("key", "material")
    kind = MATERIAL_CLASS.get(row.choice("kind", MATERIAL_CLASS), "lw:Material")
    if not row.parts("broader"):
        row.refuse("broader", "a broader material, such as textile")
    said = [
        "skos:inScheme lw:materials",
        f"skos:prefLabel {row.new_label('material')}",
        *_other_labels(row),
        f"skos:definition {row.text('definition', 5)}",
        *row.all_named("broader", "material", "skos:broader"),
        *row.all_named("identified_by", "test", "lw:identifiedBy"),
        *row.truth("brittle", "lw:isBrittleByNature"),
        *row.truth("unidentified", "lw:unidentified"),
    ]
    return _block(subject, f"skos:Concept, {kind}", said)


def _sensitivity(row: Row) -> str:
    subject = row.key("id", "claim", CLAIM_KEY)
    basis = row.choice("basis", ("read", "memory", "practice"))
    said = [
        f"lw:about {row.named('material', row.cells['material'], 'material')}",
        f"lw:agent {row.named('agent', row.cells['agent'], 'agent')}",
        f"lw:severity {row.whole('severity', 0, 4)}",
        f"lw:statement {row.text('statement', 10)}",
        f"lw:basis lw:{basis}",
        f"lw:confidence lw:{row.choice('confidence', ('high', 'moderate', 'low'))}",
        *_extent(row, basis),
    ]
    source, block = _source(row, needed=basis in ("read", "memory"))
    if source:
        said.append(f"dcterms:source {source}")
    return _block(subject, "lw:Claim, lw:SensitivityClaim", said) + block


def _extent(row: Row, basis: str) -> list[str]:
    """Say how much of its source was read for what is read."""
    return (
        [f"lw:readAs lw:{EXTENTS.get(row.choice('read_as', EXTENTS))}"] if basis == "read" else []
    )


def _source(row: Row, *, needed: bool) -> tuple[str, str]:
    """Return the CURIE of a source and, for a new one with its citation, its own block."""
    key, citation, address = (row.cells[name] for name in ("source", "citation", "address"))
    subject = f"source:{key.removeprefix('source:')}"
    if not key:
        if needed or citation:
            row.refuse("source", "the key of a source; what is read or recalled names one")
        return "", ""
    if subject in row.knowledge:
        if citation:
            row.refuse("citation", f"nothing, since {subject} is in the knowledge")
        return subject, ""
    if not CLAIM_KEY.fullmatch(subject.partition(":")[2]) or len(citation) < 3:
        row.refuse("source", "a source of the knowledge, or a new key with its citation")
        return "", ""
    said = [f"dcterms:bibliographicCitation {literal(citation)}"]
    if address:
        if not re.fullmatch(r"https?://[^\s<>\"{}|\\^`]+", address):
            row.refuse("address", "an address that starts with https:// or http://")
        said.append(f"rdfs:seeAlso <{address}>")
    return subject, "\n" + _block(subject, "lw:Source", said)


def _technique(row: Row) -> str:
    subject = row.key("key", "technique")
    low, high = row.number_of("hours_low"), row.number_of("hours_high")
    if low > high:
        row.refuse("hours_low", f"at most hours_high, {high:g}")
    per = row.choice("hours_per", ("part", "object"))
    grades = [
        f"[ lw:axis axis:{axis} ; lw:grade {row.whole(axis.replace('-', '_'), 0, 4)} ]"
        for axis in AXES
    ]
    keys = [literal(part) for part in row.parts("equipment_keys")]
    said = [
        "skos:inScheme lw:techniques",
        f"skos:prefLabel {row.new_label('technique')}",
        *_other_labels(row),
        f"skos:definition {row.text('definition', 5)}",
        *row.all_named("group", "technique", "skos:broader"),
        *_uses(row),
        *row.all_named("requires", "condition", "lw:requires"),
        *row.all_named("needs_tests", "test", "lw:needsTest"),
        *row.all_named("cautions", "caution", "lw:caution"),
        f"lw:burdens {' , '.join(grades)}",
        f"lw:skill {row.whole('skill', 1, 3)}",
        f'lw:hours [ lw:least {low:.2f} ; lw:most {high:.2f} ; lw:per "{per}"@en ; '
        "lw:basis lw:practice ]",
        *row.optional("equipment", "lw:equipment"),
        *([f"lw:equipmentKey {' , '.join(keys)}"] if keys else []),
        *row.optional("set_up", "lw:setUp"),
        *row.optional("monitoring", "lw:monitoring"),
        *row.optional("stop_sign", "lw:stopSign"),
        *row.values("not_while", HOLDING, "lw:notWhile"),
        *row.values("only_for", OBJECTS, "lw:onlyFor"),
        "lw:basis lw:practice",
    ]
    return _block(subject, "skos:Concept, lw:Technique", said) + "".join(_effects(row, subject))


def _uses(row: Row) -> list[str]:
    """Return what a technique brings, from ``agent dose confined`` in each part of the cell."""
    uses = []
    for part in row.parts("agents"):
        found = re.fullmatch(r"(.+?)\s+([1-4])\s+(confined|open)", part)
        if found is None:
            row.refuse("agents", "agent, dose 1 to 4, and confined or open", given=part)
            continue
        agent = row.named("agents", found.group(1), "agent")
        confined = "true" if found.group(3) == "confined" else "false"
        uses.append(f"[ lw:agent {agent} ; lw:dose {found.group(2)} ; lw:confined {confined} ]")
    return [f"lw:brings {' , '.join(uses)}"] if uses else []


def _effects(row: Row, technique: str) -> Iterable[str]:
    """Yield the effect claims, from ``damage efficacy sentence`` in each part of the cell."""
    if not row.parts("answers"):
        row.refuse("answers", "at least one damage, its efficacy 0 to 4, and a sentence")
    for part in row.parts("answers"):
        found = re.fullmatch(r"(.+?)\s+([0-4])\s+(.{10,})", part)
        if found is None:
            row.refuse("answers", "damage, efficacy 0 to 4, and a sentence", given=part)
            continue
        damage = row.named("answers", found.group(1), "damage")
        key = f"claim:effect-{technique.partition(':')[2]}-{damage.partition(':')[2]}"
        well = int(found.group(2))
        said = [
            f"lw:about {technique} , {damage}",
            f"lw:technique {technique} ; lw:damage {damage}",
            f"lw:efficacy {well} ; lw:efficacyLow {max(0, well - 1)}",
            'lw:inWords "what has to hold is not told in the sheet"@en',
            'lw:evidenceKind "practice"',
            f"lw:statement {literal(found.group(3), language='en')}",
            "lw:basis lw:practice ; lw:confidence lw:low",
        ]
        yield "\n" + _block(key, "lw:Claim, lw:EffectClaim", said)


def _file(kind: str, blocks: Sequence[str]) -> str:
    body = "\n".join(blocks)
    used = [p for p in PREFIXES if re.search(rf"(?<![\w-]){p}:(?!/)", body)]
    head = "".join(f"@prefix {prefix}: <{PREFIXES[prefix]}> .\n" for prefix in used)
    return f"# {kind.capitalize()}, imported from a sheet\n{head}\n{body}"
