"""What is worked out for a display, as frozen values; lengths in cm, forces in N, loads in N/cm."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from leastwise.graph.encoding import to_json

__all__ = [
    "HOLDS",
    "Cloth",
    "Heading",
    "Help",
    "HungPlan",
    "Level",
    "Load",
    "OnFigure",
    "Row",
    "SlantPlan",
    "Slice",
    "Underskirt",
    "WorkedDisplay",
    "worst",
]

HOLDS = "holds"
#: From the best to the worst that can be said of a load.
STATES = (HOLDS, "in doubt", "unknown", "too much")


def worst(states: list[str]) -> str:
    """Return the worst of some states; nothing to judge is unknown.

    >>> worst(["holds", "unknown"]), worst([])
    ('unknown', 'unknown')
    """
    return max(states, key=STATES.index, default="unknown")


@dataclass(frozen=True, slots=True)
class Row:
    """One line of a table: what, how much, and what that rests on."""

    what: str
    value: str
    basis: str
    claims: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Cloth:
    """What the weakest cloth at a place bears; *limit* is None where nobody can tell."""

    key: str
    label: str
    limit: tuple[float, float] | None
    part: str
    says: str
    claims: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Load:
    """A load on a line of cloth, against what the cloth bears."""

    where: str
    force_n: tuple[float, float]
    length_cm: float | None
    per_cm: tuple[float, float] | None
    cloth: Cloth
    state: str
    says: str


@dataclass(frozen=True, slots=True)
class Help:
    """The loads with one step of help: 0 is as dressed; *state* is the worst of them."""

    step: int
    words: str
    loads: tuple[Load, ...]
    state: str
    claims: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Level:
    """One measure: garment, padded form, bare figure, and the padding between the two."""

    key: str
    label: str
    below_nape_cm: float | None
    garment_cm: float
    ease_cm: tuple[float, float]
    form_cm: tuple[float, float]
    bare_cm: float | None
    padding_cm: tuple[float, float] | None
    gap_cm: float
    closing: str  # closes, tight, does not close
    says: str


@dataclass(frozen=True, slots=True)
class Slice:
    """The padded form at one height; *padding_cm* is None where the bare figure is not known."""

    below_nape_cm: float
    form_cm: float
    bare_cm: float | None
    padding_cm: float | None


@dataclass(frozen=True, slots=True)
class Underskirt:
    """Layers that hold a skirt out; *slope_deg* is that of its side from the vertical."""

    slope_deg: float
    layers: int
    hem_cm: float
    length_cm: float
    net_m2: tuple[float, float]
    says: str


@dataclass(frozen=True, slots=True)
class OnFigure:
    """A garment on a figure. *mend* says what brings what exceeds its limit below it."""

    kind: str
    levels: tuple[Level, ...]
    slices: tuple[Slice, ...]
    helps: tuple[Help, ...]
    chosen: int  # the step of help that is proposed, -1 if none: lie flat
    mend: str
    underskirt: Underskirt | None
    sleeves: tuple[Row, ...]
    train: tuple[Row, ...]
    closing: str
    measures: Mapping[str, float]


@dataclass(frozen=True, slots=True)
class Heading:
    """A heading with what it carries, and whether heading and cloth hold."""

    key: str
    label: str
    limit: tuple[float, float]
    load: Load
    rows: int
    row_spacing_cm: float | None
    state: str
    says: str


@dataclass(frozen=True, slots=True)
class HungPlan:
    """A textile hung by its top edge."""

    width_cm: float
    drop_cm: float | None
    weight_n: float
    load: Load
    headings: tuple[Heading, ...]
    chosen: str  # key of the heading, "" if none holds
    stitches_per_m: int | None
    stitch_basis: str
    mend: str


@dataclass(frozen=True, slots=True)
class SlantPlan:
    """A textile on a board at an angle from the vertical, on one cover."""

    angle_deg: float | None
    cover: str
    surface: str
    friction: tuple[float, float] | None
    needed: float | None
    holds_from_deg: float | None  # least angle from the vertical that surely holds
    state: str
    force_n: tuple[float, float] | None
    edge_per_cm: tuple[float, float] | None
    says: str
    mend: str


@dataclass(frozen=True, slots=True)
class WorkedDisplay:
    """The display of one object worked out; *unknown* says what would have to be measured."""

    mounting: str
    weight_n: float | None
    figure: OnFigure | None
    hung: HungPlan | None
    slants: tuple[SlantPlan, ...]
    rows: tuple[Row, ...]
    unknown: tuple[str, ...]
    claims: tuple[str, ...]

    def as_json(self) -> str:
        """Return it as JSON: the same bytes for the same case and knowledge."""
        return to_json(self) + "\n"
