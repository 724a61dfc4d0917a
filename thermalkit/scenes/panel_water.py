"""Water in a panel radiator: two headers, upright channels, buoyancy, and what hinders the flow.

A network of cells: channels are joined only by a header at the top and one at the bottom. Friction is
laminar, warm water is lighter, steel conducts between cells. Air takes the top, deposits lie in the
bottom header. Flows and temperatures are solved in turn until they settle; warming up is followed in time.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from thermalkit.measured import FloatArray

Connection = tuple[tuple[str, str], tuple[str, str]]
"""Corner where water enters and corner where it leaves, each ("top" or "bottom", "left" or "right")."""

_CELL_M = (0.04, 0.07)
_HEADER_M = 0.05
_WATER_J_KGK = 4186.0
_BUOYANCY_PA_MK = 9.81 * 0.4  # g times density change of water near 50 °C, kg/(m³K)
_STEEL_W_K = 50.0 * 0.0025  # conductivity times both sheets
_LEAST_TURNS, _MOST_TURNS = 12, 60
_SETTLED = 0.01  # of the whole flow
_RELAXED, _LEAST_RELAXED = 0.3, 0.03
_UNSTABLE_W_K = 25.0
_BETWEEN_CHANNELS_W_K = 0.6
_LEAST_EXCESS_K = 0.5
_HEAT_J_K_M2 = 70e3  # steel and water per panel area


@dataclass(frozen=True, slots=True, kw_only=True)
class Deposit:
    """A heap in the bottom header: middle and half-width along the length, height, what it leaves open."""

    middle: float
    half_width: float
    height: float
    open_share: float = 0.002


@dataclass(frozen=True, slots=True, kw_only=True)
class Panel:
    """A radiator as built and as it is now.

    `air_depth` is the share of the height that air fills at the middle, `tilt` its change from left to right.
    Resistances are of one whole channel and one whole header, in Pa at the flow of the design.
    """

    length_m: float
    height_m: float
    rated_w: float
    exponent: float = 1.3
    connection: Connection = (("top", "left"), ("bottom", "right"))
    channel_pa: float = 15.0
    header_pa: float = 8.0
    air_depth: float = 0.0
    tilt: float = 0.0
    deposits: tuple[Deposit, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PanelState:
    """Temperatures of the cells, shape (cells down, cells across), and of the water that leaves."""

    cells_degc: FloatArray
    return_degc: float
    output_w: float
    flow_kg_s: float


def panel_state(
    panel: Panel, flow_degc: float, room_degc: float, flow_kg_s: float, minutes: float | None = None
) -> PanelState:
    """The panel with a flow of water, settled, or some minutes after it was opened.

    Parameters
    ----------
    panel : Panel
    flow_degc, room_degc : float
        Water that enters, room.
    flow_kg_s : float
        Above zero; a shut valve leaks a little.
    minutes : float, optional
        Since water began to flow into the cold panel.
    """
    net = _Network(panel, flow_kg_s)
    even = np.full(net.count, 0.8 * (flow_degc - room_degc))
    flows = net.flows(even)
    excess = net.excess(flows, even, flow_degc - room_degc)
    relaxed, missed = _RELAXED, np.inf
    for turn in range(_MOST_TURNS):
        step = net.flows(excess) - flows
        before, missed = missed, float(np.max(np.abs(step)))
        if turn > _LEAST_TURNS and missed < _SETTLED * max(flow_kg_s, net.design_kg_s / 20.0):
            break
        relaxed = max(_LEAST_RELAXED, 0.7 * relaxed) if missed > 0.97 * before else relaxed
        flows = flows + relaxed * step
        excess = net.excess(flows, excess, flow_degc - room_degc)
    if minutes is not None:
        excess = net.warmed(flows, flow_degc - room_degc, 60.0 * minutes)
    cells = excess.reshape(net.shape) + room_degc
    output_w = float(np.sum(net.loss_w_k(excess) * excess))
    return PanelState(
        cells_degc=cells, return_degc=float(cells.flat[net.outlet]), output_w=output_w, flow_kg_s=flow_kg_s
    )


class _Network:
    """Cells, their joints, and the linear systems between them."""

    def __init__(self, panel: Panel, flow_kg_s: float) -> None:
        down = max(8, round(panel.height_m / _CELL_M[0]))
        across = max(8, min(40, round(panel.length_m / _CELL_M[1])))
        self.shape, self.count, self.panel = (down, across), down * across, panel
        index = np.arange(self.count).reshape(self.shape)
        header = max(2, round(_HEADER_M / panel.height_m * down))
        self.design_kg_s = panel.rated_w / _WATER_J_KGK / 10.0
        channel = self.design_kg_s / across / panel.channel_pa * down
        along = self.design_kg_s / panel.header_pa * across / header
        open_share = self._open_share()
        vertical = (index[:-1].ravel(), index[1:].ravel())
        rows = np.r_[0:header, down - header : down]
        level = (index[rows, :-1].ravel(), index[rows, 1:].ravel())
        self.one = np.concatenate([vertical[0], level[0]])
        self.other = np.concatenate([vertical[1], level[1]])
        joint = np.minimum(open_share[self.one], open_share[self.other])
        size = vertical[0].size
        self.conductance = joint * np.where(np.arange(self.one.size) < size, channel, along)
        self.rise_m = np.where(np.arange(self.one.size) < size, panel.height_m / down, 0.0)
        inlet, outlet = (self._corner(corner, header) for corner in panel.connection)
        self.inlet, self.outlet, self.flow_kg_s = inlet, outlet, flow_kg_s
        steel_across = index[:, :-1].ravel(), index[:, 1:].ravel()
        cell_m = panel.height_m / down, panel.length_m / across
        self.steel = (
            np.concatenate([vertical[0], steel_across[0]]),
            np.concatenate([vertical[1], steel_across[1]]),
            np.concatenate(
                [
                    np.full(size, _STEEL_W_K * cell_m[1] / cell_m[0]),
                    np.full(steel_across[0].size, _STEEL_W_K * cell_m[0] / cell_m[1] + _BETWEEN_CHANNELS_W_K),
                ]
            ),
        )
        self.vertical = size
        self.wet = open_share > 1e-5
        self.overturned = np.zeros(size)
        self._solve: Any = None

    def _corner(self, corner: tuple[str, str], header: int) -> int:
        down, across = self.shape
        row = header - 1 if corner[0] == "top" else down - header
        column = 0 if corner[1] == "left" else across - 1
        # Under air the water enters at its surface.
        while corner[0] == "top" and row < down - 1 and not self._open_share()[row * across + column] > 1e-5:
            row += 1
        return row * across + column

    def _open_share(self) -> FloatArray:
        down, across = self.shape
        height = (np.arange(down)[:, None] + 0.5) / down
        along = (np.arange(across)[None, :] + 0.5) / across
        panel = self.panel
        dry = height < panel.air_depth + panel.tilt * (along - 0.5)
        share = np.where(dry & (panel.air_depth > 0.0), 1e-6, 1.0)
        for heap in panel.deposits:
            top = heap.height * np.clip(1.0 - ((along - heap.middle) / heap.half_width) ** 2, 0.0, 1.0)
            share = np.where(1.0 - height < top, np.minimum(share, heap.open_share), share)
        return np.asarray(share, dtype=np.float64).ravel()

    def flows(self, excess: FloatArray) -> FloatArray:
        """Flow through each joint, kg/s: pressure against friction, warm water rising."""
        from scipy.sparse import coo_array
        from scipy.sparse.linalg import splu

        lift = self.conductance * _BUOYANCY_PA_MK * self.rise_m * -self._mean(excess)
        lift = np.where(self.conductance > 1e-3 * self.conductance.max(), lift, 0.0)
        if self._solve is None:
            one, other, g = self.one, self.other, self.conductance
            rows = np.concatenate([one, other, one, other])
            columns = np.concatenate([one, other, other, one])
            values = np.concatenate([g, g, -g, -g])
            matrix = coo_array((values, (rows, columns)), shape=(self.count,) * 2).tolil()
            matrix[self.outlet, self.outlet] += float(np.max(g))
            self._solve = splu(matrix.tocsc()).solve
        source = np.zeros(self.count)
        source[self.inlet] += self.flow_kg_s
        source[self.outlet] -= self.flow_kg_s
        np.subtract.at(source, self.one, lift)
        np.add.at(source, self.other, lift)
        pressure = self._solve(source)
        flow: FloatArray = self.conductance * (pressure[self.one] - pressure[self.other]) + lift
        return flow

    def excess(self, flows: FloatArray, before: FloatArray, into_k: float) -> FloatArray:
        """Settled excess of each cell for these flows."""
        matrix, source = self._balance(flows, before, into_k)
        from scipy.sparse.linalg import spsolve

        return np.asarray(spsolve(matrix, source), dtype=np.float64)

    def warmed(self, flows: FloatArray, into_k: float, seconds: float, steps: int = 12) -> FloatArray:
        """Excess after some time, from a panel as cold as the room."""
        from scipy.sparse import diags_array
        from scipy.sparse.linalg import spsolve

        capacity = _HEAT_J_K_M2 * self.panel.length_m * self.panel.height_m / self.count / (seconds / steps)
        excess = np.full(self.count, _LEAST_EXCESS_K)
        for _ in range(steps):
            matrix, source = self._balance(flows, excess, into_k)
            held = diags_array(np.full(self.count, capacity))
            excess = np.asarray(spsolve((matrix + held).tocsr(), source + capacity * excess))
        return excess

    def loss_w_k(self, excess: FloatArray) -> FloatArray:
        """Heat to the room per kelvin of each cell."""
        relative = np.maximum(excess, _LEAST_EXCESS_K) / 50.0
        loss: FloatArray = self.panel.rated_w / self.count / 50.0 * relative ** (self.panel.exponent - 1.0)
        return loss

    def _mean(self, excess: FloatArray) -> FloatArray:
        mean: FloatArray = (excess[self.one] + excess[self.other]) / 2.0
        return mean

    def _balance(self, flows: FloatArray, before: FloatArray, into_k: float) -> tuple[Any, FloatArray]:
        """Water brings heat from upstream, steel conducts, water overturns where it is warmer below."""
        from scipy.sparse import coo_array

        carried = _WATER_J_KGK * np.abs(flows)
        to = np.where(flows > 0.0, self.other, self.one)
        came = np.where(flows > 0.0, self.one, self.other)
        upper, lower, steel = self.steel
        is_warmer_below = before[lower[: self.vertical]] > before[upper[: self.vertical]] + 0.02
        both = self.wet[lower[: self.vertical]] & self.wet[upper[: self.vertical]]
        # In part, for what has overturned is even and would stop, and start again in the next turn.
        self.overturned += _RELAXED * (np.where(is_warmer_below & both, 1.0, 0.0) - self.overturned)
        joined = steel.copy()
        joined[: self.vertical] += _UNSTABLE_W_K * self.overturned
        own = np.arange(self.count)
        rows = [to, to, upper, lower, upper, lower, own]
        columns = [to, came, upper, lower, lower, upper, own]
        values = [carried, -carried, joined, joined, -joined, -joined, self.loss_w_k(before)]
        shape = (self.count, self.count)
        entering = _WATER_J_KGK * self.flow_kg_s
        rows.append(np.array([self.inlet]))
        columns.append(np.array([self.inlet]))
        values.append(np.array([entering]))
        source = np.zeros(self.count)
        source[self.inlet] = entering * into_k
        matrix = coo_array((np.concatenate(values), (np.concatenate(rows), np.concatenate(columns))), shape)
        return matrix.tocsr(), source


def spread_over(state: PanelState, along: FloatArray, down: FloatArray) -> FloatArray:
    """Temperature at places of the panel (0 to 1 from the left and from the top), smooth between cells."""
    from scipy.ndimage import map_coordinates

    rows, columns = state.cells_degc.shape
    places: list[NDArray[np.float64]] = [down * rows - 0.5, along * columns - 0.5]
    return np.asarray(map_coordinates(state.cells_degc, places, order=1, mode="nearest"))
