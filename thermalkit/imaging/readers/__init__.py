"""Frames from open file formats; every file is bounded before anything of its size is made."""

from __future__ import annotations

import math
import warnings
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from thermalkit.imaging.readers import bounds, csv, npy, png, tiff
from thermalkit.imaging.readers.strip import Strip, StripReading, read_strip
from thermalkit.language import Sentence, say
from thermalkit.measured import FloatArray

COLDEST_DEGC = -60.0
WARMEST_DEGC = 2000.0
HOTTEST_COLD_DEGC = 223.0  # kelvin read as °C would be warmer in the coldest parts
STRAY_SHARE = 0.001  # pixels out of range that count as dead rather than as a wrong scale

_READERS: dict[str, tuple[tuple[bytes, ...], Callable[[str, bytes], bounds.Stored]]] = {
    ".csv": ((), csv.stored_csv),
    ".tsv": ((), csv.stored_csv),
    ".npy": ((npy.MAGIC,), npy.stored_npy),
    ".png": ((png.MAGIC,), png.stored_png),
    ".tif": ((*tiff.MAGICS, *tiff.BIG_MAGICS), tiff.stored_tiff),
    ".tiff": ((*tiff.MAGICS, *tiff.BIG_MAGICS), tiff.stored_tiff),
}

_NAMES = {".npy": "NPY", ".png": "PNG", ".tif": "TIFF", ".tiff": "TIFF"}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Reading:
    """A frame as read.

    `temperature_degc` has shape (rows, columns), NaN where masked. `assumed` says in words what was
    taken for granted (delimiter, decimal sign, labels, stray pixels); `strip` what else a coloured
    picture said.
    """

    temperature_degc: FloatArray
    assumed: tuple[Sentence, ...]
    strip: StripReading | None = None


def read_frame(
    path: Path | str,
    *,
    scale: float = 1.0,
    offset: float = 0.0,
    file: str | None = None,
    strip: Strip | None = None,
) -> Reading:
    """Temperatures of one frame: temperature = stored * scale + offset.

    Parameters
    ----------
    path : path
        A .csv, .tsv, .npy, .png (16-bit grey) or .tif/.tiff (one number per pixel) file; with a
        strip a coloured .png, .jpg or .jpeg.
    scale, offset : float
        From stored numbers to °C.
    file : str, optional
        The name that problems give; the path's own otherwise.
    strip : Strip, optional
        The temperature strip of a coloured picture; scale and offset are then left alone.

    Returns
    -------
    Reading
        float64 (rows, columns), NaN where the file holds no number.

    Raises
    ------
    ReadingError
        The file cannot be used; the error says where, what was read and what would be allowed.
    """
    path = Path(path)
    file = path.name if file is None else file
    if not (math.isfinite(scale) and math.isfinite(offset) and scale != 0):
        raise bounds.refusal(
            file,
            read=say("reader.read.scale", scale=f"{scale:g}", offset=f"{offset:g}"),
            allowed=say("reader.allowed.scale"),
        )
    if strip is not None:
        coloured = read_strip(file, bounds.content_of(path, file), strip)
        return Reading(temperature_degc=coloured.temperature_degc, assumed=coloured.assumed, strip=coloured)
    if path.suffix.lower() in (".jpg", ".jpeg"):
        raise bounds.refusal(
            file,
            read=say("reader.read.coloured"),
            allowed=", ".join(_READERS),
            fix=say("reader.fix.coloured"),
        )
    if path.suffix.lower() not in _READERS:
        raise bounds.refusal(
            file, read=say("reader.read.ending", ending=repr(path.suffix)), allowed=", ".join(_READERS)
        )
    magics, reader = _READERS[path.suffix.lower()]
    content = bounds.content_of(path, file)
    _require_content(file, path.suffix.lower(), content, magics)
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # decoders warn about what is refused here anyway
        stored = reader(file, content)
    with np.errstate(over="ignore", invalid="ignore"):
        values = stored.values * scale + offset
    values[~np.isfinite(values)] = np.nan
    values, stray = _plausible(file, values)
    return Reading(temperature_degc=values, assumed=stored.assumed + stray)


def _require_content(file: str, suffix: str, content: bytes, magics: tuple[bytes, ...]) -> None:
    """The content is what the name says."""
    kinds = {magic: _NAMES[kind] for kind, (known, _) in _READERS.items() for magic in known}
    found = next((kind for magic, kind in kinds.items() if content.startswith(magic)), None)
    if magics and not content.startswith(magics):
        named = say("reader.read.holds-else", ending=suffix)
        held = say("reader.read.holds-kind", ending=suffix, kind=found) if found else named
        raise bounds.refusal(
            file,
            read=held,
            allowed=say("reader.allowed.one-kind"),
            fix=say("reader.fix.name"),
        )
    if not magics and found:
        raise bounds.refusal(
            file,
            read=say("reader.read.holds-kind", ending=suffix, kind=found),
            allowed=say("reader.allowed.text"),
            fix=say("reader.fix.name"),
        )


def _plausible(file: str, values: FloatArray) -> tuple[FloatArray, tuple[Sentence, ...]]:
    """Values within what a building shows; a few strays are dead pixels and become NaN."""
    if np.all(np.isnan(values)):
        raise bounds.refusal(
            file,
            read=say("reader.read.no-number"),
            allowed=say("reader.allowed.temperatures"),
            fix=say("reader.fix.temperatures"),
        )
    outside = (values < COLDEST_DEGC) | (values > WARMEST_DEGC)
    count = int(np.count_nonzero(outside))
    low, middle = (float(q) for q in np.nanquantile(values, (0.02, 0.5)))
    if count > STRAY_SHARE * values.size or low > HOTTEST_COLD_DEGC:
        row, column = (
            np.argwhere(outside)[0] if count else np.unravel_index(np.nanargmin(values), values.shape)
        )
        raise bounds.refusal(
            file,
            place=say("reader.place.cell", row=int(row) + 1, column=int(column) + 1),
            read=say("reader.read.implausible", value=f"{values[row, column]:g}", middle=f"{middle:g}"),
            allowed=say(
                "reader.allowed.plausible",
                coldest=f"{COLDEST_DEGC:g}",
                warmest=f"{WARMEST_DEGC:g}",
                cold=f"{HOTTEST_COLD_DEGC:g}",
            ),
            fix=_likely_scale(middle),
        )
    if count:
        values[outside] = np.nan
    return values, (say("reader.assumed.dead", count=count),) if count else ()


def _likely_scale(middle: float) -> Sentence:
    """A scale and offset that would make the middle value a room's, as advice."""
    candidates = (
        ("kelvin", 1.0, -273.15),
        ("hundredths-k", 0.01, -273.15),
        ("tenths-k", 0.1, -273.15),
        ("hundredths-degc", 0.01, 0.0),
        ("tenths-degc", 0.1, 0.0),
    )
    # Kelvin first; among the others the one that gives the most ordinary temperature.
    likely = sorted(candidates, key=lambda c: (c[0] != "kelvin", abs(middle * c[1] + c[2] - 15.0)))
    for unit, scale, offset in likely:
        if -50.0 <= middle * scale + offset <= 120.0:
            return say(f"reader.fix.{unit}", scale=f"{scale:g}", offset=f"{offset:g}")
    return say("reader.fix.scale")
