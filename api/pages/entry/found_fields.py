"""The fields of damage, needs and tests, as the pages show them."""

from __future__ import annotations

from typing import Final, get_args

from leastwise.api.pages.entry.kinds import TRI, UNKNOWN, Entry, Options, figure
from leastwise.graph.case.found import Deposit

__all__ = ["DAMAGE", "NEED", "TEST"]

DEPOSITS: Final[Options] = tuple(
    (one, one.replace("-", " ")) for one in get_args(Deposit) if one != "unknown"
)
OTHER = Entry("other", "text", "In your words", "If none of the names fits")
DAMAGE = (
    Entry(
        "damage",
        "concept",
        "Damage",
        "e.g. crease, split, loose thread, tide line",
        scheme="damage",
    ),
    OTHER,
    Entry("parts", "parts", "On which parts"),
    Entry("where", "text", "Where on the part", "e.g. under both arms"),
    Entry(
        "place",
        "group",
        "Place on the sketch",
        "Shares of the first sketch, 0 to 1; a numbered mark stands there",
        blank=None,
        inner=(
            Entry("x", "number", "From the left", "e.g. 0.25"),
            Entry("y", "number", "From the top", "e.g. 0.6"),
        ),
    ),
    Entry("colour", "text", "In which colour", "By its look, e.g. red of the border"),
    Entry(
        "deposit",
        "choice",
        "What is it of?",
        "For a deposit, stain or residue, if anybody has told",
        options=(UNKNOWN, *DEPOSITS),
        blank="unknown",
    ),
    Entry(
        "extent",
        "extent",
        "Extent",
        "How much, e.g. 12 cm of crease, 30 cm2 of soiling, 4 holes",
        options=(
            ("cm", "cm"),
            ("cm2", "cm²"),
            ("count", "pieces or places"),
            ("percent", "% of the part"),
        ),
        blank="unknown",
        states=("unknown",),
    ),
    Entry(
        "severity",
        "choice",
        "How severe",
        options=(UNKNOWN, ("slight", "slight"), ("moderate", "moderate"), ("severe", "severe")),
        blank="unknown",
    ),
    Entry(
        "activity",
        "choice",
        "Is it going on?",
        options=(UNKNOWN, ("active", "active: getting worse"), ("stable", "stable")),
        blank="unknown",
    ),
    Entry(
        "shows_on_display",
        "choice",
        "Is it seen when the object is shown?",
        options=(UNKNOWN, ("no", "no"), ("partly", "partly"), ("yes", "yes")),
        blank="unknown",
    ),
    Entry(
        "evidence",
        "tri",
        "Is it evidence of use or making that must be kept?",
        options=TRI,
        blank="unknown",
    ),
    Entry("note", "area", "Note", "e.g. along the fold of the box", lines=2),
    Entry("id", "id", "Short name in the record", "Made from damage and part."),
)
NEED = (
    Entry(
        "need",
        "concept",
        "Need",
        "e.g. carried while it hangs, weight taken off what is weak",
        scheme="need",
    ),
    OTHER,
    Entry("parts", "parts", "On which parts", "None ticked: the whole object needs it"),
    Entry("note", "area", "Note", lines=2),
    Entry("id", "id", "Short name in the record", "Made from the need."),
)
TEST = (
    Entry(
        "test",
        "concept",
        "Test",
        "e.g. colourfastness to water, drop test, handling trial",
        scheme="test",
    ),
    OTHER,
    Entry("part", "part", "On which part"),
    Entry(
        "material",
        "concept",
        "Material tested",
        "Leave empty if the whole part was tested",
        scheme="material",
        blank=None,
    ),
    Entry("colour", "text", "Colour tested", "By its look, e.g. red of the border"),
    Entry(
        "damage",
        "damage",
        "Tried on which damage",
        "Where an agent was tried on one",
        blank=None,
    ),
    Entry(
        "agent",
        "concept",
        "Agent tried",
        "Where a test can show several, one at a time, e.g. liquid water, ethanol",
        scheme="agent",
        blank=None,
    ),
    Entry(
        "effect",
        "choice",
        "What the agent did",
        "Nothing is no proof that it does no harm",
        options=(
            ("", "no agent was tried, or not said"),
            ("works", "works"),
            ("nothing", "nothing"),
            ("harms", "harms"),
            ("inconclusive", "inconclusive"),
        ),
        blank=None,
    ),
    Entry(
        "identified",
        "concept",
        "What it showed",
        "A material or a kind of damage, e.g. silk, weeping glass beads, soot",
        scheme="finding",
        blank=None,
    ),
    Entry(
        "reading",
        "group",
        "Reading",
        "A measured value with its unit, e.g. 4.5 pH, 4 grade",
        blank=None,
        inner=(
            Entry("value", "number", "Value"),
            Entry("unit", "text", "Unit", "e.g. pH, grade, ppm"),
            figure("plus_minus", "Uncertainty", "", "In the same unit"),
        ),
    ),
    Entry(
        "result",
        "choice",
        "Result",
        "Good: nothing happened that must not happen",
        options=(
            ("", "not yet said"),
            ("good", "good"),
            ("bad", "bad"),
            ("inconclusive", "inconclusive"),
            ("not-judged", "identified or measured something; says nothing of harm"),
        ),
    ),
    Entry("date", "date", "Tested on", "YYYY-MM-DD", blank="unknown"),
    Entry("by", "text", "Tested by"),
    Entry("laboratory", "text", "Laboratory", "If others analysed it"),
    Entry("file", "text", "File", "Name of the report, spectrum or picture"),
    Entry(
        "note",
        "area",
        "What was used, and what was seen",
        "Agent, concentration, temperature and time",
        lines=2,
    ),
)
