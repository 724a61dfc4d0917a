"""Circuits with their marks: what was seen of each, under which current, in which air."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.surroundings import half_width, room_air
from thermalkit.imaging.mark import Mark
from thermalkit.measured import FloatArray
from thermalkit.site.sections.cabinets import CabinetKeys, CircuitKeys

ROLES = ("terminal", "conductor", "device")
STEPS_OF_ROLES = {"terminal": "terminals", "conductor": "conductors", "device": "devices"}
LIKE_LOAD = 1.25  # own choice: loads within a quarter of each other are alike


@dataclass(frozen=True, slots=True, kw_only=True)
class Way:
    """One conductor of a circuit with its device, and its marks by role on the first frame it is on.

    `again` holds its terminals on further frames.
    """

    circuit: CircuitKeys
    cabinet: CabinetKeys
    marks: Mapping[str, Mark] = field(default_factory=dict)
    again: tuple[Mark, ...] = ()

    @property
    def id(self) -> str:
        """The circuit's id."""
        return self.circuit.id

    @property
    def label(self) -> str:
        """Cabinet and circuit, for the client."""
        return f"{self.cabinet.label} / {self.circuit.label}"

    @property
    def first(self) -> Mark | None:
        """The mark the place is shown by."""
        return next((self.marks[role] for role in ROLES if role in self.marks), None)

    @property
    def is_seen(self) -> bool:
        """Whether its parts were seen, not a cover."""
        return bool(self.marks) and self.cabinet.seen != "opaque cover"


def ways(case: Case) -> tuple[Way, ...]:
    """Every circuit of the site in its order; those without a mark too."""
    cabinets = {item.id: item for item in case.site.sections(CabinetKeys)}
    circuits = case.site.sections(CircuitKeys)
    ids = [item.id for item in circuits]
    owned: dict[str, list[Mark]] = {id: [] for id in ids}
    for mark in _drawn(case):
        owner = owner_of(mark.id, ids)
        if owner is not None:
            owned[owner].append(mark)
    return tuple(
        _way(circuit, cabinets[circuit.cabinet], owned[circuit.id], tuple(case.site.frames))
        for circuit in circuits
    )


def unnamed(case: Case) -> tuple[Mark, ...]:
    """Marks that belong to no circuit."""
    ids = [item.id for item in case.site.sections(CircuitKeys)]
    return tuple(mark for mark in _drawn(case) if owner_of(mark.id, ids) is None)


def owner_of(mark: str, circuits: list[str]) -> str | None:
    """The circuit whose id a mark's name is or begins with, as a word of its own.

    Examples
    --------
    >>> owner_of("F1.2 cable", ["F1", "F1.2"]), owner_of("F12", ["F1"])
    ('F1.2', None)
    """
    return next(
        (id for id in sorted(circuits, key=len, reverse=True) if f"{mark} ".startswith(f"{id} ")), None
    )


def _drawn(case: Case) -> Iterator[Mark]:
    for step in STEPS_OF_ROLES.values():
        yield from case.decided.get(step, ())


def _way(circuit: CircuitKeys, cabinet: CabinetKeys, marks: list[Mark], frames: tuple[str, ...]) -> Way:
    ordered = sorted(marks, key=lambda mark: frames.index(mark.frame))
    if not ordered:
        return Way(circuit=circuit, cabinet=cabinet)
    home = ordered[0].frame
    roles = {mark.role: mark for mark in reversed(ordered) if mark.frame == home}
    again = tuple(mark for mark in ordered if mark.role == "terminal" and mark.frame != home)
    return Way(circuit=circuit, cabinet=cabinet, marks=roles, again=again)


def current_a(case: Case, way: Way) -> FloatArray | None:
    """True effective current during the frame, shape (draws,); None where it was not measured."""
    circuit = way.circuit
    read = circuit.measured_current_a
    if read is None or read <= 0.0:
        return None
    meter = case.site.keys.instruments[circuit.instrument] if circuit.instrument else None
    percent = meter.accuracy_percent if meter is not None and meter.accuracy_percent is not None else None
    width = (case.assumed("clamp-accuracy").half_width if percent is None else percent) / 100.0
    again = case.assumed("clamp-repeat").half_width / 100.0
    drawn = read * (1.0 + case.draws.rectangular(f"clamp-accuracy {circuit.instrument or 'unnamed'}", width))
    drawn = drawn * (1.0 + case.draws.rectangular(f"clamp-repeat {circuit.id}", again))
    if circuit.true_rms == "no":
        row = case.assumed("clamp-not-true-rms")
        drawn = drawn * case.draws.between(f"clamp-not-true-rms {circuit.id}", row.low, row.high)
    return drawn


def air_degc(case: Case, way: Way) -> FloatArray | None:
    """Air at the parts of a cabinet, shape (draws,); None where neither it nor the room's was read."""
    cabinet = way.cabinet
    at_place = case.assumed("cabinet-air-at-place")
    off = case.draws.rectangular(f"cabinet-air-at-place {cabinet.id}", at_place.half_width)
    if cabinet.air_temperature_degc is not None:
        read = cabinet.air_temperature_degc
        meter = case.site.keys.instruments[cabinet.instrument] if cabinet.instrument else None
        width = half_width(case, meter, "air-temperature-accuracy", read)
        name = f"air-temperature-accuracy {cabinet.instrument or 'unnamed'}"
        return read + case.draws.rectangular(name, width) + off
    room = next((item for item in case.site.keys.rooms if item.id == cabinet.room), None)
    air = room_air(case, room)
    if air is None:
        return None
    row = case.assumed("room-air-for-cabinet")
    return (
        air.temperature_degc
        + case.draws.between(f"room-air-for-cabinet {cabinet.id}", row.low, row.high)
        + off
    )


def load_share(way: Way) -> float | None:
    """Measured current as a fraction of the rated one."""
    circuit = way.circuit
    if circuit.measured_current_a is None or circuit.rated_current_a is None:
        return None
    return circuit.measured_current_a / circuit.rated_current_a


def peers(way: Way, others: tuple[Way, ...]) -> tuple[Way, ...]:
    """Seen ways of the same cabinet with the same rating and conductor, whatever they carry."""
    own = way.circuit
    return tuple(
        other
        for other in others
        if other.id != way.id
        and other.is_seen
        and other.cabinet.id == way.cabinet.id
        and other.circuit.rated_current_a == own.rated_current_a
        and other.circuit.conductor_mm2 == own.conductor_mm2
    )


def like_ways(way: Way, others: tuple[Way, ...]) -> tuple[Way, ...]:
    """Peers under like load; where neither's load was measured it is taken to be alike."""
    return tuple(other for other in peers(way, others) if _is_like_load(way.circuit, other.circuit))


def _is_like_load(one: CircuitKeys, other: CircuitKeys) -> bool:
    if one.measured_current_a is None or other.measured_current_a is None:
        return one.measured_current_a is other.measured_current_a
    if one.measured_current_a == other.measured_current_a:
        return True
    low, high = sorted((one.measured_current_a, other.measured_current_a))
    return low > 0.0 and high / low <= LIKE_LOAD


def middle(draws: FloatArray | None) -> float | None:
    """Median of draws."""
    return None if draws is None else float(np.median(draws))
