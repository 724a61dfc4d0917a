"""Two pictures of one plane laid over one another by pairs of points.

Holds in the plane of the points: what stands before or behind it is displaced by parallax, the more the
farther the two cameras stood apart. Points are (row, column), pixel centres.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import combinations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from thermalkit.errors import ThermalkitError
from thermalkit.imaging import homography
from thermalkit.imaging.homography import Units
from thermalkit.language import Sentence, say
from thermalkit.measured import FloatArray

LEAST_PAIRS = 4
MOST_PAIRS = 200
CLICK_PX = 1.0  # standard deviation of a careful click, common practice
NARROW = 0.04  # height of a triangle over the extent of the points, below which it counts as a line
CLOSE = 0.01  # of the extent: one place clicked twice
LEAST_DENOMINATOR = 0.1  # of the middle's: nearer the horizon nothing can be read
SHARE_BEYOND = 0.01  # of honest pairs that a test may call a slip
TELLING = 6.0  # how much more a group of pairs must disagree than the best one: 19 to 1 in likelihood
MOST_LOOKED_THROUGH = 10  # pairs of which every group is tried
MOST_SUBSETS = 500


class Unaligned(ThermalkitError):
    """Pairs that fix no map."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Alignment:
    """A map from one picture to another, with its uncertainty.

    `residual_px` is how far from its map each second point was clicked, shape (pairs,). `left_out` are the
    pairs that contradict all others; `is_consistent` is false where pairs contradict one another and it
    cannot be told which is wrong. Four pairs fit exactly, right or wrong: then `is_checked` is false, unless
    edges led on from them (`is_led`) and agree.
    """

    pairs: FloatArray  # (pairs, first or second, row or column)
    residual_px: FloatArray
    left_out: tuple[int, ...] = ()
    is_consistent: bool = True
    is_led: bool = False
    core: FloatArray
    covariance: FloatArray
    first: Units
    second: Units

    @property
    def is_checked(self) -> bool:
        """Whether more pairs than necessary agree, or edges with them."""
        used = len(self.pairs) - len(self.left_out)
        return self.is_consistent and (self.is_led or used > LEAST_PAIRS)

    @property
    def rms_px(self) -> float:
        """Root mean square of the residuals of the pairs in use."""
        used = np.delete(self.residual_px, self.left_out)
        return float(np.sqrt(np.mean(used**2)))

    @property
    def worst(self) -> int:
        """Index of the pair that lies farthest off."""
        return int(np.argmax(self.residual_px))

    @property
    def matrix(self) -> FloatArray:
        """The map on (row, column, 1), up to a factor, shape (3, 3)."""
        into, out = self.first, self.second
        normal = np.diag([1.0 / into.length, 1.0 / into.length, 1.0])
        normal[:2, 2] = -into.row / into.length, -into.column / into.length
        back = np.diag([out.length, out.length, 1.0])
        back[:2, 2] = out.row, out.column
        whole = back @ np.append(self.core, 1.0).reshape(3, 3) @ normal
        return np.asarray(whole / whole[2, 2])

    def mapped(self, points: ArrayLike) -> FloatArray:
        """Points of the first picture in the second, shape (points, 2); NaN beyond the horizon."""
        into = self.first.into(np.asarray(points, dtype=np.float64))
        images = self.second.out_of(homography.mapped(self.core, into))
        beyond = homography.denominator(self.core, into) < LEAST_DENOMINATOR / 10
        return np.asarray(np.where(beyond[..., None], np.nan, images))

    def onto_enlarged(self, factor: float) -> Alignment:
        """The same map onto the second picture enlarged: its pixel p lies at (p + 0.5) * factor - 0.5."""
        pairs, second = self.pairs.copy(), self.second
        pairs[:, 1] = (pairs[:, 1] + 0.5) * factor - 0.5
        row, column = ((middle + 0.5) * factor - 0.5 for middle in (second.row, second.column))
        units = Units(row, column, second.length * factor)
        return replace(self, pairs=pairs, residual_px=self.residual_px * factor, second=units)

    def covariance_at(self, points: ArrayLike) -> FloatArray:
        """Covariance of mapped points in square pixels of the second picture, shape (points, 2, 2)."""
        slope = homography.by_map(self.core, self.first.into(np.asarray(points, dtype=np.float64)))
        spread = np.einsum("...ij,jk,...lk->...il", slope, self.covariance, slope)
        return np.asarray(spread * self.second.length**2)

    def drawn(self, points: ArrayLike, normal: FloatArray) -> FloatArray:
        """Mapped points for each draw of the map.

        Parameters
        ----------
        points : array_like, shape (points, 2)
        normal : ndarray, shape (draws, 8)
            Standard normal draws.

        Returns
        -------
        ndarray, shape (draws, points, 2)
        """
        size, turn = np.linalg.eigh(self.covariance)
        cores = self.core + (normal * np.sqrt(np.maximum(size, 0.0))) @ turn.T
        into = self.first.into(np.asarray(points, dtype=np.float64))
        return self.second.out_of(homography.mapped(cores, np.broadcast_to(into, (len(cores), *into.shape))))


