"""The two ways a shapes graph can be refused: outside SHACL Core, or ill-formed."""

from __future__ import annotations

__all__ = ["ShaclError", "ShapesGraphError", "UnsupportedConstruct"]

_SPEC = "https://www.w3.org/TR/shacl/"


class ShaclError(Exception):
    """Base of the errors raised for a shapes graph."""


class UnsupportedConstruct(ShaclError):  # noqa: N818 - the name says what was found, not that it failed
    """A construct that SHACL Core does not define.

    Attributes:
        shape: the shape (or other node) carrying the construct, as a term string.
        construct: the IRI of the property or class that is not part of Core.
        paragraph: link to the paragraph of the recommendation that bounds Core.

    """

    def __init__(self, shape: str, construct: str, anchor: str = "core-components") -> None:
        self.shape = shape
        self.construct = construct
        self.paragraph = f"{_SPEC}#{anchor}"
        super().__init__(
            f"{shape} uses {construct}, which is not part of SHACL Core, see {self.paragraph}"
        )


class ShapesGraphError(ShaclError):
    """An ill-formed shape.

    Attributes:
        shape: the shape, as a term string.
        prop: the IRI of the property whose values are wrong.
        found: what the shapes graph says.
        accepted: what the recommendation accepts.
        paragraph: link to the paragraph of the recommendation.

    """

    def __init__(self, shape: str, prop: str, found: str, accepted: str, anchor: str) -> None:
        self.shape = shape
        self.prop = prop
        self.found = found
        self.accepted = accepted
        self.paragraph = f"{_SPEC}#{anchor}"
        super().__init__(f"{shape}: {prop} is {found}; expected {accepted}, see {self.paragraph}")
