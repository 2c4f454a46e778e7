"""What nobody has named is unknown: a part silent of fibre or colour has an unknown one.

A part recorded only as "lace" or "satin" is made of some fibre, and cloth of which the record
says neither a dye nor that it is undyed has a colour of unknown kind. A part that consists of
components alone (a hook, a row of beads), without a weave, has no fibre to ask for, and a colour
only where one of them may be dyed (``lw:mayBeDyed``: leather, felt, straw). Finish, structure and
components that nobody has examined add nothing; checking the record tells them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from leastwise.graph.case.parts import HEADINGS
from leastwise.graph.case.values import UNKNOWN
from leastwise.graph.case.written import UNNAMED
from leastwise.graph.knowledge.knowledge import Knowledge

__all__ = ["heading_of", "state_headings"]

Plain = dict[str, Any]
_HEADING_OF_CLASS: Final = {
    "lw:Fibre": "fibre",
    "lw:Colourant": "colour",
    "lw:Finish": "finish",
    "lw:Structure": "structure",
    "lw:Component": "components",
    "lw:SupportMaterial": "components",
}
#: What is weighed as unknown if nobody has named it.
_ASKED: Final = ("fibre", "colour")


def heading_of(material: str, knowledge: Knowledge) -> str:
    """Return the heading that a material falls under; components where its class says nothing."""
    kinds = knowledge.objects(material, "rdf:type")
    if knowledge.is_true(material, "lw:isAbsence"):
        return "colour"  # undyed
    return next((_HEADING_OF_CLASS[k] for k in kinds if k in _HEADING_OF_CLASS), "components")


def state_headings(part: Plain, knowledge: Knowledge) -> None:
    """Put each entry of a resolved part under its heading, and add what is unknown, in place."""
    entries: list[Plain] = [one for one in part["materials"] if not one["implied"]]
    for one in entries:
        if one["heading"] == UNKNOWN:
            one["heading"] = heading_of(one["material"], knowledge)
    named = {one["heading"] for one in entries}
    for heading in HEADINGS:
        if heading in named:
            part[heading] = "named"
        elif part[heading] == "named":
            part[heading] = "not-examined"
    part["materials"] = [
        *entries,
        *(_unknown(h) for h in _ASKED if _asks(part, h, entries, knowledge)),
    ]


def _unknown(heading: str) -> Plain:
    return {
        "material": UNNAMED[heading],
        "heading": heading,
        "identified": UNKNOWN,
        "implied": True,
    }


def _asks(part: Plain, heading: str, entries: Sequence[Plain], knowledge: Knowledge) -> bool:
    if part[heading] != "not-examined":
        return False
    if heading == "fibre" or part["fibre"] != "none":
        named = {one for one in HEADINGS if part[one] == "named"}
        is_component = "components" in named and not named & {"fibre", "structure"}
        if not is_component:
            return True
    return heading == "colour" and any(_may_be_dyed(one["material"], knowledge) for one in entries)


def _may_be_dyed(material: str, knowledge: Knowledge) -> bool:
    return any(knowledge.is_true(one, "lw:mayBeDyed") for one in knowledge.broader(material))