def align(
    first: ArrayLike,
    second: ArrayLike,
    *,
    scatter_px: tuple[float, float] = (CLICK_PX, CLICK_PX),
    shape: tuple[int, int] | None = None,
    may_mirror: bool = False,
) -> Alignment:
    """The map from one picture to another through pairs of points.

    Parameters
    ----------
    first, second : array_like, shape (pairs, 2)
        The same places in both pictures, four or more.
    scatter_px : (float, float)
        Standard deviation of a click in the first and in the second picture. The covariance rests on it;
        where pairs in excess lie farther apart than that, it grows by what they show.
    shape : (rows, columns), optional
        Size of the first picture; a map that folds over inside it is refused.
    may_mirror : bool
        Whether the second side may be seen mirrored, as a drawing with its second axis upward is.

    Returns
    -------
    Alignment

    Raises
    ------
    Unaligned
        Fewer than four pairs, one place twice, three on a line, two exchanged, or a fold.

    Examples
    --------
    >>> corners = [[0, 0], [0, 100], [80, 100], [80, 0]]
    >>> shifted = align(corners, [[10, 5], [10, 105], [90, 105], [90, 5]])
    >>> shifted.mapped([[40, 50]]).round(3)
    array([[50., 55.]])
    """
    pairs = np.stack([np.asarray(points, dtype=np.float64).reshape(-1, 2) for points in (first, second)], 1)
    if len(pairs) < LEAST_PAIRS:
        raise Unaligned(say("alignment.too-few", count=len(pairs), least=LEAST_PAIRS))
    _refuse_repeated(pairs)
    subsets = _sound_subsets(pairs, may_mirror=may_mirror)
    found = _fitted(pairs, np.arange(len(pairs)), scatter_px)
    if len(pairs) > LEAST_PAIRS and not _agrees(found, scatter_px):
        found = _without_slips(pairs, subsets, scatter_px)
    if shape is not None and _folds(found, shape):
        raise Unaligned(say("alignment.folds"))
    return found


def corners_of(shape: tuple[int, int]) -> FloatArray:
    """Outer corner pixels of a picture, clockwise from the upper left, shape (4, 2)."""
    bottom, right = shape[0] - 1.0, shape[1] - 1.0
    return np.array([[0.0, 0.0], [0.0, right], [bottom, right], [bottom, 0.0]])


def warped(values: ArrayLike, alignment: Alignment, shape: tuple[int, int]) -> FloatArray:
    """The second picture as the first one sees it.

    Parameters
    ----------
    values : array_like, shape (rows, columns)
        The second picture; NaN where masked.
    alignment : Alignment
    shape : (rows, columns)
        Size of the first picture.

    Returns
    -------
    ndarray of float64, shape `shape`
        Linear between pixels; NaN outside the second picture and beside masked pixels.
    """
    from scipy import ndimage

    grid = np.moveaxis(np.mgrid[: shape[0], : shape[1]], 0, -1).reshape(-1, 2)
    places = np.nan_to_num(alignment.mapped(grid), nan=-1e6)
    taken = ndimage.map_coordinates(
        np.asarray(values, dtype=np.float64), places.T, order=1, mode="constant", cval=np.nan
    )
    return np.asarray(taken.reshape(shape))


def _fitted(pairs: FloatArray, used: NDArray[np.intp], scatter_px: tuple[float, float]) -> Alignment:
    """The best map through some of the pairs; residuals of all of them."""
    units = tuple(Units.of(pairs[used, side]) for side in (0, 1))
    sides = tuple(unit.into(pairs[:, side]) for side, unit in enumerate(units))
    scatter = _scatter(scatter_px, units, len(used))
    core, covariance = homography.fitted(sides[0][used], sides[1][used], scatter)
    missed = sides[1] - homography.mapped(core, sides[0])
    found = Alignment(
        pairs=pairs,
        residual_px=np.linalg.norm(missed, axis=1) * units[1].length,
        left_out=tuple(i for i in range(len(pairs)) if i not in used),
        core=core,
        covariance=covariance,
        first=units[0],
        second=units[1],
    )
    if len(used) == LEAST_PAIRS:
        return found
    excess = max(1.0, _misfit(found, scatter_px) / (2 * len(used) - 8))
    return replace(found, covariance=covariance * excess)


