"""The difference of two frames of one wall, taken on two days."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.earlier import Earlier
from thermalkit.diagnosis.overlay import Overlay, overlay
from thermalkit.diagnosis.surface import FrameTemperatures, nominal_surface_degc
from thermalkit.diagnosis.surroundings import outdoor_degc, room_air
from thermalkit.diagnosis.visits import is_weather_alike
from thermalkit.imaging.alignment import warped
from thermalkit.measured import FloatArray

_BAR_TAIL_PERCENT = 0.5
_LEAST_DIFFERENCE_K = 3.0  # between indoors and outdoors; below it shares say nothing


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Compared:
    """The later visit less the earlier one, on the later frame; NaN where the earlier one does not reach.

    In `unit` "K" where the weather was alike; else in "%" of what indoors and outdoors differ by: 0 % is as
    cold as outdoors, 100 % as warm as the room, so that days of any weather compare.
    """

    values: FloatArray
    unit: str
    over: Overlay

    def as_frame(self) -> FrameTemperatures:
        """For the picture."""
        return FrameTemperatures(surface_degc=self.values, table=())


def shared_bar(before_degc: FloatArray, after_degc: FloatArray) -> dict[str, float]:
    """One bar for both pictures, the same temperature in the same colour."""
    both = np.concatenate([before_degc.ravel(), after_degc.ravel()])
    low, high = np.nanpercentile(both, [_BAR_TAIL_PERCENT, 100.0 - _BAR_TAIL_PERCENT])
    return {"low": round(float(low), 1), "high": round(float(high), 1)}


def compared_frames(case: Case, earlier: Earlier, frame: str) -> Compared | None:
    """The difference of a frame of both visits.

    Returns
    -------
    Compared or None
        None where one cannot be laid over the other, or where the weather differed and no temperature
        indoors or outdoors is known to relate the pictures to.
    """
    over = overlay(case.site, earlier.case.site, frame)
    if over is None:
        return None
    now, then = (nominal_surface_degc(visit, frame) for visit in (case, earlier.case))
    unit = "K"
    if not is_weather_alike(case.site, earlier.case.site, case.site.frames[frame].keys.room):
        shares = (_share_percent(visit, frame, at) for visit, at in ((case, now), (earlier.case, then)))
        first, second = shares
        if first is None or second is None:
            return None
        now, then, unit = first, second, "%"
    under = warped(then, over.alignment, (now.shape[0], now.shape[1]))
    return Compared(values=now - under, unit=unit, over=over)


def _share_percent(case: Case, frame: str, surface_degc: FloatArray) -> FloatArray | None:
    seen = case.site.frames[frame]
    air, outdoor = room_air(case, seen.room), outdoor_degc(case, seen)
    if air is None or outdoor is None:
        return None
    inner, outer = float(np.median(air.temperature_degc)), float(np.median(outdoor))
    if abs(inner - outer) < _LEAST_DIFFERENCE_K:
        return None
    return np.asarray(100.0 * (surface_degc - outer) / (inner - outer))
