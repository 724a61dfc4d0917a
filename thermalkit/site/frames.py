"""From the numbers of a frame's file to apparent temperatures and the size of a pixel."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import timedelta

import numpy as np

from thermalkit.errors import OutOfDomain
from thermalkit.imaging.blended import outlines
from thermalkit.imaging.enlarged import enlarged_from
from thermalkit.imaging.readers.bounds import refusal
from thermalkit.imaging.readers.strip import LEAST_READ, Strip, StripReading
from thermalkit.language import Number, Sentence, say
from thermalkit.measured import FloatArray
from thermalkit.physics.radiation import LONGWAVE_UM, apparent_temperature_degc
from thermalkit.site.model import FrameKeys, InstrumentKeys
from thermalkit.site.problems import shown
from thermalkit.site.sections.clocks import ClockKeys

OUTLINED_SHARE = 0.002
_HOUR_S, _DAY_S = 3600.0, 86_400.0
_SAME_FACTOR = 0.25
_SAME_RATIO = 0.05  # two axes of an enlarged file may differ by this share


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StripScale:
    """What the temperature strip of a coloured picture leaves open, in apparent temperatures.

    `ends_degc` and `ends_k` are the cold and the warm end and their half-widths, shared by all pixels;
    `at_degc` and `step_k` the half-width of a measurable spot, by temperature.
    """

    ends_degc: tuple[float, float]
    ends_k: tuple[float, float]
    at_degc: FloatArray
    step_k: FloatArray

    def off_k(self, apparent_degc: FloatArray | float, cold_k: FloatArray, warm_k: FloatArray) -> FloatArray:
        """Error at a temperature where the ends are off by so much."""
        cold, warm = self.ends_degc
        share = (apparent_degc - cold) / (warm - cold)
        return np.asarray((1.0 - share) * cold_k + share * warm_k)

    def step_at(self, apparent_degc: float) -> float:
        """Half-width of what colours leave open of a spot."""
        return float(np.interp(apparent_degc, self.at_degc, self.step_k))


def strip_of(keys: FrameKeys) -> Strip | None:
    """The strip as a reader wants it."""
    marked = keys.strip
    return (
        None
        if marked is None
        else Strip(
            cold_end=marked.ends[0],
            warm_end=marked.ends[1],
            cold_degc=marked.cold_degc,
            warm_degc=marked.warm_degc,
            rounded_to_k=marked.rounded_to_k,
            area=marked.area,
        )
    )


def strip_scale(keys: FrameKeys, read: StripReading, camera: InstrumentKeys | None) -> StripScale:
    """The same half-widths after the camera's correction was undone."""

    def undone(values: FloatArray) -> FloatArray:
        return without_camera_correction(keys, values, camera)

    degc, step_k = read.steps
    ends = degc[[0, -1]]
    wide = (undone(ends + read.end_k) - undone(ends - read.end_k)) / 2.0
    apparent = undone(ends)
    return StripScale(
        ends_degc=(float(apparent[0]), float(apparent[1])),
        ends_k=(float(wide[0]), float(wide[1])),
        at_degc=undone(degc),
        step_k=(undone(degc + step_k) - undone(degc - step_k)) / 2.0,
    )


def without_camera_correction(
    keys: FrameKeys, values: FloatArray, camera: InstrumentKeys | None
) -> FloatArray:
    """Apparent temperature, as if emissivity 1, whatever the camera had applied.

    Raises
    ------
    OutOfDomain
        Values lie where the camera's forward model does not hold.
    """
    emissivity, reflected = keys.camera_emissivity, keys.camera_reflected_temperature_degc
    if keys.values != "camera-corrected" or emissivity is None or reflected is None:
        return np.array(values, dtype=np.float64)
    band_um = camera.band_um if camera and camera.band_um else LONGWAVE_UM
    return np.array(apparent_temperature_degc(values, emissivity, reflected, band_um=band_um))


