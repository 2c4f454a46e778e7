"""What a coating, size or filler does to a material is graded there, and never taken from above."""

from __future__ import annotations

import re

from leastwise.graph import Adviser

NAMES_MORE = re.compile(
    r"\b(sized|starch\w*|gum\w*|fill(?:er|ed)|coat(?:ed|ing)|glazed?|varnish\w*|lacquer\w*)\b"
)
ASKED = ("agent:liquid-water", "agent:heat", "agent:solvent-alcohol", "agent:solvent-ketone")


def test_a_material_whose_definition_names_a_finish_has_a_grade_of_its_own(
    adviser: Adviser,
) -> None:
    k, catalogue = adviser.knowledge, adviser.catalogue
    added = set(k.instances("lw:SupportMaterial"))  # what a treatment brings, not what is there
    lacking = []
    found = 0
    for one in k.instances("skos:Concept"):
        if not one.startswith("material:") or one in catalogue.uncertain_materials | added:
            continue
        if not NAMES_MORE.search(k.text(one, "skos:definition")):
            continue
        found += 1
        grades = [catalogue.sensitivity(one, agent) for agent in ASKED]
        if all(grade.inherited_from for grade in grades if grade.known):
            lacking.append(one)
    assert found > 20
    assert lacking == []
