"""Radiators: excess temperature, output, water side, and the heat load a room asks for.

Source
------
EN 442-2 (characteristic equation, excess temperatures; the rule c < 0.7 from memory). EN 12831 in its
simplified form for rooms (from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.language import say
from thermalkit.physics.domain import FloatArray, require_within

WATER_J_KGK = 4186.0
AIR_WH_M3K = 0.34
STANDARD_POINT = (75.0, 65.0, 20.0)
"""Flow, return and room of the standard rating, °C."""
LOGARITHMIC_BELOW = 0.7
_STEFAN_BOLTZMANN = 5.670374419e-8
_ZERO_KELVIN = 273.15
_SMALLEST_EXCESS_K = 1e-9
_HALVINGS = 60


def arithmetic_excess_k(flow_degc: ArrayLike, return_degc: ArrayLike, room_degc: ArrayLike) -> FloatArray:
    """Mean of flow and return above the room.

    Parameters
    ----------
    flow_degc, return_degc, room_degc : array_like, broadcastable
        -20 to 130 °C.

    Returns
    -------
    ndarray of float64, broadcast shape
        In K.

    Raises
    ------
    OutOfDomain
        A temperature lies outside its range.

    Source
    ------
    EN 442-2.

    Examples
    --------
    >>> arithmetic_excess_k(75.0, 65.0, 20.0)
    np.float64(50.0)
    """
    flow, back, room = _temperatures(flow_degc, return_degc, room_degc)
    return (flow + back) / 2.0 - room


def logarithmic_excess_k(flow_degc: ArrayLike, return_degc: ArrayLike, room_degc: ArrayLike) -> FloatArray:
    """Mean excess of water that cools in step with what it still exceeds the room by.

    Parameters
    ----------
    flow_degc, return_degc, room_degc : array_like, broadcastable
        -20 to 130 °C; flow not below return, return not below room.

    Returns
    -------
    ndarray of float64, broadcast shape
        (s - r) / ln((s - i) / (r - i)) in K; 0 where the return has come down to the room.

    Raises
    ------
    OutOfDomain
        A temperature lies outside its range, or they stand in another order.

    Source
    ------
    EN 442-2.

    Examples
    --------
    >>> logarithmic_excess_k(75.0, 65.0, 20.0).round(3)
    np.float64(49.833)
    """
    flow, back, room = _temperatures(flow_degc, return_degc, room_degc)
    into, out = _above_room(flow, back, room)
    return _logarithmic_mean(into, out)


def excess_share(flow_degc: ArrayLike, return_degc: ArrayLike, room_degc: ArrayLike) -> FloatArray:
    """Excess of the return over that of the flow, c; below 0.7 the logarithmic mean is asked for.

    Parameters
    ----------
    flow_degc, return_degc, room_degc : array_like, broadcastable
        -20 to 130 °C; flow above room, not below return, return not below room.

    Returns
    -------
    ndarray of float64, broadcast shape
        0 to 1; NaN where the flow is no warmer than the room.

    Raises
    ------
    OutOfDomain
        A temperature lies outside its range, or they stand in another order.

    Source
    ------
    EN 442-2, from memory.

    Examples
    --------
    >>> excess_share(55.0, 45.0, 20.0).round(3)
    np.float64(0.714)
    """
    flow, back, room = _temperatures(flow_degc, return_degc, room_degc)
    into, out = _above_room(flow, back, room)
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.asarray(np.where(into > 0.0, out / into, np.nan))[()]


def excess_k(flow_degc: ArrayLike, return_degc: ArrayLike, room_degc: ArrayLike) -> FloatArray:
    """Excess temperature as the standard asks for it: arithmetic, logarithmic where c is below 0.7.

    Parameters
    ----------
    flow_degc, return_degc, room_degc : array_like, broadcastable
        -20 to 130 °C; flow not below return, return not below room.

    Returns
    -------
    ndarray of float64, broadcast shape
        In K.

    Raises
    ------
    OutOfDomain
        A temperature lies outside its range, or they stand in another order.

    Source
    ------
    EN 442-2, the limit of 0.7 from memory.

    Examples
    --------
    >>> excess_k([55.0, 45.0], [45.0, 35.0], 20.0).round(2)
    array([30.  , 19.58])
    """
    logarithmic = logarithmic_excess_k(flow_degc, return_degc, room_degc)
    needed = ~(excess_share(flow_degc, return_degc, room_degc) >= LOGARITHMIC_BELOW)
    return np.where(needed, logarithmic, arithmetic_excess_k(flow_degc, return_degc, room_degc))[()]


def standard_ratio(flow_degc: ArrayLike, return_degc: ArrayLike, room_degc: ArrayLike) -> FloatArray:
    """Excess temperature over that of the standard point 75/65/20, each of the kind that is asked for.

    Parameters
    ----------
    flow_degc, return_degc, room_degc : array_like, broadcastable
        -20 to 130 °C; flow not below return, return not below room.

    Returns
    -------
    ndarray of float64, broadcast shape
        ΔT / 50 K, or ΔT_log / 49.833 K where c is below 0.7; its n-th power is the share of the output.

    Raises
    ------
    OutOfDomain
        A temperature lies outside its range, or they stand in another order.

    Source
    ------
    EN 442-2.

    Examples
    --------
    >>> standard_ratio([55.0, 45.0], [45.0, 35.0], 20.0).round(4)
    array([0.6   , 0.3928])
    """
    asked = excess_k(flow_degc, return_degc, room_degc)
    is_logarithmic = ~(excess_share(flow_degc, return_degc, room_degc) >= LOGARITHMIC_BELOW)
    rated = np.where(
        is_logarithmic, logarithmic_excess_k(*STANDARD_POINT), arithmetic_excess_k(*STANDARD_POINT)
    )
    return np.asarray(asked / rated)[()]


def output_share(excess_k: ArrayLike, exponent: ArrayLike, *, rated_excess_k: ArrayLike = 50.0) -> FloatArray:
    """Output over the rated one.

    Parameters
    ----------
    excess_k : array_like, any shape
        ΔT, 0 to 130 K, of the same kind of mean as the rated one.
    exponent : array_like, broadcastable
        n of the radiator, 1 to 1.6.
    rated_excess_k : array_like, broadcastable
        ΔT_n, 5 to 100 K; 50 arithmetic, 49.833 logarithmic at the standard point of 75/65/20.

    Returns
    -------
    ndarray of float64, broadcast shape
        (ΔT / ΔT_n)^n.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    EN 442-2, characteristic equation.

    Examples
    --------
    >>> output_share(30.0, 1.3).round(4)
    np.float64(0.5148)
    """
    excess = require_within("excess_k", excess_k, 0.0, 130.0)
    n = require_within("exponent", exponent, 1.0, 1.6)
    return (excess / require_within("rated_excess_k", rated_excess_k, 5.0, 100.0)) ** n


def water_flow_kg_h(output_w: ArrayLike, drop_k: ArrayLike) -> FloatArray:
    """Water that gives off an output while it cools by a drop.

    Parameters
    ----------
    output_w : array_like, any shape
        0 to 1e6 W.
    drop_k : array_like, broadcastable
        Flow less return, 0 to 110 K.

    Returns
    -------
    ndarray of float64, broadcast shape
        Φ / (c_p ΔT) in kg/h; infinite without a drop.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    Energy balance with c_p = 4186 J/(kg K).

    Examples
    --------
    >>> water_flow_kg_h(1500.0, 10.0).round(1)
    np.float64(129.0)
    """
    output = require_within("output_w", output_w, 0.0, 1e6)
    drop = require_within("drop_k", drop_k, 0.0, 110.0)
    with np.errstate(divide="ignore", invalid="ignore"):
        return output / (WATER_J_KGK * drop) * 3600.0


def return_at_flow_degc(
    flow_share: ArrayLike,
    flow_degc: ArrayLike,
    design_return_degc: ArrayLike,
    room_degc: ArrayLike,
    exponent: ArrayLike,
) -> FloatArray:
    """Return temperature of a radiator that gets more or less water than it was designed for.

    Parameters
    ----------
    flow_share : array_like, broadcastable
        Water over that of the design, 0.01 to 20.
    flow_degc, design_return_degc, room_degc : array_like, broadcastable
        -20 to 130 °C; flow above design return, design return above room.
    exponent : array_like, broadcastable
        n, 1 to 1.6.

    Returns
    -------
    ndarray of float64, broadcast shape
        Solution r of f (s - r) / (s - r_n) = (ΔT_log / ΔT_log,n)^n.

    Raises
    ------
    OutOfDomain
        An input lies outside its range, or temperatures stand in another order.

    Source
    ------
    Energy balance of the water with EN 442-2's characteristic equation.

    Examples
    --------
    Half the water, four fifths of the output:

    >>> back = return_at_flow_degc(0.5, 80.0, 60.0, 20.0, 1.3)
    >>> back.round(2), (0.5 * (80.0 - back) / 20.0).round(3)
    (np.float64(47.73), np.float64(0.807))
    """
    share = require_within("flow_share", flow_share, 0.01, 20.0)
    n = require_within("exponent", exponent, 1.0, 1.6)
    flow, designed, room = _temperatures(flow_degc, design_return_degc, room_degc)
    into, out = _above_room(flow, designed, room)
    drop = require_within(say("physics.name.design-drop"), into - out, 0.1, 110.0)
    rated = _logarithmic_mean(into, require_within(say("physics.name.design-return"), out, 0.1, 130.0))
    low, high = np.broadcast_arrays(np.zeros_like(share * drop * n), into)
    low, high = np.array(low), np.array(high)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        # Water still gives off more than the radiator can: its return is warmer than this.
        is_colder = share * (into - middle) / drop > (_logarithmic_mean(into, middle) / rated) ** n
        low, high = np.where(is_colder, middle, low), np.where(is_colder, high, middle)
    return (room + np.where(np.isnan(share * drop * n), np.nan, (low + high) / 2.0))[()]


def room_heat_load_w(
    transmission_w_k: ArrayLike,
    volume_m3: ArrayLike,
    air_change_per_hour: ArrayLike,
    room_degc: ArrayLike,
    outdoor_degc: ArrayLike,
) -> FloatArray:
    """Heat that keeps a room at its temperature on a steady cold day.

    Parameters
    ----------
    transmission_w_k : array_like, broadcastable
        Sum of area × transmittance × share of the outdoor difference, 0 to 1e5 W/K.
    volume_m3 : array_like, broadcastable
        Of the air, 0 to 1e6 m³.
    air_change_per_hour : array_like, broadcastable
        With outdoor air, 0 to 20.
    room_degc, outdoor_degc : array_like, broadcastable
        -60 to 60 °C.

    Returns
    -------
    ndarray of float64, broadcast shape
        (H_T + 0.34 n V) (θ_i - θ_e) in W, without gains and without power for warming up.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    EN 12831, simplified room by room, from memory.

    Examples
    --------
    >>> room_heat_load_w(30.0, 50.0, 0.5, 20.0, -10.0)
    np.float64(1155.0)
    """
    transmission = require_within("transmission_w_k", transmission_w_k, 0.0, 1e5)
    volume = require_within("volume_m3", volume_m3, 0.0, 1e6)
    change = require_within("air_change_per_hour", air_change_per_hour, 0.0, 20.0)
    room = require_within("room_degc", room_degc, -60.0, 60.0)
    outdoor = require_within("outdoor_degc", outdoor_degc, -60.0, 60.0)
    return (transmission + AIR_WH_M3K * change * volume) * (room - outdoor)


def heat_into_wall_w_m2(
    radiator_degc: ArrayLike,
    room_degc: ArrayLike,
    outdoor_degc: ArrayLike,
    transmittance_w_m2k: ArrayLike,
    *,
    emissivity: ArrayLike = 0.9,
    lining_m2k_w: ArrayLike = 0.0,
    convective_w_m2k: ArrayLike = 4.0,
) -> FloatArray:
    """Heat that goes out through each square metre of wall behind a radiator.

    The back of the radiator radiates onto the wall, and air half as warm above the room rises between them.

    Parameters
    ----------
    radiator_degc : array_like, broadcastable
        Mean temperature of its back, -20 to 130 °C.
    room_degc, outdoor_degc : array_like, broadcastable
        -60 to 60 °C.
    transmittance_w_m2k : array_like, broadcastable
        U of the bare wall with 0.13 m²K/W inside, 0.02 to 6 W/(m²K).
    emissivity : array_like, broadcastable
        Of the wall's face behind the radiator, 0.02 to 1; a bright lining has 0.05 to 0.1.
    lining_m2k_w : array_like, broadcastable
        Thermal resistance of a lining, 0 to 10 m²K/W.
    convective_w_m2k : array_like, broadcastable
        Between the rising air and the wall, 0 to 20 W/(m²K).

    Returns
    -------
    ndarray of float64, broadcast shape
        In W/m².

    Raises
    ------
    OutOfDomain
        An input lies outside its range.

    Source
    ------
    Heat balance of the wall's face: linearised radiation between parallel planes (0.9 on the radiator's
    side) and convection; own choice of the rising air's temperature.

    Examples
    --------
    >>> heat_into_wall_w_m2(50.0, 20.0, -5.0, 1.4).round(), heat_into_wall_w_m2(50.0, 20.0, -5.0, 0.2).round()
    (np.float64(70.0), np.float64(10.0))
    """
    radiator = require_within("radiator_degc", radiator_degc, -20.0, 130.0)
    room = require_within("room_degc", room_degc, -60.0, 60.0)
    outdoor = require_within("outdoor_degc", outdoor_degc, -60.0, 60.0)
    u = require_within("transmittance_w_m2k", transmittance_w_m2k, 0.02, 6.0)
    seen = 1.0 / (1.0 / require_within("emissivity", emissivity, 0.02, 1.0) + 1.0 / 0.9 - 1.0)
    lining = require_within("lining_m2k_w", lining_m2k_w, 0.0, 10.0)
    convective = require_within("convective_w_m2k", convective_w_m2k, 0.0, 20.0)
    kelvin = (radiator + room) / 2.0 + _ZERO_KELVIN
    radiative = 4.0 * _STEFAN_BOLTZMANN * kelvin**3 * seen
    rising = room + (radiator - room) / 2.0
    onto = radiative + convective
    driving = (radiative * radiator + convective * rising) / onto
    return (driving - outdoor) / (1.0 / u - 0.13 + lining + 1.0 / onto)


def _temperatures(*given: ArrayLike) -> tuple[FloatArray, FloatArray, FloatArray]:
    names = ("flow_degc", "return_degc", "room_degc")
    flow, back, room = (require_within(n, v, -20.0, 130.0) for n, v in zip(names, given, strict=True))
    return flow, back, room


def _above_room(flow: FloatArray, back: FloatArray, room: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Excess of flow and return, in their order."""
    require_within(say("physics.name.flow-less-return"), flow - back, 0.0, 150.0)
    out = require_within(say("physics.name.return-less-room"), back - room, 0.0, 150.0)
    return np.asarray(flow - room), out


def _logarithmic_mean(into: FloatArray, out: FloatArray) -> FloatArray:
    """Logarithmic mean of two numbers that are not negative, smooth where they meet."""
    into, out = np.broadcast_arrays(into, out)
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = (into - out) / np.maximum(out, _SMALLEST_EXCESS_K)
        mean = np.where(ratio < 1e-6, (into + out) / 2.0, (into - out) / np.log1p(ratio))
    return np.where(out <= 0.0, 0.0 * into, mean)[()]
