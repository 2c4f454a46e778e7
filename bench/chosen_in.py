"""Which published treatments chose what an effect claim speaks of: the technique for the damage.

Reads tests/published/treatments. Where a treatment is entered with one technique for a damage, the
claim on this technique and the damage (or the group that takes it in) says ``lw:chosenIn``; where
several techniques count as what the source did, each of their claims says ``lw:chosenAlikeIn``.
That a technique was chosen is not yet that it worked: that is for the source to say. Without
--write it says whether seed_data/claims/chosen-in.ttl and its sources are as they would be made.
"""

from __future__ import annotations

import argparse
import json
import re
import sys
from collections import defaultdict
from collections.abc import Iterator, Mapping
from pathlib import Path
from typing import Any

import yaml

from leastwise.graph.knowledge.knowledge import Knowledge, load_knowledge

ROOT = Path(__file__).parents[1]
TREATMENTS = ROOT / "tests" / "published" / "treatments"
CLAIMS = ROOT / "seed_data" / "claims" / "chosen-in.ttl"
SOURCES = ROOT / "seed_data" / "sources" / "treatments.ttl"
EXACT, ALIKE = "lw:chosenIn", "lw:chosenAlikeIn"
HEAD = """# Made by bench/chosen_in.py from the published treatments that are kept with the tests.
@prefix lw: <https://w3id.org/leastwise/ns#> .
"""

#: (claim, source) -> EXACT or ALIKE
Chosen = dict[tuple[str, str], str]


def entries() -> Iterator[Mapping[str, Any]]:
    """Yield the published treatments, by name."""
    for path in sorted(TREATMENTS.glob("*.yaml")):
        yield from yaml.safe_load(path.read_text("utf-8"))


def chosen(k: Knowledge) -> tuple[Chosen, dict[str, Mapping[str, Any]]]:
    """Return which claim was chosen in which source, and the sources that are new, by name."""
    effects: dict[tuple[str, str], list[str]] = defaultdict(list)
    for claim in k.instances("lw:EffectClaim"):
        for problem in (*k.objects(claim, "lw:damage"), *k.objects(claim, "lw:need")):
            effects[k.object(claim, "lw:technique") or "", problem].append(claim)
    known = {
        address.strip("<>"): source
        for source in k.instances("lw:Source")
        if not source.startswith("source:PT-")
        for address in k.objects(source, "rdfs:seeAlso")
    }
    found: Chosen = {}
    new: dict[str, Mapping[str, Any]] = {}
    for entry in entries():
        address = entry["source"]["url"]
        source = known.setdefault(address, f"source:PT-{entry['id'].removeprefix('P-')}")
        for claim, how in _claims_of(entry, effects, k):
            if found.get((claim, source)) != EXACT:
                found[claim, source] = how
            if source.startswith("source:PT-"):
                new.setdefault(source, entry["source"])
    return found, new


def _claims_of(
    entry: Mapping[str, Any], effects: Mapping[tuple[str, str], list[str]], k: Knowledge
) -> Iterator[tuple[str, str]]:
    """Yield the claims that a treatment chose by, and whether it is entered with them alone."""
    case = entry["case"]
    named = {one["id"]: one["damage"] for one in case.get("damages", ())}
    named |= {one["id"]: one["need"] for one in case.get("needs", ())}
    for one in entry["expect"]["chosen"]:
        given = one["problem"] if isinstance(one["problem"], list) else [one["problem"]]
        how = EXACT if len(one["any_of"]) == 1 else ALIKE
        for problem in given:
            for up in k.broader(named.get(problem, problem)):
                for technique in one["any_of"]:
                    yield from ((claim, how) for claim in effects.get((technique, up), ()))


def written(k: Knowledge) -> dict[Path, str]:
    """Return the two files as they are to be."""
    found, new = chosen(k)
    said: dict[str, dict[str, list[str]]] = defaultdict(lambda: defaultdict(list))
    for (claim, source), how in sorted(found.items()):
        said[claim][how].append(source)
    claims = [
        f"{claim}\n"
        + " ;\n".join(f"    {how} {' , '.join(sources)}" for how, sources in sorted(each.items()))
        + " .\n"
        for claim, each in said.items()
    ]
    prefixes = "".join(
        f"@prefix {one}: <https://w3id.org/leastwise/{one}/> .\n" for one in ("claim", "source")
    )
    terms = (
        "@prefix dcterms: <http://purl.org/dc/terms/> .\n"
        "@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .\n"
        "@prefix source: <https://w3id.org/leastwise/source/> .\n"
    )
    sources = [_source(name, new[name]) for name in sorted(new)]
    return {
        CLAIMS: HEAD + prefixes + "\n" + "\n".join(claims),
        SOURCES: HEAD + terms + "\n" + "\n".join(sources),
    }


def _source(name: str, source: Mapping[str, Any]) -> str:
    year = str(source.get("year") or "")
    year = year if year.isdigit() else ""
    title, container = _parted(source["title"])
    cited = f"{source['author']} {year or 'n.d.'}, {title}" + (container and f", {container}")
    fields = {
        "dcterms:creator": source["author"],
        "dcterms:title": title,
        "dcterms:date": year,
        "lw:container": container,
        "dcterms:bibliographicCitation": cited,
    }
    lines = [f"    {key} {json.dumps(v, ensure_ascii=False)}" for key, v in fields.items() if v]
    lines += [] if year else ["    lw:undated true"]
    lines += [] if is_mirror(source["url"]) else [f"    rdfs:seeAlso <{source['url']}>"]
    return " ;\n".join([f"{name} a lw:Source, dcterms:BibliographicResource", *lines]) + " .\n"


def _parted(title: str) -> tuple[str, str]:
    """Return the title, and what it stands in where that follows in brackets at the end."""
    found = re.fullmatch(r"(.+?) \(((?:[^()]|\([^()]*\))+)\)", title)
    return (found[1], found[2]) if found else (title, "")


def is_mirror(address: str) -> bool:
    """Return whether an address is a copy on a sharing site, by the query that asks for them."""
    asked = (ROOT / "seed_data" / "checks" / "source-address-is-no-mirror.rq").read_text("utf-8")
    pattern = re.search(r'STR\(\?at\), "(.+?)", "i"', asked)
    if pattern is None:
        raise ValueError("the query names no sharing sites")
    return bool(re.search(pattern[1], address, re.IGNORECASE))


def main() -> int:
    """Write the files, or say whether they are as they would be."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--write", action="store_true")
    write = parser.parse_args().write
    made = written(load_knowledge())
    stale = [p for p, text in made.items() if not p.exists() or p.read_text("utf-8") != text]
    for path in stale:
        if write:
            path.write_text(made[path], "utf-8")
        print(f"{path.relative_to(ROOT)}: {'written' if write else 'stale'}")
    return 1 if stale and not write else 0


if __name__ == "__main__":
    sys.exit(main())
