"""What a room loses, and what its radiators give it on the design day."""

from __future__ import annotations

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.heating.radiators.reading import exponent, rated_w
from thermalkit.diagnosis.heating.radiators.subject import COOLED, Radiator, heating, radiators
from thermalkit.measured import FloatArray
from thermalkit.physics.emitters import room_heat_load_w, standard_ratio
from thermalkit.site.model import RoomKeys
from thermalkit.site.sections.radiators import HeatLossKeys

ROOM_DEGC, BATH_DEGC = 20.0, 24.0
DROP_SHARE = 0.28  # common practice: 75/65, 55/45, 45/38, 35/31 at 20 °C
_BATH_WORDS = ("bath", "bad", "shower", "dusche")


def heat_loss_w_k(case: Case, room: RoomKeys) -> FloatArray | None:
    """Heat a room loses per kelvin, shape (draws,): from its parts, a stated load, else its floor area."""
    parts = [part for part in case.site.sections(HeatLossKeys) if part.room == room.id]
    stated = _assumed(case, "stated-losses", room.id) if parts else np.ones(case.draws.size)
    outdoor = design_outdoor_degc(case)
    load = next((part.load_w for part in parts if part.load_w is not None), None)
    if load is not None and outdoor is not None:
        return load * stated / (design_room_degc(room) - outdoor)
    conductance = sum(
        part.area_m2 * part.transmittance_w_m2k * part.share
        for part in parts
        if part.area_m2 is not None and part.transmittance_w_m2k is not None
    )
    if conductance and (volume := _volume_m3(case, room)) is not None:
        change = _assumed(case, "air-change", room.id)
        return room_heat_load_w(conductance * stated, volume, change, 20.0, 19.0)
    if room.floor_area_m2 is None:
        return None
    return room.floor_area_m2 * _assumed(case, "heat-loss-per-floor-area", "house")


def design_outdoor_degc(case: Case) -> float | None:
    """Outdoors on the design day, where it was written down."""
    climate = case.site.keys.climate
    return climate.design_winter_temperature_degc if climate is not None else None


def design_room_degc(room: RoomKeys) -> float:
    """20 °C, in bathrooms 24 °C (EN 12831, from memory)."""
    words = f"{room.id} {room.name or ''} {room.use or ''}".lower()
    return BATH_DEGC if any(word in words for word in _BATH_WORDS) else ROOM_DEGC


def usual_return_degc(flow_degc: float) -> float:
    """Return that usually belongs to a flow."""
    return flow_degc - DROP_SHARE * (flow_degc - ROOM_DEGC)


def room_output_w(case: Case, room: RoomKeys, flow_degc: float, return_degc: float) -> FloatArray | None:
    """Output of all radiators of a room at these water temperatures, once they work as they should."""
    items = radiators_of(case, room)
    rated = [rated_w(case, item) for item in items]
    if not items or any(value is None for value in rated):
        return None
    inside = design_room_degc(room)
    ratio = float(standard_ratio(max(flow_degc, inside), max(return_degc, inside), inside))
    shares = (ratio ** exponent(case, item) for item in items)
    return np.asarray(
        sum(value * share for value, share in zip(rated, shares, strict=True) if value is not None)
    )


def design_cover(case: Case, room: RoomKeys) -> FloatArray | None:
    """Output over heat load on the design day at the design flow, shape (draws,)."""
    known = heating(case)
    if known.design_flow_degc is None:
        return None
    back = known.design_return_degc or usual_return_degc(known.design_flow_degc)
    return cover_at(case, room, known.design_flow_degc, back)


def cover_at(case: Case, room: RoomKeys, flow_degc: float, return_degc: float) -> FloatArray | None:
    """Output over heat load at a flow and return on the design day, shape (draws,)."""
    loss, outdoor = heat_loss_w_k(case, room), design_outdoor_degc(case)
    given = room_output_w(case, room, flow_degc, return_degc)
    if loss is None or outdoor is None or given is None:
        return None
    return given / (loss * (design_room_degc(room) - outdoor))


def flow_needed_degc(case: Case, room: RoomKeys, load: FloatArray) -> FloatArray:
    """Lowest flow, with its usual return, at which the radiators give the load."""
    items = radiators_of(case, room)
    rated = sum((value for item in items if (value := rated_w(case, item)) is not None), np.zeros(1))
    n = exponent(case, items[0])
    inside = design_room_degc(room)
    mean_k = 50.0 * (load / rated) ** (1.0 / n)
    # Arithmetic mean of flow and usual return above the room, solved for the flow.
    usual = (mean_k + inside - DROP_SHARE / 2.0 * ROOM_DEGC) / (1.0 - DROP_SHARE / 2.0)
    return np.asarray(np.clip(usual, inside, 110.0))


def radiators_of(case: Case, room: RoomKeys) -> list[Radiator]:
    """The heated ones of a room."""
    return [
        item
        for item in radiators(case)
        if item.room is not None and item.room.id == room.id and item.keys.type != COOLED
    ]


def _volume_m3(case: Case, room: RoomKeys) -> FloatArray | float | None:
    if room.volume_m3 is not None:
        return room.volume_m3
    if room.floor_area_m2 is None:
        return None
    return room.floor_area_m2 * _assumed(case, "room-height", room.id)


def _assumed(case: Case, name: str, detail: str) -> FloatArray:
    row = case.assumed(name)
    return case.draws.between(f"{name} {detail}", row.low, row.high)