def _scatter(
    scatter_px: tuple[float, float], units: tuple[Units, ...], count: int
) -> tuple[FloatArray, FloatArray]:
    first, second = (np.full(count, px / unit.length) for px, unit in zip(scatter_px, units, strict=True))
    return first, second


def _misfit(found: Alignment, scatter_px: tuple[float, float]) -> float:
    """Sum of squares of what is left at the pairs in use, over what clicks explain."""
    used = np.setdiff1d(np.arange(len(found.pairs)), found.left_out)
    sides = tuple(unit.into(found.pairs[used, side]) for side, unit in enumerate((found.first, found.second)))
    scatter = _scatter(scatter_px, (found.first, found.second), len(used))
    missed = sides[1] - homography.mapped(found.core, sides[0])
    weights = np.linalg.inv(homography.covariances(found.core, sides[0], scatter))
    return float(np.einsum("ni,nij,nj->", missed, weights, missed))


def _agrees(found: Alignment, scatter_px: tuple[float, float]) -> bool:
    """Whether the residuals of the pairs in use are what clicks explain."""
    from scipy.special import chdtri

    used = len(found.pairs) - len(found.left_out)
    return bool(_misfit(found, scatter_px) <= chdtri(2 * used - 8, SHARE_BEYOND))


def _without_slips(
    pairs: FloatArray, subsets: NDArray[np.intp], scatter_px: tuple[float, float]
) -> Alignment:
    """The map of the largest group of pairs that agree, where it can be told from all others.

    Of few pairs every group is looked at, of many those that random sample consensus finds. More than half
    of the pairs must agree, and one in excess of four; else the map of all is returned as inconsistent.
    """
    count = len(pairs)
    if count > MOST_LOOKED_THROUGH:
        groups = _consensus(pairs, subsets, scatter_px)
        best = _settled(pairs, groups[np.argmax(groups.sum(axis=1))], scatter_px)
        if count - len(best.left_out) > count / 2:
            return best
    most = min(count - LEAST_PAIRS - 1, (count - 1) // 2) if count <= MOST_LOOKED_THROUGH else 0
    for slips in range(1, most + 1):
        lefts = [np.array(left) for left in combinations(range(count), slips)]
        every = np.arange(count)
        found: list[Alignment] = [_fitted(pairs, np.setdiff1d(every, left), scatter_px) for left in lefts]
        misfits = np.array([_misfit(one, scatter_px) for one in found])
        order = np.argsort(misfits)
        if _agrees(found[int(order[0])], scatter_px):
            if len(order) > 1 and misfits[order[1]] < misfits[order[0]] + TELLING:
                break
            return found[int(order[0])]
    return replace(_fitted(pairs, np.arange(count), scatter_px), is_consistent=False)


def _settled(pairs: FloatArray, group: NDArray[np.bool_], scatter_px: tuple[float, float]) -> Alignment:
    """The map of a group, which loses and takes in pairs by that map until it stays the same."""
    from scipy.special import chdtri

    far = chdtri(2, SHARE_BEYOND) * (scatter_px[0] ** 2 + scatter_px[1] ** 2)
    found = _fitted(pairs, np.flatnonzero(group), scatter_px)
    for _ in range(10):
        near = found.residual_px**2 <= far
        if np.array_equal(near, group) or np.count_nonzero(near) < LEAST_PAIRS:
            break
        group = near
        found = _fitted(pairs, np.flatnonzero(group), scatter_px)
    return found


def _consensus(
    pairs: FloatArray, subsets: NDArray[np.intp], scatter_px: tuple[float, float]
) -> NDArray[np.bool_]:
    """Which pairs agree with the map of each subset of four, shape (subsets, pairs)."""
    from scipy.special import chdtri

    units = tuple(Units.of(pairs[:, side]) for side in (0, 1))
    sides = [unit.into(pairs[:, side]) for side, unit in enumerate(units)]
    four, four_ = sides[0][subsets], sides[1][subsets]
    cores = homography.through_four(four, four_)
    scatter = _scatter(scatter_px, units, len(pairs))
    own = homography.covariances(cores, four, (scatter[0][:4], scatter[1][:4]))
    back = np.linalg.inv(homography.by_map(cores, four).reshape(-1, 8, 8))
    noise = np.zeros((len(subsets), 8, 8))
    for i in range(LEAST_PAIRS):
        noise[:, 2 * i : 2 * i + 2, 2 * i : 2 * i + 2] = own[:, i]
    every = np.broadcast_to(sides[0], (len(subsets), *sides[0].shape))
    slope = homography.by_map(cores, every) @ back[:, None]
    spread = np.einsum("snij,sjk,snlk->snil", slope, noise, slope)
    spread = spread + homography.covariances(cores, every, scatter)
    missed = sides[1] - homography.mapped(cores, every)
    far = np.einsum("sni,snij,snj->sn", missed, np.linalg.inv(spread), missed)
    groups = far <= chdtri(2, SHARE_BEYOND)
    np.put_along_axis(groups, subsets, values=True, axis=1)
    return np.asarray(groups & (homography.denominator(cores, every) > 0.0))


def _refuse_repeated(pairs: FloatArray) -> None:
    for side in (0, 1):
        extent = float(np.max(np.ptp(pairs[:, side], axis=0)))
        for i, j in combinations(range(len(pairs)), 2):
            if np.linalg.norm(pairs[i, side] - pairs[j, side]) <= CLOSE * extent:
                raise Unaligned(say("alignment.repeated", first=i + 1, second=j + 1))


def _sound_subsets(pairs: FloatArray, *, may_mirror: bool) -> NDArray[np.intp]:
    """Subsets of four with no three on a line that go round the same way in both pictures."""
    subsets = np.array(list(_fours(len(pairs))))
    turns = np.stack([_turns(pairs[:, side], subsets) for side in (0, 1)])  # side, subset, triangle
    extents = [float(np.max(np.ptp(pairs[:, side], axis=0))) for side in (0, 1)]
    heights = np.min(np.abs(turns) / np.array(extents)[:, None, None], axis=0)
    narrow = np.asarray(heights < NARROW)
    is_flat = np.asarray(narrow.any(axis=1))
    if is_flat.all():
        triangle = np.argmax(narrow[0])
        named = {name: int(subsets[0][k]) + 1 for name, k in zip("abc", _TRIANGLES[triangle], strict=True)}
        raise Unaligned(
            say("alignment.on-a-line", **named)
            if len(pairs) == LEAST_PAIRS
            else say("alignment.all-on-a-line")
        )
    same = np.sign(turns[0]) * np.sign(turns[1])
    goes_round = (same > 0).all(axis=1) | ((same < 0).all(axis=1) & may_mirror)
    sound = subsets[~is_flat & goes_round]
    if len(sound) == 0:
        raise Unaligned(_crossing(pairs, may_mirror=may_mirror))
    return np.asarray(sound)


_TRIANGLES = tuple(combinations(range(LEAST_PAIRS), 3))


def _turns(points: FloatArray, subsets: NDArray[np.intp]) -> FloatArray:
    """Signed height of each triangle of each subset over its longest side, shape (subsets, 4)."""
    heights = []
    for triangle in _TRIANGLES:
        a, b, c = (points[subsets[:, k]] for k in triangle)
        u, v = b - a, c - a
        longest = np.max([np.linalg.norm(side, axis=1) for side in (u, v, c - b)], axis=0)
        heights.append((u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]) / longest)
    return np.stack(heights, axis=1)


