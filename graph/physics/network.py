"""Water in a network of small cells: vapour moves between cells, fibres take it up and give it.

Each cell i holds air at relative humidity v_i and a store (its fibres) with content n_i, as a
share of the content at saturation. With c_sat the saturation concentration of the cell:

    air:    A_i c_sat dv_i/dt = sum over links G (c_j - c_i) - K_i (v_i - a(n_i)),  c = v c_sat
    store:  S_i dn_i/dt       = K_i (v_i - a(n_i))

where A is the air volume (m3), G a conductance (m3/s: area over resistance), S the store at
saturation (g), a(n) the RH in equilibrium with the store (Hailwood-Horrobin, claim:M-029) and 1
where n exceeds 1: then there is free water (a wet blotter, or condensate). K = S/lag makes the
store follow the air as a first-order lag (moisture-and-cleaning.md section E, step 3). Each sum
of water is kept by construction: what leaves one cell enters another, or the room's account.

The system is stiff (air holds a thousandth of what fibres hold). A chain, in which each cell is
joined to the next alone, is marched by a Rosenbrock method (march.py); what is joined sideways too,
or asked for very exactly, is integrated by BDF. Both have the exact Jacobian.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from leastwise.graph.errors import LeastwiseError
from leastwise.graph.physics.march import Chain, at_times, march

if TYPE_CHECKING:
    from scipy.sparse import csc_matrix

__all__ = ["Accuracy", "Network", "Run", "SolverError", "run_network", "stack_networks"]

Floats = npt.NDArray[np.float64]
Ints = npt.NDArray[np.int64]


LEAST_CHAIN = 3


class SolverError(LeastwiseError):
    """The integration did not come to its end; says why and what to change."""


@dataclass(frozen=True, slots=True)
class Accuracy:
    """Relative tolerance of the integration, and cells in each sorbing layer."""

    tolerance: float = 1e-4
    cells_per_layer: int = 5


@dataclass(frozen=True, slots=True)
class Network:
    """Cells (arrays of one length), links between them, and links to the room."""

    air_m3: Floats
    saturation_g_m3: Floats
    store_g: Floats
    hailwood: Floats  # rows A, B, C, of the regain as a share of that at saturation
    lag_s: Floats
    start_humidity: Floats
    start_content: Floats
    link_from: Ints
    link_to: Ints
    link_m3_s: Floats
    room_cell: Ints
    room_m3_s: Floats
    room_g_m3: Floats
    members: int = 1

    @property
    def size(self) -> int:
        """The number of cells."""
        return len(self.air_m3)

    @property
    def is_chain(self) -> bool:
        """Whether each cell is joined to the next alone, each pair once; three cells at least."""
        ahead = self.size >= LEAST_CHAIN and bool(np.all(self.link_to == self.link_from + 1))
        return ahead and len(np.unique(self.link_from)) == len(self.link_from)


@dataclass(frozen=True, slots=True)
class Run:
    """Humidity and content of each cell at each time, and water given to the room."""

    times_s: Floats
    humidity: Floats  # cells x times: RH of the air in the cell
    content: Floats  # cells x times: share of saturation
    fibre_humidity: Floats  # cells x times: RH in equilibrium with the store
    to_room_g: Floats  # members x times
    steps: int
    imbalance: float


def stack_networks(networks: Sequence[Network]) -> Network:
    """Return networks of one layout side by side as one, to be integrated together."""
    size = networks[0].size

    def merged(name: str) -> Floats:
        return np.concatenate([getattr(network, name) for network in networks], axis=-1)

    def shifted(name: str) -> Ints:
        return np.concatenate([getattr(net, name) + size * k for k, net in enumerate(networks)])

    plain = ("air_m3", "saturation_g_m3", "store_g", "hailwood", "lag_s", "start_humidity")
    more = ("start_content", "link_m3_s", "room_m3_s", "room_g_m3")
    return Network(
        **{name: merged(name) for name in (*plain, *more)},  # type: ignore[arg-type]
        **{name: shifted(name) for name in ("link_from", "link_to", "room_cell")},  # type: ignore[arg-type]
        members=len(networks),
    )


class _System:
    """Right-hand side and Jacobian of a network; state is v and n of each cell, then the room."""

    def __init__(self, net: Network) -> None:
        self.net = net
        self.hailwood = net.hailwood
        self.size = net.size
        self.member = np.repeat(np.arange(net.members), self.size // net.members)
        self.exchange_g_s = net.store_g / net.lag_s
        self.air_g = net.air_m3 * net.saturation_g_m3
        self.member_g = np.bincount(self.member, net.store_g + self.air_g)
        self.linear = self._linear_part()
        self.rhs_constant = self._constant_part()
        self._variable_part()

    def _linear_part(self) -> csc_matrix:
        """Build the matrix of all that is linear in v, with a place kept for each da/dn."""
        net, size = self.net, self.size
        one, two, g, c = net.link_from, net.link_to, net.link_m3_s, net.saturation_g_m3
        room, cells = net.room_cell, np.arange(size)
        account = 2 * size + self.member[room]
        out = net.room_m3_s * c[room]
        rows = (one, one, two, two, room, account, cells, size + cells, cells, size + cells)
        cols = (one, two, two, one, room, room, cells, cells, size + cells, size + cells)
        values = (
            -g * c[one] / self.air_g[one],
            g * c[two] / self.air_g[one],
            -g * c[two] / self.air_g[two],
            g * c[one] / self.air_g[two],
            -out / self.air_g[room],
            out / self.member_g[self.member[room]],
            -self.exchange_g_s / self.air_g,
            1 / net.lag_s,
            np.zeros(size),
            np.zeros(size),
        )
        from scipy.sparse import csc_matrix  # noqa: PLC0415 - as above

        shape = (2 * size + net.members,) * 2
        places = (np.concatenate(rows), np.concatenate(cols))
        matrix = csc_matrix((np.concatenate(values), places), shape=shape)
        matrix.sort_indices()
        return matrix

    def _constant_part(self) -> Floats:
        """Build what the room itself brings in."""
        net = self.net
        constant = np.zeros(2 * self.size + net.members)
        inflow = net.room_m3_s * net.room_g_m3
        np.add.at(constant, net.room_cell, inflow / self.air_g[net.room_cell])
        owners = self.member[net.room_cell]
        np.add.at(constant, 2 * self.size + owners, -inflow / self.member_g[owners])
        return constant

    def _variable_part(self) -> None:
        """Find where the derivative of a(n) stands in the data of the sparse Jacobian."""
        size, height, cells = self.size, self.linear.shape[0], np.arange(self.size)
        keys = _keys(self.linear)
        column = (size + cells) * height
        self.at_air = np.searchsorted(keys, column + cells)
        self.at_store = np.searchsorted(keys, column + size + cells)

    def chain(self) -> Chain:
        """Return a network that is a chain in the terms of the marching method."""
        net, size, first = self.net, self.size, self.net.link_from
        c, g, room = net.saturation_g_m3, net.link_m3_s, net.room_cell
        own = -self.exchange_g_s / self.air_g
        below, above, out = np.zeros(size - 1), np.zeros(size - 1), np.zeros(size)
        own[first] -= g * c[first] / self.air_g[first]
        own[first + 1] -= g * c[first + 1] / self.air_g[first + 1]
        above[first] = g * c[first + 1] / self.air_g[first]
        below[first] = g * c[first] / self.air_g[first + 1]
        np.add.at(own, room, -net.room_m3_s * c[room] / self.air_g[room])
        np.add.at(out, room, net.room_m3_s * c[room] / self.member_g[self.member[room]])
        return Chain(
            below=below,
            own=own,
            above=above,
            constant=self.rhs_constant[:size],
            gain=self.exchange_g_s / self.air_g,
            lag_s=net.lag_s,
            out=out,
            out_constant=self.rhs_constant[2 * size :],
            member=self.member,
            activity=self.activity,
        )

    def activity(self, content: Floats) -> tuple[Floats, Floats]:
        """Return a(n) and its derivative; free water (n > 1) keeps the air at saturation."""
        a, b, c = self.hailwood if content.ndim == 1 else self.hailwood[..., None]
        n = np.clip(content, 0.0, 1.0)
        linear = 1 - b * n
        h = 2 * a * n / (linear + np.sqrt(linear * linear + 4 * a * c * n * n))
        below = a + b * h - c * h * h
        slope = below * below / (a + c * h * h)
        slope = np.where(content >= 1.0, 0.0, slope)
        # Below zero content (a trial step of the solver) the line goes on, so Newton comes back.
        return np.where(content < 0, content * a, h), slope

    def rate(self, _time: float, state: Floats) -> Floats:
        """Return the rate of change of the whole state."""
        activity, _ = self.activity(state[self.size : 2 * self.size])
        change: Floats = self.linear @ state + self.rhs_constant
        change[: self.size] += self.exchange_g_s / self.air_g * activity
        change[self.size : 2 * self.size] -= activity / self.net.lag_s
        return change

    def jacobian(self, _time: float, state: Floats) -> csc_matrix:
        """Return the exact Jacobian."""
        from scipy.sparse import csc_matrix  # noqa: PLC0415 - as above

        _, slope = self.activity(state[self.size : 2 * self.size])
        data = self.linear.data.copy()
        data[self.at_air] += self.exchange_g_s / self.air_g * slope
        data[self.at_store] -= slope / self.net.lag_s
        return csc_matrix((data, self.linear.indices, self.linear.indptr), self.linear.shape)

    def water_g(self, states: Floats) -> Floats:
        """Return the water of each member, in cells and given to the room, at each time."""
        size = self.size
        cells = self.air_g[:, None] * states[:size]
        cells = cells + self.net.store_g[:, None] * states[size : 2 * size]
        totals = np.zeros((self.net.members, states.shape[1]))
        np.add.at(totals, self.member, cells)
        return totals + states[2 * size :] * self.member_g[:, None]


def _keys(matrix: csc_matrix) -> Ints:
    """Return column-major keys of the stored places of a sorted sparse matrix, ascending."""
    columns = np.repeat(np.arange(matrix.shape[1]), np.diff(matrix.indptr))
    keys: Ints = columns.astype(np.int64) * matrix.shape[0] + matrix.indices
    return keys


#: A finer tolerance than this is left to BDF, whose order rises with it.
FINEST_MARCH = 1e-6


def run_network(network: Network, times_s: Floats, accuracy: Accuracy) -> Run:
    """Integrate a network over the given times (the first is the start).

    Raises:
        SolverError: the integration did not reach the last time.

    """
    system = _System(network)
    start = np.concatenate(
        [network.start_humidity, network.start_content, np.zeros(network.members)]
    )
    if accuracy.tolerance >= FINEST_MARCH and network.is_chain:
        states, steps = _marched(system, start, times_s, accuracy)
    else:
        states, steps = _by_bdf(system, start, times_s, accuracy)
    size = network.size
    content = states[size : 2 * size]
    water = system.water_g(states)
    return Run(
        times_s=times_s,
        humidity=states[:size],
        content=content,
        fibre_humidity=system.activity(content)[0],
        to_room_g=states[2 * size :] * system.member_g[:, None],
        steps=steps,
        imbalance=float(np.max(np.abs(water - water[:, :1]) / np.abs(water[:, :1]))),
    )


def _marched(
    system: _System, start: Floats, times_s: Floats, accuracy: Accuracy
) -> tuple[Floats, int]:
    """Return states by time of a chain, and the number of steps."""
    first = float(times_s[0])
    try:
        times, states = march(system.chain(), start, float(times_s[-1]) - first, accuracy.tolerance)
    except ArithmeticError as error:
        raise SolverError(f"times_s: the integration stopped ({error}); shorten it.") from error
    return at_times(times, states, times_s - first).T, len(times) - 1


def _by_bdf(
    system: _System, start: Floats, times_s: Floats, accuracy: Accuracy
) -> tuple[Floats, int]:
    """Return states by time of any network, and the number of evaluations."""
    from scipy.integrate import solve_ivp  # noqa: PLC0415 - slow to load; a chain needs none of it

    # scipy's BDF starts from uninitialised differences that it overwrites before it uses them;
    # by chance they can be infinite and warn. What counts is that the answer is finite.
    with np.errstate(invalid="ignore", over="ignore"):
        solution = solve_ivp(
            system.rate,
            (float(times_s[0]), float(times_s[-1])),
            start,
            method="BDF",
            t_eval=times_s,
            jac=system.jacobian,
            rtol=accuracy.tolerance,
            atol=accuracy.tolerance * 1e-2,
        )
    if not solution.success or not np.all(np.isfinite(solution.y)):
        raise SolverError(f"times_s: the integration stopped ({solution.message}); shorten it.")
    return solution.y, int(solution.nfev)
