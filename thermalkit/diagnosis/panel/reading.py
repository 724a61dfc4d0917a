"""What each way shows: temperatures of terminal, device and conductor, as draws.

Bright metal mirrors its surroundings: below an emissivity of 0.5 no temperature is given, whatever the
picture shows. A window counts by what it lets through.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.panel.along import Along, along
from thermalkit.diagnosis.panel.ways import Way, air_degc, current_a
from thermalkit.diagnosis.surface import View, naming, spot_apparent_degc, statistics_of, view
from thermalkit.imaging.mark import Mark
from thermalkit.measured import FloatArray

LOWEST_EMISSIVITY = 0.5  # common practice: mostly a mirror below
HIGHEST_EMISSIVITY = 0.99


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """Draws of shape (draws,), None where nothing can be given."""

    way: Way
    air_degc: FloatArray | None
    current_a: FloatArray | None
    terminal_degc: FloatArray | None
    device_degc: FloatArray | None
    along: Along | None
    is_bright: bool

    @property
    def hottest_degc(self) -> FloatArray | None:
        """Hottest metal of the conductor: at its terminal, else where it could be followed."""
        found = [
            item
            for item in (self.terminal_degc, self.along.end_degc if self.along else None)
            if item is not None
        ]
        return np.maximum.reduce(found) if found else None


def reading(case: Case, way: Way) -> Reading:
    """Everything that can be read of a way."""
    terminal, device, trace = (way.marks.get(role) for role in ("terminal", "device", "conductor"))
    air, current = air_degc(case, way), current_a(case, way)
    is_bright = is_mirror(case, way, "terminal")
    followed = None
    if trace is not None and way.is_seen and not is_mirror(case, way, "conductor"):
        seen = seen_at(case, way, trace)
        if seen is not None:
            followed = along(case, way, trace, seen, air)
    return Reading(
        way=way,
        air_degc=air,
        current_a=current,
        terminal_degc=None if terminal is None or is_bright else spot_degc(case, way, terminal),
        device_degc=None if device is None else spot_degc(case, way, device),
        along=followed,
        is_bright=is_bright,
    )


def is_mirror(case: Case, way: Way, role: str) -> bool:
    """Whether a place of a way is bright metal: said to be, or of a frame set to a low emissivity."""
    mark = way.marks.get(role)
    if mark is None:
        return False
    if role == "terminal" and mark.id in case.decided.get("bright", ()):
        return True
    if role == "conductor" and way.circuit.insulation == "bare":
        return True
    stated = case.site.frames[mark.frame].emissivity
    return stated is not None and stated < LOWEST_EMISSIVITY


def warmest_apparent_degc(case: Case, mark: Mark) -> float:
    """Apparent temperature of the warmest measurable spot of a mark, else its mean."""
    found = statistics_of(case, mark)
    return found.mean_degc if found.warmest is None else found.warmest.temperature_degc


def spot_degc(case: Case, way: Way, mark: Mark) -> FloatArray | None:
    """Surface temperature at a mark, shape (draws,); None behind what does not let it through."""
    seen = seen_at(case, way, mark)
    if seen is None or not way.is_seen:
        return None
    statistics = statistics_of(case, mark)
    apparent = statistics.mean_degc
    if mark.role == "terminal" and statistics.warmest is not None:
        apparent = statistics.warmest.temperature_degc
    with naming(case, mark.frame, mark.id):
        return seen.surface_degc(spot_apparent_degc(case, seen, apparent, mark.id))


def seen_at(case: Case, way: Way, mark: Mark) -> View | None:
    """The frame's settings with the emissivity of one place; None where it would be below 0.5."""
    seen = view(case, mark.frame)
    emissivity = seen.emissivity
    if seen.frame.keys.values != "surface":
        if mark.role == "terminal" and way.circuit.terminal_surface == "oxidised metal":
            row = case.assumed("oxidised-emissivity")
            emissivity = case.draws.between(f"oxidised-emissivity {mark.frame} {mark.id}", row.low, row.high)
        width = case.assumed("place-emissivity").half_width
        own = case.draws.rectangular(f"place-emissivity {mark.frame} {mark.id}", width)
        emissivity = emissivity + own
    if way.cabinet.seen == "infrared window":
        stated = way.cabinet.window_transmission
        if stated is None:
            return None
        width = case.assumed("window-transmission-stated").half_width
        emissivity = emissivity * (
            stated + case.draws.rectangular(f"window-transmission-stated {way.cabinet.id}", width)
        )
        if float(np.median(emissivity)) < LOWEST_EMISSIVITY:
            return None
    ceiling = max(HIGHEST_EMISSIVITY, float(seen.frame.emissivity or 0.0))
    return replace(seen, emissivity=np.clip(emissivity, 0.01, ceiling))
