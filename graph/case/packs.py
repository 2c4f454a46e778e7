"""What the bench physics may be asked, as records: a stack, air, light, load.

Humidity is given in percent, as at the bench, and becomes a fraction further in. A value may be
a number or a range [low, high] where it isn't known better. Nothing here loads the solver, so a
case may carry these records at little cost.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Annotated, Any, Final, Literal, NamedTuple

from pydantic import BaseModel, ConfigDict, Field, model_validator
from pydantic_core import PydanticCustomError, core_schema

__all__ = [
    "KINDS",
    "AirRecord",
    "Amount",
    "ChamberRecord",
    "HungRecord",
    "LayerRecord",
    "LightRecord",
    "LinesRecord",
    "LoadRecord",
    "NeighbourRecord",
    "PackRecord",
    "PatchRecord",
    "SlopeRecord",
    "StackRecord",
    "TapeRecord",
    "TreatRecord",
    "WeightsRecord",
]

LAYERS_MOST: Final = 16
MINUTES_MOST: Final = 2880
SAMPLES_MOST: Final = 4096
SLUG: Final = r"^[a-z0-9][a-z0-9-]{0,63}$"

Role = Literal["support", "barrier", "blotter", "membrane", "tissue", "textile", "air gap", "cover"]
Fibre = Literal[
    "cotton", "linen", "silk", "wool", "viscose", "acetate", "nylon", "polyester", "weighted silk"
]
Membrane = Literal["felt laminate", "garment laminate", "spunbonded polyolefin"]
Polymer = Literal["LDPE", "HDPE", "polyester", "polypropylene"]
Name = Annotated[str, Field(min_length=1, max_length=40, pattern=r"^[^\x00-\x1f\x7f]+$")]


class Amount(NamedTuple):
    """A number, or a range where it isn't known better (then low is less than high)."""

    low: float
    high: float

    @property
    def is_range(self) -> bool:
        """Whether it is a range."""
        return self.high > self.low

    @property
    def middle(self) -> float:
        """The number, or the arithmetic middle of the range."""
        return (self.low + self.high) / 2


@dataclass(frozen=True)
class _Between:
    """Reads a number or [low, high] within bounds."""

    low: float
    high: float

    def read(self, given: object) -> Amount:
        """Return the amount.

        Raises:
            PydanticCustomError: it is no number or range within the bounds.

        """
        pair = list(given) if isinstance(given, list | tuple) else [given, given]
        numbers = [x for x in pair if isinstance(x, int | float) and not isinstance(x, bool)]
        good = len(pair) == len(numbers) == 2 and all(math.isfinite(x) for x in numbers)
        if not good or not self.low <= numbers[0] <= numbers[1] <= self.high:
            said = f"a number from {self.low:g} to {self.high:g}, or a range [low, high] in it"
            raise PydanticCustomError("amount", "{said}", {"said": said})
        return Amount(float(numbers[0]), float(numbers[1]))

    def __get_pydantic_core_schema__(self, _source: object, _handler: object) -> Any:
        return core_schema.no_info_plain_validator_function(
            self.read,
            serialization=core_schema.plain_serializer_function_ser_schema(
                lambda amount: list(amount) if amount.is_range else amount.low
            ),
        )

    def __get_pydantic_json_schema__(self, _schema: object, _handler: object) -> dict[str, Any]:
        number = {"type": "number", "minimum": self.low, "maximum": self.high}
        pair = {"type": "array", "items": number, "minItems": 2, "maxItems": 2}
        return {"anyOf": [number, pair]}


class _Record(BaseModel):
    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


