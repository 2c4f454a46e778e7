"""Commands: exchange with other systems."""

from __future__ import annotations

from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from leastwise.api.cli.shared import (
    CaseArgument,
    LinkedOption,
    WithOption,
    mendable,
    open_adviser,
    open_case,
    print_or_write,
    settings_with,
)
from leastwise.api.services.exports import Kind, export_graph

__all__ = ["register"]


class Format(StrEnum):
    """How the graph is written."""

    TURTLE = "turtle"
    JSONLD = "jsonld"
    NTRIPLES = "ntriples"


def register(app: typer.Typer) -> None:
    """Put the commands of this module on the command line."""
    app.command()(dump)
    app.command()(export)


def export(  # noqa: PLR0913 - options of a command
    case: CaseArgument,
    *,
    kind: Annotated[
        Kind,
        typer.Option(
            "--as",
            help="crm: CIDOC CRM with condition and proposed options; prov: how the answer was "
            "made; case: the record as the rules read it.",
        ),
    ] = Kind.CRM,
    form: Annotated[
        Format, typer.Option("--format", help="How the graph is written.")
    ] = Format.TURTLE,
    output: Annotated[
        Path | None, typer.Option("--output", metavar="FILE", help="Write to a file.")
    ] = None,
    overlays: WithOption = None,
    as_json: LinkedOption = False,
) -> None:
    """Give a case to another system as RDF: CIDOC CRM, PROV-O or the record itself.

    Example: leastwise export demo:guild-banner --as crm --format jsonld --output banner.jsonld
    """
    with mendable():
        from leastwise.graph.exchange.rdf_out import written  # noqa: PLC0415

        settings = settings_with(overlays)
        adviser = open_adviser(settings)
        graph = export_graph(kind, open_case(case, adviser.knowledge), adviser, settings.base)
        print_or_write(written(graph, Format.JSONLD if as_json else form), output)


def dump(
    name: Annotated[
        str,
        typer.Argument(
            metavar="NAME",
            help="knowledge, vocabulary, concepts, claims, rules; dataset describes them.",
        ),
    ],
    *,
    ending: Annotated[
        str, typer.Option("--format", metavar="ttl|jsonld|nt|rdf", help="How it is written.")
    ] = "ttl",
    output: Annotated[
        Path | None, typer.Option("--output", metavar="FILE", help="Write to a file.")
    ] = None,
    overlays: WithOption = None,
    as_json: LinkedOption = False,
) -> None:
    """Write a part of the knowledge as a file, or the VoID and DCAT description of all.

    Example: leastwise dump concepts --format ttl --output concepts.ttl
    """
    with mendable():
        from leastwise.graph.exchange.dataset import dataset_statements  # noqa: PLC0415
        from leastwise.graph.exchange.dumps import statements_of  # noqa: PLC0415
        from leastwise.graph.exchange.statements import FORMS, write  # noqa: PLC0415

        ending = "jsonld" if as_json else ending
        if ending not in FORMS:
            raise ValueError(f"--format {ending}: expected one of {', '.join(FORMS)}")
        settings = settings_with(overlays)
        k = open_adviser(settings).knowledge
        said = dataset_statements(k) if name == "dataset" else statements_of(name, k)
        print_or_write(write(said, ending, settings.base), output)
