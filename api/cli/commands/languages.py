"""Commands: languages."""

from __future__ import annotations

import json
from dataclasses import asdict
from typing import TYPE_CHECKING, Annotated

import typer

from leastwise.api.cli.lines import say
from leastwise.api.cli.shared import JsonOption, WithOption, mendable, open_adviser, settings_with

if TYPE_CHECKING:
    from leastwise.graph.knowledge.label_report import LanguageReport

__all__ = ["register"]


def register(app: typer.Typer) -> None:
    """Put the commands of this module on the command line."""
    app.command()(languages)


def languages(
    tag: Annotated[
        str | None,
        typer.Argument(metavar="[TAG]", help="A language, to see what it lacks, such as fr."),
    ] = None,
    *,
    overlays: WithOption = None,
    as_json: JsonOption = False,
) -> None:
    """Show how complete the labels of each language are, and whether they were checked.

    Example: leastwise languages fr
    """
    with mendable():
        from leastwise.graph.knowledge.label_report import label_report  # noqa: PLC0415

        found = label_report(open_adviser(settings_with(overlays)).knowledge)
        known = [one.tag for one in found]
        if tag is not None and tag not in known:
            raise ValueError(f"language {tag}: expected one of {', '.join(known)}")
    if as_json:
        shown = [asdict(one) for one in found if tag in (None, one.tag)]
        typer.echo(json.dumps(shown, ensure_ascii=False, indent=1, sort_keys=True))
        return
    for one in found:
        if tag in (None, one.tag):
            _show(one, names_missing=tag is not None)


def _show(report: LanguageReport, *, names_missing: bool) -> None:
    share = f"{report.labelled} of {report.of} concepts"
    by = f"; checked by {report.checked_by}" if report.checked_by else ""
    say(f"{report.tag}: {share} labelled; {report.status}{by}")
    for scheme in report.schemes:
        say(f"  {scheme.label:<32}{scheme.labelled:>5} of {scheme.of}")
        if names_missing and scheme.labelled:
            for one in scheme.missing:
                say(f"    lacks {one}")
