"""Command: the written proposal for a case, as PDF, Word, web page or linked data."""

from __future__ import annotations

from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer

from leastwise.api.cli.shared import (
    CaseArgument,
    JsonOption,
    WithOption,
    day_of,
    mendable,
    open_adviser,
    open_case,
    settings_with,
    tell,
    writing,
)

if TYPE_CHECKING:
    from leastwise.graph.proposal.report.words import OwnWords

__all__ = ["register"]

ENDINGS = ("pdf", "docx", "html", "jsonld")


def propose(  # noqa: PLR0913 - options of a command
    case: CaseArgument,
    *,
    out: Annotated[
        Path,
        typer.Option(
            "--out", metavar="FILE", help="Where to write it: .pdf, .docx, .html or .jsonld."
        ),
    ],
    words: Annotated[
        Path | None,
        typer.Option(
            "--words",
            metavar="FILE",
            help="Own words: YAML or JSON, a text for each section, and choices.",
        ),
    ] = None,
    day: Annotated[
        str, typer.Option("--date", metavar="DAY", help="Date of the proposal; default: today.")
    ] = "",
    overlays: WithOption = None,
    as_json: JsonOption = False,
) -> None:
    """Write a proposal: what is to be done, what was weighed, and what is still missing.

    Example: leastwise propose demo:festival-dancer --out proposal.pdf

    Example: leastwise propose my-case.yaml --words my-words.yaml --out proposal.docx
    """
    with mendable():
        form = out.suffix.removeprefix(".").lower()
        if form not in ENDINGS:
            endings = ", ".join(f".{one}" for one in ENDINGS)
            raise ValueError(f"--out {out}: expected a file that ends with one of {endings}")
        from leastwise.api.documents.proposal_figures import figures_of  # noqa: PLC0415 - quick help
        from leastwise.api.documents.proposal_make import Proposal  # noqa: PLC0415
        from leastwise.graph.proposal.report.make import make_report, make_work  # noqa: PLC0415
        from leastwise.graph.proposal.report.values import Edition  # noqa: PLC0415

        settings = settings_with(overlays)
        edition = Edition(_day(day), "")
        adviser = open_adviser(settings)
        found = open_case(case, adviser.knowledge)
        work = make_work(found, adviser, _words(words))
        work.check()
        figures = figures_of(work)
        report = make_report(work, edition, figures=figures.by_section)
        data = Proposal(report, figures, found).written(form, settings.base)
        with writing("--out", out):
            out.write_bytes(data)
    missing = [e.label for e in report.missing if e.key != "approval"]
    tell(
        f"{out}: {len(missing)} elements are still missing, besides the signature.",
        {"file": out, "missing": missing},
        as_json=as_json,
    )


def _day(given: str) -> str:
    if not given:
        return date.today().isoformat()  # noqa: DTZ011 - the writer's own calendar day
    return day_of("--date", given).isoformat()


def _words(path: Path | None) -> OwnWords:
    from leastwise.graph.case.reading import load_text  # noqa: PLC0415 - keeps the others quick
    from leastwise.graph.proposal.report.words import OwnWords  # noqa: PLC0415

    if path is None:
        return OwnWords()
    try:
        text = path.read_text("utf-8")
    except UnicodeDecodeError:
        raise ValueError(f"--words {path}: expected UTF-8 text") from None
    except OSError as error:
        raise ValueError(f"--words {path}: {error.strerror}") from error
    return OwnWords.of(load_text(text, is_json=path.suffix.lower() == ".json"))


def register(app: typer.Typer) -> None:
    """Put the command of this module on the command line."""
    app.command()(propose)
