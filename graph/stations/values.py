"""The sheet of a humidification as frozen values, and the words that it is put in."""

from __future__ import annotations

from dataclasses import dataclass

from leastwise.graph.case.packs import StackRecord
from leastwise.graph.case.record import Tri
from leastwise.graph.planning.bench_layers import Layers
from leastwise.graph.planning.bench_sheet import BenchSheet, Row
from leastwise.graph.planning.clock import Tick
from leastwise.graph.stations.sections import Stations

__all__ = [
    "COLLAR",
    "FILM",
    "FIRST_WRONG",
    "GONE_WRONG",
    "PLAIN",
    "RELIEF",
    "RELIEF_UNKNOWN",
    "THROUGH",
    "Beside",
    "HumidificationSheet",
    "SectionSheet",
]

FILM = {
    "done": "a film lies there already",
    "possible": "lay a film between, past the pack on all sides",
    "impossible": "no film can be laid between",
    "unknown": "nobody has looked whether a film can be laid between: look first",
}
THROUGH = ("sewn-through", "threaded-through", "woven-in")
COLLAR = (
    "as a collar slit to each thread; vapour creeps in along the slit, so look there at every "
    "station"
)
GONE_WRONG = (
    "Lift the pack at once and lay dry blotter on both faces, without pressure on what stands up.",
    "Let the place come back to the room under a loose cover, and photograph it damp and dry.",
    "Begin no further station until it is known why: test again on a hidden spot of that part, "
    "with the same pack and half the time.",
    "If colour moved or a coating turned tacky, this way is closed for the part and for all that "
    "is made alike; weigh the case again with the test entered as bad.",
)
FIRST_WRONG = (
    "If the first station goes wrong, no second one is begun: lift the pack, dry between blotters, "
    "and go by the steps below."
)
RELIEF = (
    "Reshape over rolls of acid-free tissue or cut shapes of inert foam from inside; no weights, "
    "glass or clips on what stands up."
)
PLAIN = (
    "Ease into line by hand and pin nothing; dry between blotters under small padded weights, as "
    "the times say."
)
RELIEF_UNKNOWN = (
    "Whether anything stands up here is not recorded: no weights until somebody has looked."
)


@dataclass(frozen=True, slots=True)
class Beside:
    """A neighbour of a section: the film, the dose without and with it, and what it bears.

    *bears* is the highest dose (0 to 4) that leaves slight harm at most, -1 where a material of it
    is not graded for vapour. *bare* and *behind* say whether its dose stays within that.
    """

    part: str
    name: str
    contact: str
    barrier: str  # possible, impossible, done or unknown, as the record says
    film: str
    bears: int
    bare: Tri
    behind: Tri
    says: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class SectionSheet:
    """One section: where in the order, how many stations, with which pack, how long.

    *stack* is what `leastwise moisture` takes; None where the pack can't be computed, with what
    is missing in *missing*. Times are in words; *to_target_s* is in seconds.
    """

    number: int
    parts: tuple[str, ...]
    names: tuple[str, ...]
    together: bool
    because: str
    stations: tuple[Stations, ...]
    stack: StackRecord | None
    layers: Layers | None
    cloth: str
    times: tuple[Tick, ...]
    to_target_s: tuple[float | None, float | None]
    neighbours: tuple[Beside, ...]
    reshaping: str
    relaxes: tuple[str, ...]  # whether the fibre softens at the target, and what isn't known
    physics: tuple[str, ...]  # drying, the weight of pack and plates, holes
    missing: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class HumidificationSheet:
    """A sheet to work from; *frame* is what every bench sheet says."""

    option: str
    frame: BenchSheet
    sections: tuple[SectionSheet, ...]
    first: tuple[str, ...]  # what comes before the first station
    gone_wrong: tuple[str, ...]
    amounts: tuple[Row, ...]  # of one pack, which goes from station to station, and for drying
    in_words: str
