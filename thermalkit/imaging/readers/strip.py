"""Temperatures of a coloured picture, by the temperature strip beside it."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from thermalkit.imaging.enlarged import Enlargement, enlarged_from
from thermalkit.imaging.readers.bounds import refusal
from thermalkit.imaging.readers.colour import ColourPicture, colour_picture
from thermalkit.imaging.readers.ramp import BRIGHTNESS, NODES, Ramp, RampError, distances, in_space, ramp_of
from thermalkit.language import Sentence, say
from thermalkit.measured import FloatArray

BoolArray = NDArray[np.bool_]
Corner = tuple[float, float]

LEAST_READ = 0.5  # share of the picture that has to stand on the strip
SATURATED_SHARE = 0.001  # a camera that fits its strip to the frame has a pixel or two at each end
_OFF = {False: 4.0, True: 12.0}  # colour distance from the strip from which a pixel is not of it
_SURELY_OFF = {False: 8.0, True: 20.0}
_SPREAD_PX = {False: 2, True: 8}  # how far saving and drawing smear a marker
_CHUNK = 8192


@dataclass(frozen=True, slots=True, kw_only=True)
class Strip:
    """A temperature strip as it was marked.

    `cold_end` and `warm_end` are the (row, column) of the strip's first and last pixel, `area` the
    upper left and lower right pixel of the frame within the picture. `rounded_to_k` is the step in
    which the two temperatures are shown.
    """

    cold_end: Corner
    warm_end: Corner
    cold_degc: float
    warm_degc: float
    area: tuple[Corner, Corner]
    rounded_to_k: float = 1.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class StripReading:
    """What a coloured picture says.

    All arrays have the shape (rows, columns) of the area. `temperature_degc` is NaN where a pixel is
    off the strip, stands for two temperatures or lies at an end of the strip, which are the three
    masks. `step_k` is the half-width of what colours leave open of the mean over a measurable spot;
    `steps` holds it by temperature. `end_k` is the half-width of either end, which all pixels share: an
    error of the cold end acts in full there and vanishes at the warm one. `enlargement` tells the
    detector's own pixels.
    """

    temperature_degc: FloatArray
    step_k: FloatArray
    off_strip: BoolArray
    ambiguous: BoolArray
    saturated: BoolArray
    end_k: float
    steps: tuple[FloatArray, FloatArray]
    enlargement: Enlargement
    assumed: tuple[Sentence, ...]


def read_strip(file: str, content: bytes, strip: Strip) -> StripReading:
    """Temperatures of a coloured JPEG or PNG picture with a temperature strip.

    Raises
    ------
    ReadingError
        The picture is damaged; ends or area lie outside it; the strip is too short, of one colour or
        repeats its colours; or most of the picture is not on the strip.
    """
    picture = colour_picture(file, content)
    top, left, bottom, right = _checked(file, picture, strip)
    try:
        ramp = ramp_of(picture, strip.cold_end, strip.warm_end)
    except RampError as error:
        raise refusal(
            file, place=say("reader.place.strip"), read=error.read, allowed=error.allowed, fix=error.fix
        ) from error
    area = picture.colours[top : bottom + 1, left : right + 1]
    share, distance, doubtful = _matched(area, ramp)
    off = _off_strip(distance, ramp.is_lossy) | _under_the_strip(strip, ramp, area.shape[:2], (top, left))
    if np.mean(off) > 1.0 - LEAST_READ:
        raise refusal(
            file,
            place=say("reader.place.strip"),
            read=say("reader.read.off-strip", share=f"{100 * np.mean(off):.0f}"),
            allowed=say("reader.allowed.percent", share=f"{100 * (1 - LEAST_READ):.0f}"),
            fix=say("reader.fix.mark-again"),
        )
    grid = _detector_grid(area, np.where(off, np.nan, share), ramp.is_lossy)
    if ramp.is_lossy and grid.way == "nearest":
        share = _mean_of_pixel(np.where(off | doubtful, np.nan, share), grid)
    reading = _reading(strip, ramp, share, off, doubtful, grid)
    if not np.isfinite(reading.temperature_degc).any():
        raise refusal(
            file,
            place=say("reader.place.strip"),
            read=say("reader.read.beyond-ends"),
            allowed=say("reader.allowed.strip-frame"),
            fix=say("reader.fix.wider-range"),
        )
    return reading


def _checked(file: str, picture: ColourPicture, strip: Strip) -> tuple[int, int, int, int]:
    rows, columns = picture.colours.shape[:2]
    (top, left), (bottom, right) = strip.area
    for name, (row, column) in (
        ("cold", strip.cold_end),
        ("warm", strip.warm_end),
        ("area", strip.area[0]),
        ("area", strip.area[1]),
    ):
        if not (0 <= row <= rows - 1 and 0 <= column <= columns - 1):
            raise refusal(
                file,
                place=say(f"reader.place.strip-{name}"),
                read=say("reader.read.off-picture", point=f"[{row:g}, {column:g}]"),
                allowed=say("reader.allowed.on-picture", rows=rows - 1, columns=columns - 1),
            )
    if bottom - top < 7 or right - left < 7:
        raise refusal(
            file,
            place=say("reader.place.strip-area"),
            read=say("reader.read.size", rows=f"{bottom - top + 1:g}", columns=f"{right - left + 1:g}"),
            allowed=say("reader.allowed.area"),
        )
    if not strip.warm_degc > strip.cold_degc:
        raise refusal(
            file,
            place=say("reader.place.strip"),
            read=say("reader.read.ends", cold=f"{strip.cold_degc:g}", warm=f"{strip.warm_degc:g}"),
            allowed=say("reader.allowed.warmer-end"),
            fix=say("reader.fix.cold-first"),
        )
    return round(top), round(left), round(bottom), round(right)


def _matched(area: NDArray[np.uint8], ramp: Ramp) -> tuple[FloatArray, FloatArray, BoolArray]:
    """Share of the strip, colour distance from it, and whether another part is as near."""
    codes = area.astype(np.uint32) @ np.array([65536, 256, 1], dtype=np.uint32)
    kinds, back = np.unique(codes, return_inverse=True)
    colours = np.stack([kinds >> 16, kinds >> 8 & 255, kinds & 255], axis=1).astype(np.float64)
    parts = [_nearest(part, ramp) for part in _chunks(in_space(colours, ramp.is_lossy))]
    share, distance, doubtful = (np.concatenate([part[i] for part in parts]) for i in range(3))
    back = back.reshape(area.shape[:2])
    return share[back], distance[back], doubtful[back].astype(np.bool_)


def _detector_grid(area: NDArray[np.uint8], share: FloatArray, is_lossy: bool) -> Enlargement:
    """Enlargement of the frame; after a JPEG brightness tells it better than temperature."""
    brightness = np.where(np.isnan(share), np.nan, area @ BRIGHTNESS)
    return enlarged_from(brightness if is_lossy else share, is_lossy=is_lossy)


def _mean_of_pixel(share: FloatArray, grid: Enlargement) -> FloatArray:
    """One value for all copies of a detector pixel; NaN stays where it is."""
    rows, columns = (
        (np.arange(n) - first) // grid.factor + 1 for n, first in zip(share.shape, grid.first, strict=True)
    )
    pixel = rows[:, None] * (columns.max() + 1) + columns
    valid = np.isfinite(share)
    total = np.bincount(pixel[valid], share[valid], minlength=int(pixel.max()) + 1)
    count = np.bincount(pixel[valid], minlength=int(pixel.max()) + 1)
    return np.where(valid, (total / np.maximum(count, 1))[pixel], np.nan)


def _chunks(colours: FloatArray) -> list[FloatArray]:
    return [colours[i : i + _CHUNK] for i in range(0, len(colours), _CHUNK)]


def _nearest(colours: FloatArray, ramp: Ramp) -> tuple[FloatArray, FloatArray, FloatArray]:
    apart = distances(colours, ramp.nodes)
    best = np.argmin(apart, axis=1)
    share, distance = _between_nodes(colours, ramp.nodes, best)
    away = np.abs(np.arange(NODES)[None, :] - best[:, None]) < NODES // 8
    apart[away] = np.inf
    second = apart.min(axis=1)
    doubtful = second < distance + _OFF[ramp.is_lossy] / 2
    return share, distance, doubtful.astype(np.float64)


def _between_nodes(
    colours: FloatArray, nodes: FloatArray, best: NDArray[np.intp]
) -> tuple[FloatArray, FloatArray]:
    """The nearest point on the two pieces of the way beside the nearest node."""
    share, distance = best / (NODES - 1.0), np.linalg.norm(colours - nodes[best], axis=1)
    for start in (np.maximum(best - 1, 0), np.minimum(best, NODES - 2)):
        piece = nodes[start + 1] - nodes[start]
        length = np.maximum(np.sum(piece**2, axis=1), 1e-12)
        along = np.clip(np.sum((colours - nodes[start]) * piece, axis=1) / length, 0.0, 1.0)
        apart = np.linalg.norm(colours - nodes[start] - along[:, None] * piece, axis=1)
        nearer = apart < distance - 1e-9
        share = np.where(nearer, (start + along) / (NODES - 1.0), share)
        distance = np.where(nearer, apart, distance)
    return share, distance


def _off_strip(distance: FloatArray, is_lossy: bool) -> BoolArray:
    """Pixels of colours that the strip does not show, with what drawing and saving smeared of them."""
    from scipy import ndimage

    sure = distance > _SURELY_OFF[is_lossy]
    near = ndimage.distance_transform_edt(~sure) <= _SPREAD_PX[is_lossy] if sure.any() else sure
    return np.asarray((distance > _OFF[is_lossy]) | near)


def _under_the_strip(strip: Strip, ramp: Ramp, shape: tuple[int, ...], corner: tuple[int, int]) -> BoolArray:
    """Where the strip itself covers the frame."""
    start, end = np.array(strip.cold_end) - corner, np.array(strip.warm_end) - corner
    along = (end - start) / np.hypot(*(end - start))
    rows, columns = np.indices(shape)
    lengthwise = (rows - start[0]) * along[0] + (columns - start[1]) * along[1]
    across = (rows - start[0]) * -along[1] + (columns - start[1]) * along[0]
    margin = 2 + _SPREAD_PX[ramp.is_lossy]
    return np.asarray(
        (lengthwise >= -margin)
        & (lengthwise <= ramp.length_px + margin)
        & (np.abs(across) <= ramp.half_width_px + margin)
    )


def _reading(
    strip: Strip, ramp: Ramp, share: FloatArray, off: BoolArray, doubtful: BoolArray, grid: Enlargement
) -> StripReading:
    span_k = strip.warm_degc - strip.cold_degc
    ambiguous = doubtful & ~off
    clear = ~off & ~ambiguous
    at_end = [clear & (share <= 0.5 * ramp.step), clear & (share >= 1.0 - 0.5 * ramp.step)]
    wide = [mask if np.mean(mask) > SATURATED_SHARE else np.zeros_like(mask) for mask in at_end]
    saturated = wide[0] | wide[1]
    degc = np.where(clear & ~saturated, strip.cold_degc + share * span_k, np.nan)
    along = np.linspace(0.0, 1.0, NODES)
    step_k = span_k * np.interp(share, along, ramp.open_share)
    return StripReading(
        temperature_degc=degc,
        step_k=np.where(np.isfinite(degc), step_k, np.nan),
        off_strip=off,
        ambiguous=ambiguous,
        saturated=saturated,
        end_k=0.5 * strip.rounded_to_k + span_k / ramp.length_px,
        steps=(strip.cold_degc + along * span_k, span_k * ramp.open_share),
        enlargement=grid,
        assumed=_words(strip, off, ambiguous, wide),
    )


def _words(strip: Strip, off: BoolArray, ambiguous: BoolArray, ends: list[BoolArray]) -> tuple[Sentence, ...]:
    ends_degc = {"cold": f"{strip.cold_degc:g}", "warm": f"{strip.warm_degc:g}"}
    parts = [say("reader.assumed.strip", **ends_degc)]
    for mask, what in (
        (off, say("reader.assumed.off-strip")),
        (ambiguous, say("reader.assumed.ambiguous")),
        (ends[0], say("reader.assumed.cold-end", cold=ends_degc["cold"])),
        (ends[1], say("reader.assumed.warm-end", warm=ends_degc["warm"])),
    ):
        if mask.any():
            parts.append(say("reader.assumed.masked", share=f"{100 * np.mean(mask):.2g}", what=what))
    return tuple(parts)
