"""Values with their uncertainty, propagated by Monte Carlo with fixed draws.

Every uncertain input has a *name* ("offset of the camera in frame north-02"). The draws of a name
are always the same, so an input shared by two results cancels in their difference without further
book-keeping, and two runs give the same numbers. Each name is a shuffled set of equally likely
quantiles (one-dimensional stratification), which leaves much less sampling noise than plain draws.

Source
------
JCGM 101:2008, Propagation of distributions using a Monte Carlo method (rectangular 6.4.2, normal 6.4.7).
"""

from __future__ import annotations

import hashlib
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

COVERAGE = 0.95
_ALIKE = 0.8  # correlation of what is nearly the same on two visits


@dataclass(frozen=True, slots=True, kw_only=True)
class Measured:
    """A value with the interval that holds the truth in `coverage` of cases."""

    value: float
    low: float
    high: float
    unit: str
    coverage: float = COVERAGE


class Draws:
    """Random inputs, one array per name, the same for the same name.

    Parameters
    ----------
    size : int
        Number of draws.
    known : str, optional
        A group of inputs (the word before the first space of their names) held at its middle, to see
        what knowing it would be worth.
    visit : str
        Visit to which the inputs belong. What bears the same name on two visits is drawn anew for each
        of them (the camera drifts from day to day), so that nothing cancels by an accident of naming.
    shared : tuple of str
        What this visit has in common with one that is not named: names, or their first words.
    alike : tuple of str
        What is nearly the same on both: drawn with a correlation of 0.8.

    Examples
    --------
    >>> earlier = Draws(visit="earlier", shared=("film corner",))
    >>> bool((earlier.quantiles("film corner spot") == Draws().quantiles("film corner spot")).all())
    True
    >>> bool((earlier.quantiles("camera-noise corner") == Draws().quantiles("camera-noise corner")).all())
    False
    """

    def __init__(
        self,
        size: int = 10_000,
        known: str | None = None,
        *,
        visit: str = "",
        shared: tuple[str, ...] = (),
        alike: tuple[str, ...] = (),
    ) -> None:
        self.size = size
        self.known = known
        self.visit = visit
        self.shared = shared
        self.alike = alike
        self._quantiles: dict[str, FloatArray] = {}

    def quantiles(self, name: str) -> FloatArray:
        """Equally likely quantiles in (0, 1), shuffled by the name, shape (size,)."""
        if name not in self._quantiles and name.split(" ", 1)[0] == self.known:
            self._quantiles[name] = np.full(self.size, 0.5)
        if name not in self._quantiles:
            self._quantiles[name] = self._drawn(name)
        return self._quantiles[name]

    def _drawn(self, name: str) -> FloatArray:
        """Drawn by the name alone where it is shared, else by visit and name, or by both where alike."""
        if not self.visit or _begins(name, self.shared):
            return self._shuffled(name)
        own = self._shuffled(f"{self.visit}: {name}")
        return _correlated(self._shuffled(name), own) if _begins(name, self.alike) else own

    def _shuffled(self, name: str) -> FloatArray:
        seed = int.from_bytes(hashlib.sha256(name.encode("utf-8", "surrogatepass")).digest()[:8], "big")
        order = np.random.default_rng(seed).permutation(self.size)
        return np.asarray((order + 0.5) / self.size)

    def between(self, name: str, low: float, high: float) -> FloatArray:
        """Rectangular distribution from `low` to `high`, shape (size,)."""
        return low + (high - low) * self.quantiles(name)

    def rectangular(self, name: str, half_width: float) -> FloatArray:
        """Rectangular distribution about zero, shape (size,)."""
        return self.between(name, -half_width, half_width)

    def normal(self, name: str, standard_deviation: float) -> FloatArray:
        """Normal distribution about zero, shape (size,)."""
        from scipy.special import ndtri

        return standard_deviation * np.asarray(ndtri(self.quantiles(name)), dtype=np.float64)


def _begins(name: str, firsts: tuple[str, ...]) -> bool:
    """Whether a name is one of some, or begins with the words of one."""
    return any(name == first or name.startswith(f"{first} ") for first in firsts)


def _correlated(shared: FloatArray, own: FloatArray) -> FloatArray:
    """Equally likely quantiles that lie near the shared ones (normal copula)."""
    from scipy.special import ndtri

    mixed = _ALIKE * ndtri(shared) + np.sqrt(1.0 - _ALIKE**2) * ndtri(own)
    return np.asarray((np.argsort(np.argsort(mixed)) + 0.5) / shared.size)


def measured(draws: FloatArray, unit: str) -> Measured:
    """Median and central 95 % interval of the draws of a result.

    Examples
    --------
    >>> draws = Draws()
    >>> result = measured(12.0 + draws.rectangular("offset", 2.0), "degC")
    >>> round(result.value, 2), round(result.low, 2), round(result.high, 2)
    (12.0, 10.1, 13.9)
    """
    tail = (1.0 - COVERAGE) / 2.0
    low, value, high = np.quantile(draws, [tail, 0.5, 1.0 - tail])
    return Measured(value=float(value), low=float(low), high=float(high), unit=unit)