def pixel_scale(rows: int, columns: int, camera: InstrumentKeys | None) -> float:
    """File pixels per detector pixel; a camera held upright swaps its sides.

    Raises
    ------
    OutOfDomain
        Rows and columns were enlarged by different factors.
    """
    if camera is None or camera.rows is None or camera.columns is None:
        return 1.0
    sides = (camera.rows, camera.columns)
    if (rows > columns) != (sides[0] > sides[1]) and rows != columns:
        sides = (sides[1], sides[0])
    down, across = rows / sides[0], columns / sides[1]
    if max(down, across) <= 1.0:
        return 1.0
    if abs(down - across) > _SAME_RATIO * max(down, across):
        own = {"own_rows": sides[0], "own_columns": sides[1]}
        raise OutOfDomain(say("site.frame.other-shape", rows=rows, columns=columns, **own))
    return math.sqrt(down * across)


def scale_and_note(
    keys: FrameKeys, values: FloatArray, camera: InstrumentKeys | None, read: StripReading | None
) -> tuple[float, Sentence | None]:
    """File pixels per detector pixel, and what is to be said where file and camera disagree.

    The camera's own numbers count; without them, what the file shows.

    Raises
    ------
    OutOfDomain
        As `pixel_scale`.
    """
    stated = pixel_scale(values.shape[0], values.shape[1], camera)
    is_stated = camera is not None and camera.rows is not None and camera.columns is not None
    if is_stated and stated <= 1.0 and read is None:
        return stated, None
    seen = (read.enlargement if read is not None else enlarged_from(values)).factor
    if not is_stated:
        return float(max(seen, stated)), None
    if seen > 1 and abs(seen / stated - 1.0) > _SAME_FACTOR:
        return stated, say("site.note.looks-enlarged", file=keys.file, seen=seen, stated=f"{stated:.3g}")
    return stated, None


def without_outlines(
    keys: FrameKeys, values: FloatArray, scale: float, read: StripReading | None
) -> FloatArray:
    """A coloured picture without the outlines of the visible one, where they can be told.

    Raises
    ------
    ReadingError
        They cover most of it.
    """
    if read is None:
        return values
    drawn = outlines(values, scale, float(np.nanmedian(read.step_k)))
    left = np.where(drawn, np.nan, values)
    if np.mean(np.isfinite(left)) < LEAST_READ:
        raise refusal(
            keys.file,
            read=say("reader.read.outlines", share=f"{100 * np.mean(drawn):.0f}"),
            allowed=say("reader.allowed.left-to-read", share=f"{100 * LEAST_READ:.0f}"),
            fix=say("reader.fix.thermal-alone"),
        )
    return left


def on_time(keys: FrameKeys, clocks: Iterable[ClockKeys]) -> tuple[FrameKeys, Sentence | None]:
    """A frame with the time set right by the last clock its camera took a picture of, and words for that."""
    seen = [clock for clock in clocks if clock.instrument == keys.instrument]
    if keys.taken_at is None or not seen or seen[-1].fast_s == 0.0:
        return keys, None
    fast_s = seen[-1].fast_s
    taken_at = keys.taken_at - timedelta(seconds=fast_s)
    way = "fast" if fast_s > 0 else "slow"
    note = say(
        f"site.note.clock-{way}",
        file=keys.file,
        instrument=shown(keys.instrument),
        offset=_told(abs(fast_s)),
        at=taken_at.isoformat(sep=" "),
        stated=keys.taken_at.isoformat(sep=" "),
    )
    return keys.model_copy(update={"taken_at": taken_at}), note


def _told(seconds: float) -> Number:
    """A time in s, or in h or days where it is long; a wrong year is days."""
    if seconds < _HOUR_S:
        return Number(seconds, "s", 0 if seconds.is_integer() else 1)
    return Number(seconds / _HOUR_S, "h") if seconds < 2 * _DAY_S else Number(seconds / _DAY_S, "d")


def frame_notes(
    keys: FrameKeys, scale: float, values: FloatArray | None = None, read: StripReading | None = None
) -> list[Sentence]:
    """What was done to the values of a frame, in words."""
    notes: list[Sentence] = []
    if keys.values == "camera-corrected" and keys.camera_emissivity is not None:
        notes.append(say("site.note.undone", file=keys.file, emissivity=f"{keys.camera_emissivity:g}"))
    if scale > 1.0:
        notes.append(say("site.note.enlarged", file=keys.file, scale=f"{scale:.3g}"))
    if read is not None and values is not None:
        lost = np.isnan(values) & np.isfinite(read.temperature_degc)
        if np.mean(lost) > OUTLINED_SHARE:
            notes.append(say("site.note.outlines", file=keys.file, share=f"{100 * np.mean(lost):.2g}"))
    return notes