def _crossing(pairs: FloatArray, *, may_mirror: bool) -> Sentence:
    """Which two pairs seem to be exchanged, where only one exchange mends the order."""
    if len(pairs) == LEAST_PAIRS:
        mending = []
        for i, j in combinations(range(LEAST_PAIRS), 2):
            second = pairs[:, 1].copy()
            second[[i, j]] = second[[j, i]]
            turns = [_turns(points, np.arange(LEAST_PAIRS)[None]) for points in (pairs[:, 0], second)]
            same = np.sign(turns[0]) * np.sign(turns[1])
            if (same > 0).all() or (may_mirror and (same < 0).all()):
                mending.append((i + 1, j + 1))
        if len(mending) == 1:
            return say("alignment.exchanged", first=mending[0][0], second=mending[0][1])
    return say("alignment.crossing")


def _fours(count: int) -> Iterator[tuple[int, ...]]:
    """Every subset of four, or as many as can be looked at, the same each time."""
    every = combinations(range(count), LEAST_PAIRS)
    if count * (count - 1) * (count - 2) * (count - 3) // 24 <= MOST_SUBSETS:
        yield from every
        return
    rng = np.random.default_rng(count)
    for _ in range(MOST_SUBSETS):
        yield tuple(sorted(rng.choice(count, LEAST_PAIRS, replace=False).tolist()))


def _folds(found: Alignment, shape: tuple[int, int]) -> bool:
    """Whether the horizon of the map runs through the first picture."""
    below = homography.denominator(found.core, found.first.into(corners_of(shape)))
    return bool(np.min(below) < LEAST_DENOMINATOR)
