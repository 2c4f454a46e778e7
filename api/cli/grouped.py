"""The commands of the command line under headings, in the order of the work."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, Final

from typer.core import TyperGroup

__all__ = ["GROUPS", "Grouped"]

if TYPE_CHECKING:
    Context = Any
    Formatter = Any

#: Heading -> the commands under it.
GROUPS: Final = {
    "Answer a case": (
        "demo schema check weigh explain why what-if tests path shares scores arguments"
    ),
    "Plan and write": "plan propose review export",
    "Bench": "moisture air light load",
    "Knowledge": "concept book coverage check-knowledge compare-knowledge import-csv",
    "Service and store": ("serve accounts record backup restore verify export-all import-all"),
}
LONGEST: Final = 100  # characters of what a command says of itself


class Grouped(TyperGroup):
    """A group of commands that lists them under headings; one without a heading comes last."""

    def list_commands(self, ctx: Context) -> list[str]:
        """Return the names of the commands in the order of the headings."""
        known = [name for names in GROUPS.values() for name in names.split()]
        further = [name for name in self.commands if name not in known]
        return [name for name in known if name in self.commands] + further

    def format_commands(self, ctx: Context, formatter: Formatter) -> None:
        """Write the commands with the first sentence of their help, under their headings."""
        left = dict.fromkeys(self.list_commands(ctx))
        for heading, names in {**GROUPS, "Further": " ".join(left)}.items():
            rows = [
                (name, self.commands[name].get_short_help_str(LONGEST))
                for name in names.split()
                if name in left and not self.commands[name].hidden
            ]
            for name in names.split():
                left.pop(name, None)
            if rows:
                with formatter.section(heading):
                    formatter.write_dl(rows)
