"""A citation as HTML, the same on every page and in the book."""

from __future__ import annotations

import re

from markupsafe import Markup, escape

__all__ = ["titled"]


def titled(citation: str) -> Markup:
    """Return a citation with *titles* between asterisks in italics; all else is escaped."""
    return Markup(re.sub(r"\*([^*<>]+)\*", r"<cite>\1</cite>", str(escape(citation))))  # noqa: S704
