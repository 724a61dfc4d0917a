"""Warm lines in a picture in mm, as smooth paths finer than its pixels.

Source
------
C. Steger, An unbiased detector of curvilinear structures, IEEE PAMI 20 (1998) 113-125: a point lies on a
line where the first derivative across it vanishes within its pixel.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from thermalkit.imaging.plan import Rectified
from thermalkit.measured import FloatArray

FINEST_MM, COARSEST_MM = 16.0, 42.0
SHORTEST_MM = 150.0
SEEN_FROM = 5.0  # times the noise that the same filter leaves
KEPT_FROM = 3.0
WEAKEST_SHARE = 0.25  # of the usual line of the picture
SHOULDER_SHARE = 0.35  # of a line near by
_SHOULDER = 2.5  # reach, in scales
_FIRST_MM = 22.0
_PLENTY = 20.0
_SCREED_MM = 25.0  # own choice: how far the floor itself spreads a line
_PER_SPACING = 0.14
_BACKGROUND_MM = 120.0
_WITHIN_PX = 0.65
_LEAST_BRANCH_MM = 20.0
_JOINED_MM = 30.0
_TURN_DEG = 35.0
_SMOOTH_MM = 10.0
_TEXTURE_SHARE = 0.25  # of a board's difference that the filter takes for a line
GAP_MM = 250.0
_HOLDS_MEAN, _HOLDS_LEAST = 2.0, 0.5
BoolArray = NDArray[np.bool_]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Centreline:
    """A warm line: (x, y) in mm, strength over the noise, and where a gap was bridged, shape (points,)."""

    line_mm: FloatArray
    strength: FloatArray
    is_bridged: BoolArray

    @property
    def length_mm(self) -> float:
        """Along the line."""
        return float(np.linalg.norm(np.diff(self.line_mm, axis=0), axis=1).sum())


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ridges:
    """Lines of a picture, and for each of its pixels how far a ridge there stands out of the noise.

    `strength` is NaN where nothing can be said. `spacing_mm` is the usual distance between neighbouring
    lines, None where there are too few; `usual` the strength of most lines. `doubtful` are ridges that were
    not taken for lines.
    """

    lines: tuple[Centreline, ...]
    strength: FloatArray
    scale_mm: float
    spacing_mm: float | None
    usual: float
    doubtful: BoolArray


def ridges(
    picture: Rectified, noise: Rectified, hidden: BoolArray | None = None, *, texture_k: float = 0.0
) -> Ridges:
    """Warm lines of a picture.

    The scale of the filter follows from the spacing that a first, fine pass finds.

    Parameters
    ----------
    picture : Rectified
        Temperatures; NaN where there is none.
    noise : Rectified
        A frame of nothing but the camera's noise, rectified the same way.
    hidden : ndarray of bool, optional
        Where nothing is to be looked for, same shape.
    texture_k : float
        Standard deviation of what boards or stones differ by without any pipe.

    Returns
    -------
    Ridges

    Raises
    ------
    ValueError
        Pictures of different shapes.
    """
    if picture.values.shape != noise.values.shape:
        raise ValueError(f"noise of shape {noise.values.shape} for a picture of {picture.values.shape}")
    seen = np.isfinite(picture.values) & np.isfinite(noise.values)
    if hidden is not None:
        seen &= ~hidden
    first = _found(picture, noise, seen, _FIRST_MM, texture_k)
    if first.spacing_mm is None:
        coarse = _found(picture, noise, seen, 32.0, texture_k)
        return coarse if _total(coarse) > _total(first) else first
    scale = float(np.clip(_PER_SPACING * first.spacing_mm, FINEST_MM, COARSEST_MM))
    coarse = first if abs(scale - _FIRST_MM) < 3.0 else _found(picture, noise, seen, scale, texture_k)
    if not coarse.lines:
        return _with_doubts(coarse, (first,), picture)
    # Strength over noise grows with the cube of the scale: where there is plenty, a finer one is sharper.
    weak = float(np.quantile(np.concatenate([line.strength for line in coarse.lines]), 0.1))
    finer = max(FINEST_MM, coarse.scale_mm * (_PLENTY / max(weak, _PLENTY)) ** (1.0 / 3.0))
    best = coarse if finer > 0.85 * coarse.scale_mm else _found(picture, noise, seen, finer, texture_k)
    return _with_doubts(best, (first, coarse), picture)


def distance_mm(ridges: Ridges, picture: Rectified) -> FloatArray:
    """From each pixel to the nearest line, in mm; infinite without lines."""
    from scipy.ndimage import distance_transform_edt

    free = ~drawn(ridges.lines, picture)
    if free.all():
        return np.full(free.shape, np.inf)
    return np.asarray(distance_transform_edt(free) * picture.mm_per_pixel)


def drawn(lines: tuple[Centreline, ...], picture: Rectified) -> BoolArray:
    """Pixels that a line passes."""
    mask = np.zeros(picture.values.shape, dtype=np.bool_)
    for line in lines:
        count = max(2, int(2.0 * line.length_mm / picture.mm_per_pixel))
        at = np.linspace(0.0, len(line.line_mm) - 1.0, count)
        order = np.arange(len(line.line_mm))
        fine = np.stack([np.interp(at, order, line.line_mm[:, axis]) for axis in (0, 1)], axis=1)
        pixels = np.rint(pixels_of(picture, fine)).astype(int)
        inside = np.all((pixels >= 0) & (pixels < mask.shape), axis=1)
        mask[tuple(pixels[inside].T)] = True
    return mask


def pixels_of(picture: Rectified, places_mm: FloatArray) -> FloatArray:
    """(row, column) of places in mm."""
    rows = (places_mm[..., 1] - picture.y_mm) / picture.y_step_mm
    return np.stack([rows, (places_mm[..., 0] - picture.x_mm) / picture.mm_per_pixel], axis=-1)


def places_of(picture: Rectified, pixels: FloatArray) -> FloatArray:
    """(x, y) in mm of pixels."""
    x_mm = picture.x_mm + picture.mm_per_pixel * pixels[..., 1]
    return np.stack([x_mm, picture.y_mm + picture.y_step_mm * pixels[..., 0]], axis=-1)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Filtered:
    """Second derivative across the ridge (negative, scaled), and the shift to its top in pixels."""

    strength: FloatArray
    shift: FloatArray
    across: FloatArray


def _total(found: Ridges) -> float:
    return sum(line.length_mm for line in found.lines)


def _found(
    picture: Rectified, noise: Rectified, seen: BoolArray, scale_mm: float, texture_k: float
) -> Ridges:
    from scipy.ndimage import binary_erosion, gaussian_filter, maximum_filter
    from skimage.filters import apply_hysteresis_threshold
    from skimage.morphology import skeletonize

    pitch = picture.mm_per_pixel
    sigma = scale_mm / pitch
    filtered = _filtered(_filled(picture.values, seen, pitch), sigma)
    inside = binary_erosion(seen, iterations=max(1, round(0.8 * sigma)), border_value=0)
    quiet = _filtered(_filled(noise.values, seen, pitch), sigma).strength
    spread = np.sqrt(gaussian_filter(quiet**2, 6.0 * sigma) + (_TEXTURE_SHARE * texture_k) ** 2) + 1e-12
    z = np.where(inside, filtered.strength / spread, np.nan)
    on_top = np.all(np.abs(filtered.shift) <= _WITHIN_PX, axis=-1) & inside
    clear = on_top & (z > SEEN_FROM)
    usual = float(np.median(filtered.strength[clear])) if clear.any() else 0.0
    # What is far weaker than the usual line is the floor's texture, than a near one that line's shoulder.
    near = maximum_filter(np.where(inside, filtered.strength, 0.0), 2 * round(_SHOULDER * sigma) + 1)
    is_strong = filtered.strength > np.maximum(WEAKEST_SHARE * usual, SHOULDER_SHARE * near)
    share = np.where(is_strong, z, 0.0)
    is_line = apply_hysteresis_threshold(np.where(on_top, share, 0.0), KEPT_FROM, SEEN_FROM)
    branches = [b for b in _branches(skeletonize(is_line)) if len(b) * pitch >= _LEAST_BRANCH_MM]
    fine = [_finer(branch, filtered.shift) for branch in branches]
    joined = _joined(fine, z, pitch)
    lines = [_line(path, bridged, z, picture, scale_mm) for path, bridged in joined]
    kept = tuple(
        sorted((line for line in lines if line.length_mm >= SHORTEST_MM), key=lambda n: -n.length_mm)
    )
    return Ridges(
        lines=kept,
        strength=z,
        scale_mm=scale_mm,
        spacing_mm=_spacing_mm(kept, picture, inside),
        usual=float(np.median(np.concatenate([n.strength for n in kept]))) if kept else 0.0,
        doubtful=_left_over(np.asarray(on_top & (share > KEPT_FROM)), kept, picture, scale_mm),
    )


def _with_doubts(best: Ridges, others: tuple[Ridges, ...], picture: Rectified) -> Ridges:
    """Lines that only another scale shows are doubtful too."""
    from scipy.ndimage import binary_dilation

    wide = max(1, round(2.0 * best.scale_mm / picture.mm_per_pixel))
    near = binary_dilation(drawn(best.lines, picture), iterations=wide)
    seen = np.any([other.doubtful | drawn(other.lines, picture) for other in others], axis=0)
    return replace(best, doubtful=best.doubtful | (seen & ~near))


def _left_over(
    on_top: BoolArray, lines: tuple[Centreline, ...], picture: Rectified, scale_mm: float
) -> BoolArray:
    """Ridges away from every line, single pixels of noise left out."""
    from scipy.ndimage import binary_dilation
    from skimage.morphology import remove_small_objects

    near = binary_dilation(
        drawn(lines, picture), iterations=max(1, round(2.0 * scale_mm / picture.mm_per_pixel))
    )
    return np.asarray(remove_small_objects(on_top & ~near, max_size=2, connectivity=2))


def _filled(values: FloatArray, seen: BoolArray, pitch: float) -> FloatArray:
    """What is hidden taken from around it, the even part removed."""
    from scipy.ndimage import gaussian_filter

    sigma = _BACKGROUND_MM / pitch
    known = np.where(seen, values, 0.0)
    weight = gaussian_filter(seen.astype(np.float64), sigma)
    even = gaussian_filter(known, sigma) / np.maximum(weight, 1e-6)
    near = gaussian_filter(known, sigma / 6.0) / np.maximum(
        gaussian_filter(seen.astype(np.float64), sigma / 6.0), 1e-6
    )
    around = np.where(gaussian_filter(seen.astype(np.float64), sigma / 6.0) > 1e-3, near, even)
    return np.asarray(np.where(seen, values, around) - even)


def _filtered(values: FloatArray, sigma: float) -> _Filtered:
    from scipy.ndimage import gaussian_filter

    orders = {"r": (1, 0), "c": (0, 1), "rr": (2, 0), "rc": (1, 1), "cc": (0, 2)}
    d = {name: gaussian_filter(values, sigma, order=order) for name, order in orders.items()}
    half, mean = (d["rr"] - d["cc"]) / 2.0, (d["rr"] + d["cc"]) / 2.0
    across_curve = mean - np.hypot(half, d["rc"])
    angle = 0.5 * np.arctan2(d["rc"], half) + np.pi / 2.0  # of the more negative curvature
    across = np.stack([np.cos(angle), np.sin(angle)], axis=-1)
    slope = d["r"] * across[..., 0] + d["c"] * across[..., 1]
    with np.errstate(divide="ignore", invalid="ignore"):
        step = np.where(across_curve < 0.0, -slope / across_curve, np.inf)
    shift = np.clip(step, -1e3, 1e3)[..., None] * across
    return _Filtered(strength=np.asarray(-across_curve * sigma**2), shift=shift, across=across)


def _branches(skeleton: BoolArray) -> list[NDArray[np.intp]]:
    """Pixels of each branch in order; where three or more meet, all end."""
    from scipy.ndimage import convolve, label

    ring = np.ones((3, 3), dtype=int)
    ring[1, 1] = 0
    neighbours = convolve(skeleton.astype(int), ring, mode="constant")
    parts, count = label(skeleton & (neighbours <= 2), np.ones((3, 3)))
    places = np.argwhere(parts > 0)
    order = np.argsort(parts[tuple(places.T)], kind="stable")
    sizes = np.bincount(parts[parts > 0], minlength=count + 1)[1:]
    return [_in_order(group) for group in np.split(places[order], np.cumsum(sizes)[:-1]) if len(group)]


def _in_order(pixels: NDArray[np.intp]) -> NDArray[np.intp]:
    """Pixels of a branch from one end to the other, or once round."""
    left = {(int(r), int(c)) for r, c in pixels}
    ring = [(-1, 0), (0, 1), (1, 0), (0, -1), (-1, -1), (-1, 1), (1, 1), (1, -1)]

    def beside(at: tuple[int, int]) -> list[tuple[int, int]]:
        return [n for r, c in ring if (n := (at[0] + r, at[1] + c)) in left]

    at = min(left, key=lambda p: (len(beside(p)), p))
    path = []
    while True:
        path.append(at)
        left.discard(at)
        following = beside(at)
        if not following:
            return np.array(path)
        at = following[0]


def _finer(branch: NDArray[np.intp], shift: FloatArray) -> FloatArray:
    moved = branch + np.clip(shift[tuple(branch.T)], -1.0, 1.0)
    return np.asarray(moved)


def _joined(paths: list[FloatArray], z: FloatArray, pitch: float) -> list[tuple[FloatArray, BoolArray]]:
    """Branches linked end to end: neighbours at once, over a gap only where the ridge goes on in it."""
    parts: list[tuple[FloatArray, BoolArray] | None] = [(p, np.zeros(len(p), dtype=np.bool_)) for p in paths]
    while True:
        best = _best_join(parts, z, pitch)
        if best is None:
            return [part for part in parts if part is not None]
        i, is_first, j, is_other_first = best
        one, other = parts[i], parts[j]
        if one is None or other is None or i == j:
            return [part for part in parts if part is not None]
        left = tuple(n[::-1] for n in one) if is_first else one
        right = other if is_other_first else tuple(n[::-1] for n in other)
        gap = float(np.linalg.norm(left[0][-1] - right[0][0]))
        between = np.linspace(left[0][-1], right[0][0], max(2, int(gap) + 1))[1:-1]
        marked = np.full(len(between), gap * pitch > _JOINED_MM)
        parts[i] = (
            np.concatenate([left[0], between, right[0]]),
            np.concatenate([left[1], marked, right[1]]),
        )
        parts[j] = None


def _best_join(
    parts: list[tuple[FloatArray, BoolArray] | None], z: FloatArray, pitch: float
) -> tuple[int, bool, int, bool] | None:
    """The shortest link that bends little and is backed by the picture."""
    reach = max(3, round(60.0 / pitch))
    ends = []
    for number, part in enumerate(parts):
        if part is None:
            continue
        path = part[0]
        for is_first in (True, False):
            tip = path[0] if is_first else path[-1]
            back = path[min(reach, len(path) - 1)] if is_first else path[-1 - min(reach, len(path) - 1)]
            ahead = (tip - back) / max(float(np.linalg.norm(tip - back)), 1e-9)
            ends.append((number, is_first, tip, ahead))
    if len(ends) < 4:
        return None
    tips, aheads = np.array([e[2] for e in ends]), np.array([e[3] for e in ends])
    whose = np.array([e[0] for e in ends])
    step = tips[None, :] - tips[:, None]
    far = np.linalg.norm(step, axis=-1) * pitch
    onward = np.einsum("ijk,ik->ij", step, aheads) * pitch / np.maximum(far, 1e-9)
    met = -np.einsum("ijk,jk->ij", step, aheads) * pitch / np.maximum(far, 1e-9)
    straight = np.cos(np.radians(_TURN_DEG))
    opposite = -(aheads @ aheads.T)
    is_near = (far <= _JOINED_MM) & (opposite > 0.0)
    is_ahead = (far <= GAP_MM) & (onward > straight) & (met > straight) & (opposite > straight)
    allowed = (is_near | is_ahead) & (whose[:, None] != whose[None, :])
    cost = np.where(allowed, far * (2.0 - opposite), np.inf)
    for flat in np.argsort(cost, axis=None)[:40]:
        i, j = divmod(int(flat), len(ends))
        if not np.isfinite(cost[i, j]):
            return None
        if far[i, j] <= _JOINED_MM or _holds(tips[i], tips[j], z):
            return ends[i][0], ends[i][1], ends[j][0], ends[j][1]
    return None


def _holds(start: FloatArray, end: FloatArray, z: FloatArray) -> bool:
    """Whether the ridge goes on between two ends."""
    from scipy.ndimage import map_coordinates

    at = np.linspace(start, end, 20).T
    along = map_coordinates(np.nan_to_num(z, nan=-10.0), at, order=1, mode="nearest")
    return bool(along.mean() > _HOLDS_MEAN and along.min() > _HOLDS_LEAST)


def _line(
    path: FloatArray, bridged: BoolArray, z: FloatArray, picture: Rectified, scale_mm: float
) -> Centreline:
    from scipy.ndimage import gaussian_filter1d, map_coordinates

    smooth = gaussian_filter1d(path, _SMOOTH_MM / picture.mm_per_pixel, axis=0, mode="nearest")
    smooth = _unbent(smooth, (scale_mm**2 + _SCREED_MM**2) / picture.mm_per_pixel**2)
    strength = map_coordinates(np.nan_to_num(z), path.T, order=1, mode="nearest")
    return Centreline(line_mm=places_of(picture, smooth), strength=np.asarray(strength), is_bridged=bridged)


def _unbent(path: FloatArray, spread_px2: float) -> FloatArray:
    """A bend moved back outward: blur draws it inward by half its curvature times the spread."""
    from scipy.ndimage import gaussian_filter1d

    if len(path) < 12:
        return path
    soft = gaussian_filter1d(path, 4.0, axis=0, mode="nearest")
    ahead = np.gradient(soft, axis=0)
    bend = np.gradient(ahead, axis=0)
    speed2 = np.maximum((ahead**2).sum(axis=1), 1e-9)[:, None]
    curvature = (bend - ahead * (bend * ahead).sum(axis=1)[:, None] / speed2) / speed2
    curvature[:4] = curvature[-4:] = 0.0
    return np.asarray(path - np.clip(0.5 * spread_px2 * curvature, -3.0, 3.0))


def _spacing_mm(lines: tuple[Centreline, ...], picture: Rectified, inside: BoolArray) -> float | None:
    """Twice the usual distance of places midway between lines."""
    from scipy.ndimage import distance_transform_edt, maximum_filter

    mask = drawn(lines, picture)
    if not mask.any():
        return None
    away = distance_transform_edt(~mask) * picture.mm_per_pixel
    crest = (away == maximum_filter(away, 5)) & (away > 35.0) & (away < 200.0) & inside
    if np.count_nonzero(crest) < 10:
        return None
    # A pixel midway lies up to half a pixel nearer to the line than the true middle.
    return float(2.0 * np.median(away[crest]) + picture.mm_per_pixel / 2.0)
