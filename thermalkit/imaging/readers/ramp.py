"""The colours of a temperature strip, from its cold to its warm end."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

import numpy as np

from thermalkit.imaging.readers.colour import ColourPicture
from thermalkit.language import Sentence, render, say
from thermalkit.measured import FloatArray

LEAST_LENGTH_PX = 32
LEAST_COLOURS = 48.0  # length of the way through colour space, in steps of one colour channel
LEVELS = 256  # a picture of 8 bits a channel shows no more
NODES = 512
WIDEST_PX = 12  # to either side of the line
_ALIKE = {False: 3.0, True: 10.0}
_MARGIN_PX = {False: 0, True: 3}
# Brightness, blue and red difference; JPEG keeps the first best (ITU-R BT.601, from memory).
BRIGHTNESS = np.array([0.299, 0.587, 0.114])
_SPACE = np.array([BRIGHTNESS, [-0.169, -0.331, 0.5], [0.5, -0.419, -0.081]])
_KEPT = np.array([1.0, 0.5, 0.5])


class RampError(ValueError):
    """What is wrong with a strip: what was read, what is allowed, the likely fix."""

    def __init__(self, read: Sentence, allowed: Sentence, fix: Sentence) -> None:
        super().__init__(render(read, "en"))
        self.read, self.allowed, self.fix = read, allowed, fix


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ramp:
    """Colours along a strip.

    `nodes` has shape (NODES, 3), even steps from the cold end to the warm one, in the colour space in
    which distances are taken (`in_space`). `length_px` is the strip's length, `half_width_px` how far
    it reaches to either side of its line, `level` how far saving may have moved a colour.
    """

    nodes: FloatArray
    length_px: float
    half_width_px: int
    level: float
    is_lossy: bool

    @property
    def step(self) -> float:
        """Share of the strip between two colours that can be told apart at best."""
        return 1.0 / min(LEVELS, self.length_px)

    @property
    def speed(self) -> FloatArray:
        """Colour distance per share of the strip at each node, shape (NODES,)."""
        wide = np.linalg.norm(self.nodes[8:] - self.nodes[:-8], axis=1) * (NODES - 1) / 8
        return np.pad(wide, 4, mode="edge")

    @property
    def open_share(self) -> FloatArray:
        """Half-width of what colours leave open at each node, as a share of the strip."""
        return np.hypot(0.5 * self.step, self.level / np.maximum(self.speed, 1e-6))


def in_space(colours: FloatArray, is_lossy: bool) -> FloatArray:
    """Colours in the space in which distances are taken, shape (..., 3)."""
    return colours @ (_KEPT[:, None] * _SPACE).T if is_lossy else colours


def ramp_of(picture: ColourPicture, cold: tuple[float, float], warm: tuple[float, float]) -> Ramp:
    """Read the strip between the centres of its first and its last pixel.

    Raises
    ------
    RampError
        Too short, of one colour, or the same colours come twice.
    """
    start, end = np.array(cold), np.array(warm)
    length_px = float(np.hypot(*(end - start)))
    if length_px + 1 < LEAST_LENGTH_PX:
        raise RampError(
            say("reader.read.short-strip", length=f"{length_px + 1:.0f}"),
            say("reader.allowed.long-strip", length=LEAST_LENGTH_PX),
            say("reader.fix.end-to-end"),
        )
    lines = _lines(picture, start, end, round(length_px) + 1)
    used, half_width_px = _of_the_strip(lines, picture.is_lossy)
    spaced = in_space(used, picture.is_lossy)
    ramp = Ramp(
        nodes=_even(_smooth(spaced.mean(axis=0)) if picture.is_lossy else spaced.mean(axis=0)),
        length_px=length_px + 1.0,
        half_width_px=half_width_px,
        level=picture.level,
        is_lossy=picture.is_lossy,
    )
    _require_one_way(ramp)
    return ramp


def _lines(picture: ColourPicture, start: FloatArray, end: FloatArray, count: int) -> FloatArray:
    """Colours along the line and beside it, shape (offsets, count, 3), NaN outside the picture."""
    from scipy import ndimage

    along = (end - start) / np.hypot(*(end - start))
    across = np.array([-along[1], along[0]])
    offsets = np.arange(-WIDEST_PX, WIDEST_PX + 1)[:, None, None]
    places = start + np.linspace(0.0, 1.0, count)[None, :, None] * (end - start) + offsets * across
    channels = [
        ndimage.map_coordinates(
            picture.colours[..., i].astype(np.float64),
            np.moveaxis(places, -1, 0),
            order=1,
            mode="constant",
            cval=np.nan,
        )
        for i in range(3)
    ]
    return np.stack(channels, axis=-1)


def _of_the_strip(lines: FloatArray, is_lossy: bool) -> tuple[FloatArray, int]:
    """Lines that show the same colours as the middle one, less a margin where saving smears."""
    middle = lines[WIDEST_PX]
    apart = np.median(np.linalg.norm(lines - middle, axis=2), axis=1)
    low = high = WIDEST_PX
    while low > 0 and apart[low - 1] < _ALIKE[is_lossy]:
        low -= 1
    while high < 2 * WIDEST_PX and apart[high + 1] < _ALIKE[is_lossy]:
        high += 1
    margin = min(_MARGIN_PX[is_lossy], (high - low) // 3)
    return lines[low + margin : high + 1 - margin], max(WIDEST_PX - low, high - WIDEST_PX)


def _smooth(colours: FloatArray) -> FloatArray:
    """Scatter of saving taken out, the ends continued from where their surroundings do not reach."""
    from scipy.signal import savgol_filter

    clean = colours.copy()
    for edge, inner in ((slice(0, 2), slice(2, 8)), (slice(-2, None), slice(-8, -2))):
        x = np.arange(len(colours))
        fits = np.polyfit(x[inner], colours[inner], 1)
        clean[edge] = x[edge, None] * fits[0] + fits[1]
    return np.asarray(savgol_filter(clean, 7, 1, axis=0, mode="interp"))


def _even(colours: FloatArray) -> FloatArray:
    along = np.linspace(0.0, 1.0, len(colours))
    wanted = np.linspace(0.0, 1.0, NODES)
    return np.stack([np.interp(wanted, along, colours[:, i]) for i in range(3)], axis=1)


def _require_one_way(ramp: Ramp) -> None:
    """Refuse a strip of one colour, and one that shows the same colour at two temperatures."""
    way = sum(float(np.linalg.norm(b - a)) for a, b in pairwise(ramp.nodes[:: NODES // 32]))
    if way < LEAST_COLOURS:
        raise RampError(
            say("reader.read.one-colour"),
            say("reader.allowed.changing"),
            say("reader.fix.along"),
        )
    apart = distances(ramp.nodes, ramp.nodes)
    near = np.abs(np.subtract.outer(np.arange(NODES), np.arange(NODES))) < NODES // 8
    apart[near] = np.inf
    alike = _ALIKE[ramp.is_lossy]
    first, second = np.unravel_index(int(np.argmin(apart)), apart.shape)
    if apart[first, second] < alike:
        shares = sorted((100.0 * first / (NODES - 1), 100.0 * second / (NODES - 1)))
        raise RampError(
            say("reader.read.colour-twice", first=f"{shares[0]:.0f}", second=f"{shares[1]:.0f}"),
            say("reader.allowed.once"),
            say("reader.fix.other-map"),
        )


def distances(colours: FloatArray, nodes: FloatArray) -> FloatArray:
    """Distances of each colour from each node, shape (colours, nodes)."""
    squares = np.sum(colours**2, axis=1)[:, None] + np.sum(nodes**2, axis=1)[None, :]
    return np.asarray(np.sqrt(np.maximum(squares - 2.0 * colours @ nodes.T, 0.0)))