class LayerRecord(_Record):
    """One layer, listed from below. Give what its role needs; what is left out is nominal."""

    role: Role
    name: Name | None = Field(None, description="by default the role")
    fibre: Fibre | None = Field(None, description="needed for a textile")
    areal_density_g_m2: Annotated[Amount, _Between(0.1, 20_000)] | None = Field(
        None, description="mass per area; needed for a textile"
    )
    thickness_mm: Annotated[Amount, _Between(0.01, 50)] | None = None
    weave: Literal["ordinary", "tight"] | None = None
    regain_at_65_percent: Annotated[Amount, _Between(0.01, 50)] | None = Field(
        None, description="measured regain at 65 % RH"
    )
    membrane: Membrane | None = None
    face: Literal["plain", "felt up", "felt down"] | None = None
    hole_diameter_mm: Annotated[float, Field(ge=0.2, le=200)] | None = Field(
        None, description="a round hole in the membrane"
    )
    resistance_s_m: Annotated[Amount, _Between(1, 1e8)] | None = Field(
        None, description="measured resistance of a membrane or film"
    )
    polymer: Polymer | None = Field(None, description="of a barrier or cover")
    thickness_um: Annotated[float, Field(ge=1, le=5000)] | None = Field(
        None, description="of a barrier or cover"
    )
    water_load_g_m2: Annotated[Amount, _Between(0, 20_000)] | None = Field(
        None, description="water given to a blotter, over what it holds"
    )
    colder_by_k: Annotated[float, Field(ge=-10, le=20)] = 0.0
    part: Annotated[str, Field(pattern=SLUG)] | None = Field(
        None, description="id of the part of a case that this layer stands for"
    )

    @property
    def called(self) -> str:
        """The name, or the role where no name is given."""
        return self.name or self.role


class TreatRecord(_Record):
    """Which layer is treated, and to what RH."""

    layer: Name
    target_rh_percent: Annotated[Amount, _Between(1, 99.9)] = Amount(70.0, 80.0)


class NeighbourRecord(_Record):
    """A layer that must not get damp. `reads`: 'air' for what reacts to the air (metal, paint)."""

    layer: Name
    limit_rh_percent: Annotated[float, Field(ge=1, le=99.9)] = 65.0
    reads: Literal["fibres", "air"] = "fibres"


class PatchRecord(_Record):
    """The face of the pack, the slit along its edge, and the pressure while it dries."""

    width_cm: Annotated[float, Field(ge=0.5, le=300)] = 10.0
    height_cm: Annotated[float, Field(ge=0.5, le=300)] = 10.0
    slit_mm: Annotated[float, Field(ge=0, le=100)] = Field(0.0, description="0 is sealed")
    margin_mm: Annotated[float, Field(ge=1, le=500)] = Field(
        15.0, description="barrier and cover beyond the blotter"
    )
    pressure_g_cm2: Annotated[float, Field(ge=0.01, le=50)] = 0.5
    cloth: Literal["fragile", "ordinary", "robust"] = "fragile"


class StackRecord(_Record):
    """A stack on the bench, and what is asked of it."""

    leastwise_stack: Literal[1] = Field(description="version of this format")
    title: Annotated[str, Field(max_length=200)] = ""
    demo: bool = Field(default=False, description="true for an invented stack")
    note: Annotated[str, Field(max_length=4000)] = ""
    temperature_c: Annotated[Amount, _Between(5, 40)] = Amount(20.0, 20.0)
    room_rh_percent: Annotated[Amount, _Between(0, 99)] = Amount(50.0, 50.0)
    start_rh_percent: Annotated[float, Field(ge=1, le=60)] = Field(
        50.0, description="at most 60, down to which drying is followed"
    )
    top: Literal["open", "sealed"] = Field("sealed", description="sealed adds a cover if none is")
    layers: list[LayerRecord] = Field(
        min_length=1, max_length=LAYERS_MOST, description="from below upwards"
    )
    treat: TreatRecord
    neighbours: list[NeighbourRecord] = Field(default_factory=list, max_length=4)
    patch: PatchRecord = PatchRecord()
    minutes: Annotated[float, Field(ge=1, le=MINUTES_MOST)] = 240.0
    samples: Annotated[int, Field(ge=2, le=SAMPLES_MOST)] = Field(
        128, description="for the band; rounded up to a power of two"
    )

    @model_validator(mode="after")
    def _names_fit(self) -> StackRecord:
        names = [layer.called for layer in self.layers]
        twice = sorted({name for name in names if names.count(name) > 1})
        if twice:
            raise PydanticCustomError(
                "layers", "{said}", {"said": f"layers each with a name of its own, not {twice}"}
            )
        return self


class PackRecord(_Record):
    """A pack planned for one damage of a case: the technique and the stack as it would be laid."""

    damage: Annotated[str, Field(pattern=SLUG)]
    technique: Annotated[str, Field(min_length=1, max_length=120)]
    stack: StackRecord


class ChamberRecord(_Record):
    """A chamber or tent, and the water source in it."""

    volume_m3: Annotated[float, Field(ge=0.001, le=1000)]
    air_changes_per_h: Annotated[float, Field(ge=0, le=100)]
    supply_g_h: Annotated[float, Field(ge=0, le=100_000)]
    target_rh_percent: Annotated[float, Field(ge=0, le=100)] = 75.0
    hours: Annotated[float, Field(ge=0.1, le=1000)] = 8.0


