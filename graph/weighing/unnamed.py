"""What a part must hold although nobody has named it: a fibre, and a colour.

A part recorded only as "lace" or "satin" is made of some fibre, and cloth of which the record
says neither a dye nor that it is undyed has a colour of unknown kind. Both count as unidentified
constituents, so that unknown is never taken for safe.
"""

from __future__ import annotations

from collections.abc import Iterator

from leastwise.graph.case.record import Constituent, Part
from leastwise.graph.knowledge.concepts import Catalogue

__all__ = ["COLOUR", "FIBRE", "UNDYED", "unnamed"]

FIBRE = "material:fibre-unidentified"
COLOUR = "material:dye-unidentified"
#: Says that a part holds no dye, so that no colour is missing from the record.
UNDYED = "material:undyed"
#: What says of what substance a part is, by class; a weave or a finish doesn't.
SUBSTANCES = ("lw:Fibre", "lw:Component")
OLD_REPAIR = "material:old-repair-material"
COLOURANT = "material:colourant"


def unnamed(part: Part, catalogue: Catalogue) -> Iterator[Constituent]:
    """Yield the constituents that a part must have and that its record doesn't name."""
    k = catalogue.knowledge
    named = {up for one in part.materials for up in k.broader(one.material)}
    kinds = {kind for one in named for kind in k.objects(one, "rdf:type")}
    without_fibre = kinds.isdisjoint(SUBSTANCES) and OLD_REPAIR not in named
    if without_fibre:
        yield Constituent(material=FIBRE, identified="unknown")
    cloth = without_fibre or "lw:Fibre" in kinds
    if cloth and named.isdisjoint({COLOURANT, UNDYED}):
        yield Constituent(material=COLOUR, identified="unknown")
