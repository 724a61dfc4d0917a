"""Surface temperatures of a frame as draws.

What all pixels of a frame share (offset of the camera, emissivity, reflected temperature) is drawn by
the frame's name and cancels in differences; noise and unevenness are drawn by the mark's. A reference
reading replaces the camera's stated accuracy by its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from thermalkit.diagnosis.memo import kept
from thermalkit.diagnosis.surroundings import half_width, room_air
from thermalkit.errors import OutOfDomain
from thermalkit.imaging.mark import Mark, mark_mask
from thermalkit.imaging.statistics import MarkStatistics, mark_statistics
from thermalkit.language import say
from thermalkit.measured import COVERAGE, FloatArray
from thermalkit.physics.radiation import (
    apparent_temperature_degc,
    frame_surface_temperature_degc,
    surface_temperature_degc,
)

if TYPE_CHECKING:
    from thermalkit.diagnosis.decisions import Case
    from thermalkit.site.model import ReferenceKeys
    from thermalkit.site.survey import SurveyFrame

BAND_UM = (7.5, 14.0)
HIGHEST_EMISSIVITY = 0.99
SPOT_PIXELS = 9
NOT_CHOSEN = "open"


@dataclass(frozen=True, slots=True, kw_only=True)
class View:
    """One frame with the uncertain settings that all its pixels share; arrays of shape (draws,)."""

    frame: SurveyFrame
    emissivity: FloatArray
    reflected_degc: FloatArray
    offset_k: FloatArray
    band_um: tuple[float, float]
    strip_ends_k: tuple[FloatArray, FloatArray] | None = None

    def strip_k(self, apparent_degc: FloatArray | float) -> FloatArray | float:
        """What the ends of a coloured picture's strip are off by there, shape (draws,); else 0."""
        if self.frame.strip is None or self.strip_ends_k is None:
            return 0.0
        return self.frame.strip.off_k(apparent_degc, *self.strip_ends_k)

    def surface_degc(self, apparent_degc: FloatArray | float) -> FloatArray:
        """Surface temperature of an apparent one, shape (draws,) or (..., draws)."""
        return surface_temperature_degc(
            apparent_degc + self.strip_k(apparent_degc) - self.offset_k,
            self.emissivity,
            self.reflected_degc,
            band_um=self.band_um,
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class FrameTemperatures:
    """A frame as it is shown: surface temperatures and their interval by temperature."""

    surface_degc: FloatArray
    table: tuple[tuple[float, float, float], ...]


def view(case: Case, frame_id: str) -> View:
    """The frame's uncertain settings, its offset corrected by its reference readings."""
    touching = _touching(case, frame_id)
    return kept(case, ("view", frame_id, tuple(mark for _, mark in touching)), lambda: _view(case, frame_id))


def _view(case: Case, frame_id: str) -> View:
    frame = case.site.frames[frame_id]
    band_um = (frame.camera.band_um if frame.camera else None) or BAND_UM
    settled = View(
        frame=frame,
        emissivity=_emissivity(case, frame),
        reflected_degc=_reflected_degc(case, frame),
        offset_k=np.zeros(case.draws.size),
        band_um=band_um,
        strip_ends_k=_strip_ends_k(case, frame),
    )
    offsets = [_offset_by_reference(case, settled, *item) for item in _touching(case, frame_id)]
    offset_k = np.mean(offsets, axis=0) if offsets else _offset_as_specified(case, frame)
    return View(
        frame=frame,
        emissivity=settled.emissivity,
        reflected_degc=settled.reflected_degc,
        offset_k=offset_k,
        band_um=band_um,
        strip_ends_k=settled.strip_ends_k,
    )


def statistics_of(case: Case, mark: Mark) -> MarkStatistics:
    """Apparent temperatures within a mark."""
    frame = case.site.frames[mark.frame]
    mask = mark_mask(mark, frame.apparent_degc.shape)
    return mark_statistics(frame.apparent_degc, mask, pixel_scale=round(frame.pixel_scale))


def spot_degc(case: Case, seen: View, apparent_degc: float, place: str) -> FloatArray:
    """Surface temperature of a measurable spot (3 x 3 detector pixels) at a named place, shape (draws,)."""
    return seen.surface_degc(spot_apparent_degc(case, seen, apparent_degc, place))


def spot_apparent_degc(case: Case, seen: View, apparent_degc: float, place: str) -> FloatArray:
    """Apparent temperature of such a spot, noise and unevenness taken into account, shape (draws,)."""
    frame = seen.frame.keys.id
    uniformity = _camera_value(case, seen.frame, "uniformity_k", "camera-uniformity")
    noise = _camera_value(case, seen.frame, "noise_k", "camera-noise") / np.sqrt(SPOT_PIXELS)
    return (
        apparent_degc
        + _strip_step_k(case, seen.frame, apparent_degc, place)
        + case.draws.rectangular(f"camera-uniformity {frame} {place}", uniformity)
        + case.draws.normal(f"camera-noise {frame} {place}", noise)
    )


def nominal_surface_degc(case: Case, frame_id: str) -> FloatArray:
    """Most likely surface temperature of each pixel, shape (rows, columns), °C, NaN where masked."""
    with naming(case, frame_id):
        seen = view(case, frame_id)
        return frame_surface_temperature_degc(
            seen.frame.apparent_degc - float(np.median(seen.offset_k)),
            float(np.median(seen.emissivity)),
            float(np.median(seen.reflected_degc)),
            band_um=seen.band_um,
        )


@contextmanager
def naming(case: Case, frame_id: str, mark: str = "") -> Iterator[None]:
    """Put file, frame and mark in front of what a formula says about a number of theirs.

    Raises
    ------
    OutOfDomain
        A number lies where the formulas do not hold.
    """
    try:
        yield
    except OutOfDomain as error:
        frame = say("diagnosis.frame", file=case.site.frames[frame_id].path, frame=frame_id)
        place = say("diagnosis.mark", frame=frame, mark=mark) if mark else frame
        raise OutOfDomain(say("diagnosis.outside", place=place, said=error.said)) from error


def frame_temperatures(case: Case, frame_id: str) -> FrameTemperatures:
    """What a reader of the picture sees under the cursor, with its 95 % interval."""
    seen = view(case, frame_id)
    apparent = seen.frame.apparent_degc
    tail = (1.0 - COVERAGE) / 2.0
    rows = []
    for value in np.linspace(np.nanmin(apparent), np.nanmax(apparent), 9):
        low, middle, high = np.nanquantile(
            spot_degc(case, seen, float(value), "cursor"), [tail, 0.5, 1.0 - tail]
        )
        rows.append((float(middle), float(low), float(high)))
    return FrameTemperatures(surface_degc=nominal_surface_degc(case, frame_id), table=tuple(rows))


def reference_disagrees(case: Case, frame_id: str) -> bool:
    """Whether the reference readings of a frame ask for more than the camera's stated accuracy."""
    if not _touching(case, frame_id):
        return False
    correction = view(case, frame_id).offset_k
    stated = np.max(np.abs(_offset_as_specified(case, case.site.frames[frame_id])))
    return bool(np.quantile(np.abs(correction), (1.0 - COVERAGE) / 2.0) > stated)


def _emissivity(case: Case, frame: SurveyFrame) -> FloatArray:
    name = f"emissivity {frame.keys.id}"
    if frame.keys.values == "surface":
        return np.ones(case.draws.size)
    if (chosen := _chosen_emissivity(case)) is not None:
        return np.full(case.draws.size, chosen)
    if frame.keys.emissivity is None:
        row = case.assumed("emissivity")
        return case.draws.between(name, row.low, row.high)
    width = case.assumed("emissivity-stated").half_width
    draws = frame.keys.emissivity + case.draws.rectangular(name, width)
    return np.clip(draws, 0.01, max(HIGHEST_EMISSIVITY, frame.keys.emissivity))


def _chosen_emissivity(case: Case) -> float | None:
    """An emissivity that was asked for and decided, as a learner's is; it stands as chosen."""
    chosen = case.decided.get("emissivity")
    return None if chosen in (None, NOT_CHOSEN) else float(chosen)


def _reflected_degc(case: Case, frame: SurveyFrame) -> FloatArray:
    """Measured, else from a foil on the frame, else the room's air."""
    name = f"reflected-temperature {frame.keys.id}"
    foils = [
        r.temperature_degc for r in case.site.keys.references if r.frame == frame.keys.id and r.kind == "foil"
    ]
    stated = frame.keys.reflected_temperature_degc
    if stated is None and foils:
        stated = float(np.mean(foils))
    if stated is not None:
        width = case.assumed("reflected-temperature-stated").half_width
        return stated + case.draws.rectangular(name, width)
    air = room_air(case, frame.room)
    around = (
        float(np.nanmedian(frame.apparent_degc)) if air is None else float(np.median(air.temperature_degc))
    )
    return around + case.draws.rectangular(name, case.assumed("reflected-temperature").half_width)


def _offset_as_specified(case: Case, frame: SurveyFrame) -> FloatArray:
    typical = float(np.nanmedian(frame.apparent_degc))
    width = half_width(case, frame.camera, "camera-accuracy", typical)
    return case.draws.rectangular(f"camera-accuracy {frame.keys.id}", width)


def _touching(case: Case, frame_id: str) -> list[tuple[ReferenceKeys, Mark]]:
    """Readings of the true temperature of a marked place on the frame, with the place.

    A reading whose mark is not drawn yet waits.
    """
    readings = [r for r in case.site.keys.references if r.frame == frame_id and r.kind != "foil"]
    marks = {mark.id: mark for mark in _marks_of(case, frame_id)}
    return [(item, marks[item.mark]) for item in readings if item.mark in marks]


def _marks_of(case: Case, frame_id: str) -> list[Mark]:
    """Marks of the site file, then those decided, which take the place of one of the same name."""
    written = [
        Mark(frame=m.frame, id=m.id, shape=m.shape, points=m.points, role=m.role)
        for m in case.site.marks(frame_id)
    ]
    decided = [mark for step in ("suspect", "sound") for mark in case.decided.get(step, ())]
    return written + [mark for mark in decided if mark.frame == frame_id]


def _offset_by_reference(case: Case, seen: View, reference: ReferenceKeys, mark: Mark) -> FloatArray:
    """Apparent temperature seen at the reference less what it should have been, shape (draws,)."""
    read = reference.temperature_degc
    meter = case.site.keys.instruments[reference.instrument] if reference.instrument else None
    width = half_width(case, meter, "contact-accuracy", read)
    true_degc = read + case.draws.rectangular(f"contact-accuracy {reference.frame} {mark.id}", width)
    expected = apparent_temperature_degc(
        true_degc, seen.emissivity, seen.reflected_degc, band_um=seen.band_um
    )
    mean_degc = statistics_of(case, mark).mean_degc
    off_k = seen.strip_k(mean_degc) + _strip_step_k(case, seen.frame, mean_degc, mark.id)
    return mean_degc + off_k - expected


def _strip_ends_k(case: Case, frame: SurveyFrame) -> tuple[FloatArray, FloatArray] | None:
    """Rounding and place of the two ends of a strip, which all pixels of the frame share."""
    if frame.strip is None:
        return None
    cold_k, warm_k = frame.strip.ends_k
    name = f"strip-{{}}-end {frame.keys.id}".format
    return case.draws.rectangular(name("cold"), cold_k), case.draws.rectangular(name("warm"), warm_k)


def _strip_step_k(case: Case, frame: SurveyFrame, apparent_degc: float, place: str) -> FloatArray | float:
    """What the steps of its colours leave open of a spot."""
    if frame.strip is None:
        return 0.0
    return case.draws.rectangular(f"strip-step {frame.keys.id} {place}", frame.strip.step_at(apparent_degc))


def _camera_value(case: Case, frame: SurveyFrame, key: str, assumed: str) -> float:
    stated = getattr(frame.camera, key) if frame.camera is not None else None
    return float(stated) if stated is not None else case.assumed(assumed).high
