"""A proposal as one HTML file that stands alone: style and pictures are in it, no script is."""

from __future__ import annotations

import base64
from functools import cache
from importlib import resources

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from leastwise.api.documents.proposal_figures import Figures, Held
from leastwise.api.documents.proposal_plain import set_out
from leastwise.graph.proposal.report.values import Report

__all__ = ["POLICY", "proposal_html"]

#: What a browser may do with the file: show its own style and pictures, and nothing else.
POLICY = (
    "default-src 'none'; style-src 'unsafe-inline'; img-src data:; base-uri 'none'; "
    "form-action 'none'"
)


def proposal_html(report: Report, figures: Figures) -> str:
    """Return a proposal as HTML; the same report and figures give the same text."""
    plain = set_out(report)
    return _template_environment().get_template("proposal-print.html").render(
        plain=plain,
        numbers={s["key"]: s["number"] for s in plain["sections"]},
        files={key: _file(held) for key, held in figures.files.items()},
        style=Markup(_style()),  # noqa: S704 - a file of our own
        policy=POLICY,
    )  # fmt: skip


def _file(held: Held) -> dict[str, object]:
    data = base64.b64encode(held.data).decode()
    return {
        "address": f"data:{held.media_type};base64,{data}",
        "width": round(held.width),
        "height": round(held.height),
    }


@cache
def _template_environment() -> Environment:
    return Environment(
        loader=PackageLoader("leastwise.api", "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )


@cache
def _style() -> str:
    return (
        resources.files("leastwise.api.documents")
        .joinpath("static/proposal.css")
        .read_text("utf-8")
    )
