"""The commands of the command line under headings, in the order of the work.

A command is loaded when it is called, so that the list of them is quick: what it says of itself
stands here as well, and a test holds the two to one another.
"""

from __future__ import annotations

from collections.abc import Iterator, MutableMapping
from importlib import import_module
from typing import TYPE_CHECKING, Any, Final

import typer
from typer.core import TyperGroup

__all__ = ["GROUPS", "LONGEST", "Grouped"]

if TYPE_CHECKING:
    Command = Any
    Context = Any
    Formatter = Any

#: Heading -> command -> (its module in ``commands/``, the first sentence of its help).
GROUPS: Final[dict[str, dict[str, tuple[str, str]]]] = {
    "Answer a case": {
        "demo": ("answering", "List the invented cases, or print one as a pattern for your own."),
        "schema": ("answering", "Print the JSON Schema of a case record."),
        "check": (
            "checking",
            "Check a record: what can't be read, what contradicts, what is unknown and matters.",
        ),
        "weigh": ("answering", "Rank what could be done, least intrusive first."),
        "explain": (
            "questions",
            "Show the reasons for one option's verdict, with claims and sources.",
        ),
        "why": ("questions", "Say why one option stands above another."),
        "what-if": (
            "questions",
            "Find the fewest tests, barriers, entries or means that change a verdict.",
        ),
        "tests": (
            "questions",
            "Say which tests to do first: the most change of choice for the least loss.",
        ),
        "path": (
            "planning",
            "Say which test comes first for the whole object, and what to do after each result.",
        ),
        "shares": (
            "questions",
            "Show how far the order of the options depends on weights and scores.",
        ),
        "scores": (
            "questions",
            "Show every grade of an option, its interval and what it rests on.",
        ),
        "arguments": (
            "questions",
            "Show the arguments for and against an option, and what can be held together.",
        ),
    },
    "Plan and write": {
        "plan": (
            "planning",
            "Choose one option for each damage, together, and put the work in order.",
        ),
        "propose": (
            "proposing",
            "Write a proposal: what is to be done, what was weighed, and what is still missing.",
        ),
        "review": (
            "planning",
            "Check a proposal: what speaks against it, what is missing, what would be gentler.",
        ),
        "export": (
            "exchange",
            "Give a case to another system as RDF: CIDOC CRM, PROV-O or the record itself.",
        ),
        "dump": (
            "exchange",
            "Write a part of the knowledge as a file, or the VoID and DCAT description of all.",
        ),
    },
    "Bench": {
        "bench": (
            "bench",
            "Print the sheet for one step: set-up, stations, display, times, amounts, stop signs.",
        ),
        "moisture": (
            "physics",
            "Say when to look, when to stop and what the neighbours get, for a pack of layers.",
        ),
        "air": (
            "physics",
            "Say dew point, RH at a surface, mould, chemical life, and how a chamber fills.",
        ),
        "light": (
            "physics",
            "Say dose, budget, years to a just noticeable fade, and a rotation that holds it.",
        ),
        "load": ("physics", "Forces on a textile: slope, hung, lines, weights, tape."),
        "mount": (
            "mounting",
            "Work out the display: padding, underskirt, loads, heading or slope, with mends.",
        ),
    },
    "Knowledge": {
        "concept": (
            "book",
            "Show what the knowledge says of a concept, a claim, a source or a rule.",
        ),
        "book": (
            "book",
            "Write the knowledge as a book: a page for each concept, sources, coverage.",
        ),
        "cite": (
            "citing",
            "Print sources as references, for a bibliography or a reference manager.",
        ),
        "languages": (
            "languages",
            "Show how complete the labels of each language are, and whether they were checked.",
        ),
        "weakest": (
            "weakness",
            "List the claims whose reading would pay most: doubtful, and much hangs on them.",
        ),
        "question": (
            "claim_questions",
            "Question a claim: with a remark, a rebuttal and its source, or a change as Turtle.",
        ),
        "questions": (
            "claim_questions",
            "List the questions on claims, with what was decided.",
        ),
        "settle-question": (
            "claim_questions",
            "Compare a proposed change, and accept or decline a question, with the reason.",
        ),
        "release": (
            "authoring",
            "Describe a release of the knowledge as Turtle: version, digests, changed verdicts.",
        ),
        "coverage": (
            "authoring",
            "Count what the knowledge and the rules hold, and how many grades are known.",
        ),
        "check-knowledge": (
            "authoring",
            "Check knowledge and rules: which file and line, what is wrong, how to mend it.",
        ),
        "compare-knowledge": (
            "authoring",
            "Show which claims, verdicts and ranks change from one knowledge to another.",
        ),
        "import-csv": (
            "authoring",
            "Turn a sheet into Turtle; without a sheet print the template to fill in.",
        ),
    },
    "Service and store": {
        "serve": (
            "serving",
            "Serve the pages and the HTTP interface, on this machine or to several people.",
        ),
        "accounts": (
            "accounts",
            "Manage the accounts of those who share a store (serve --shared).",
        ),
        "record": ("storing", "Print a stored record as YAML, as it is or as it was at any date."),
        "backup": (
            "storing",
            "Write all that the store holds into one file, while others go on working.",
        ),
        "restore": (
            "storing",
            "Put a backup in the place of the store; the old store is kept beside it.",
        ),
        "verify": (
            "storing",
            "Check that the store is whole and that nothing in it was altered past the program.",
        ),
        "export-all": (
            "storing",
            "Write every record, change and photograph in open formats, a folder a case.",
        ),
        "import-all": (
            "storing",
            "Read an export into an empty store; checks each file's SHA-256 first.",
        ),
    },
}
LONGEST: Final = 100  # characters of what a command says of itself
_KNOWN: Final = {name: told for group in GROUPS.values() for name, told in group.items()}


class _Commands(MutableMapping[str, "Command"]):
    """The commands by name, each loaded with its module when it is first asked for."""

    def __init__(self, given: MutableMapping[str, Command]) -> None:
        self._loaded = dict(given)

    def __getitem__(self, name: str) -> Command:
        if name not in self._loaded and name in _KNOWN:
            self._load(_KNOWN[name][0])
        return self._loaded[name]

    def _load(self, module: str) -> None:
        found = typer.Typer(rich_markup_mode=None)
        found.callback()(lambda: None)  # so that one command alone is still one of a group
        import_module(f"leastwise.api.cli.commands.{module}").register(found)
        loaded = typer.main.get_group(found).commands
        self._loaded = {**loaded, **self._loaded}

    def __setitem__(self, name: str, command: Command) -> None:
        self._loaded[name] = command

    def __delitem__(self, name: str) -> None:
        del self._loaded[name]

    def __iter__(self) -> Iterator[str]:
        return iter(dict.fromkeys([*_KNOWN, *self._loaded]))

    def __len__(self) -> int:
        return len(list(iter(self)))


class Grouped(TyperGroup):
    """A group of commands that lists them under headings; one without a heading comes last."""

    def __init__(self, **given: Any) -> None:
        super().__init__(**given)
        self.commands: MutableMapping[str, Command] = _Commands(self.commands)

    def format_commands(self, ctx: Context, formatter: Formatter) -> None:
        """Write the commands with the first sentence of their help, under their headings."""
        for heading, group in GROUPS.items():
            with formatter.section(heading):
                formatter.write_dl([(name, said) for name, (_, said) in group.items()])
        further = [name for name in self.commands if name not in _KNOWN]
        if further:
            with formatter.section("Further"):
                told = ((n, self.commands[n].get_short_help_str(LONGEST)) for n in further)
                formatter.write_dl(list(told))