class AirRecord(_Record):
    """The air of a room; a surface in it, the same air at another temperature, a chamber."""

    temperature_c: Annotated[float, Field(ge=-20, le=60)]
    rh_percent: Annotated[float, Field(ge=1, le=100)]
    surface_c: Annotated[float, Field(ge=-40, le=100)] | None = None
    heat_to_c: Annotated[float, Field(ge=-40, le=100)] | None = None
    chamber: ChamberRecord | None = None


class LightRecord(_Record):
    """A display and what is known of the object's fastness."""

    lux: Annotated[float, Field(ge=0.1, le=200_000)]
    hours_per_day: Annotated[float, Field(ge=0.1, le=24)]
    days: Annotated[int, Field(ge=1, le=18_250)] = Field(description="days on show, in one run")
    silk: bool = False
    fugitive: bool = Field(default=False, description="a dye known or thought to be fugitive")
    blue_wool: Annotated[Amount, _Between(1, 8)] | None = Field(
        None, description="ISO blue wool class, measured or judged; a range of classes if unsure"
    )
    uv_microwatt_per_lumen: Annotated[float, Field(ge=0, le=5000)] | None = None
    rest_lux: Annotated[float, Field(ge=0, le=200_000)] = 0.0
    rest_hours_per_day: Annotated[float, Field(ge=0, le=24)] = 0.0
    cycle_years: Annotated[int, Field(ge=1, le=50)] = 1
    cycles: Annotated[int, Field(ge=1, le=50)] = 3

    @model_validator(mode="after")
    def _whole_classes(self) -> LightRecord:
        if self.blue_wool is not None and any(x != int(x) for x in self.blue_wool):
            raise PydanticCustomError("blue_wool", "{said}", {"said": "whole blue wool classes"})
        return self


class SlopeRecord(_Record):
    """A textile lying on a board."""

    kind: Literal["slope"] = "slope"
    mass_kg: Annotated[float, Field(ge=1e-4, le=200)]
    angle_from_vertical_deg: Annotated[float, Field(ge=0.5, le=90)]
    friction: Annotated[Amount, _Between(0, 5)] | None = Field(
        None, description="static coefficient from a tilt test"
    )


class HungRecord(_Record):
    """A textile hung by its top edge."""

    kind: Literal["hung"] = "hung"
    areal_density_g_m2: Annotated[float, Field(ge=1, le=10_000)]
    drop_cm: Annotated[float, Field(ge=0.1, le=2000)]
    fullness: Annotated[float, Field(ge=1, le=20)] = 1.0
    strength_n_m: Annotated[Amount, _Between(0, 1e6)] | None = None
    wanted_factor: Annotated[float, Field(ge=1, le=100)] = 5.0


class LinesRecord(_Record):
    """Lines of support down a hung textile."""

    kind: Literal["lines"] = "lines"
    areal_density_g_m2: Annotated[float, Field(ge=1, le=10_000)]
    drop_cm: Annotated[float, Field(ge=0.1, le=2000)]
    allowed_load_n_m: Annotated[float, Field(ge=1e-4, le=1e6)] | None = None


class WeightsRecord(_Record):
    """Weights that press a patch."""

    kind: Literal["weights"] = "weights"
    pressure_g_cm2: Annotated[float, Field(ge=0.01, le=50)]
    area_cm2: Annotated[float, Field(ge=0.1, le=100_000)]
    cloth: Literal["fragile", "ordinary", "robust"] = "fragile"
    plate_cm2: Annotated[float, Field(ge=1, le=10_000)] = 100.0


class TapeRecord(_Record):
    """A waist tape that takes part of a skirt's weight."""

    kind: Literal["tape"] = "tape"
    mass_kg: Annotated[float, Field(ge=1e-3, le=100)]
    waist_cm: Annotated[float, Field(ge=10, le=300)]
    tape_width_cm: Annotated[float, Field(ge=0.2, le=30)] = 2.5
    share: Annotated[Amount, _Between(0, 1)] = Amount(0.7, 0.9)
    friction: Annotated[Amount, _Between(0.01, 5)] = Amount(0.3, 0.5)


LoadRecord = Annotated[
    SlopeRecord | HungRecord | LinesRecord | WeightsRecord | TapeRecord,
    Field(discriminator="kind"),
]
KINDS: Final = ("slope", "hung", "lines", "weights", "tape")
