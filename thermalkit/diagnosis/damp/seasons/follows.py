"""Whether a course follows another by some hours, held against what chance would do."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from thermalkit.measured import FloatArray

_FADES_H = (1.0, 6.0, 24.0, 72.0)  # own choice: from a splash to days of drying
_SURROGATES = 299
_SEED = 14
_SHORTEST_DELAYS = 5.0  # a record is this many times the longest delay


@dataclass(frozen=True, slots=True, kw_only=True)
class Following:
    """How a course answers to another.

    `correlation` is that of the best fit, in which half of an answer has come after `half_h` hours. `chance`
    is how often a course of the same ups and downs that has nothing to do with the other fits as well.
    `hours` counts those that both were known.
    """

    correlation: float
    half_h: float
    chance: float
    hours: int


def following(response: FloatArray, driver: FloatArray, longest_h: int = 48) -> Following | None:
    """How well a response follows a driver, from at once to `longest_h` hours late.

    The driver may fade: its effect stays for an hour or for days. The fit is held against those of courses
    with the response's spectrum and random phases, so that slow ups and downs, and what repeats day by day,
    are not taken for an answer.

    Parameters
    ----------
    response, driver : ndarray of shape (hours,)
        NaN where not known; such hours weigh nothing.
    longest_h : int
        Longest delay.

    Returns
    -------
    Following or None
        None where one of the two never changes, or fewer hours are known than five times the longest delay.

    Source
    ------
    Theiler et al., Testing for nonlinearity in time series: the method of surrogate data, 1992 (random
    phases); from memory.

    Examples
    --------
    >>> rng = np.random.default_rng(1)
    >>> rain = (rng.random(500) < 0.02) * 1.0
    >>> late = np.roll(rain, 5) + 0.1 * rng.normal(size=500)
    >>> found = following(late, rain)
    >>> 5.0 < found.half_h < 7.0, found.chance < 0.01
    (True, True)
    """
    known = np.isfinite(response)
    hours = int(np.count_nonzero(known & np.isfinite(driver)))
    if hours < _SHORTEST_DELAYS * longest_h:
        return None
    templates = np.stack([_centred(faded(driver, fade)) for fade in _FADES_H])
    answer = _centred(response)
    scale = np.sqrt(np.sum(templates**2, axis=1) * np.sum(answer**2))
    if not np.all(scale > 0.0):
        return None
    spectra = np.conj(np.fft.rfft(templates, n=2 * answer.size)) / scale[:, None]
    fits = _fits(answer[None], spectra, longest_h)[0]
    fade, delay = np.unravel_index(int(np.argmax(fits)), fits.shape)
    others = _fits(_of_random_phases(answer, known), spectra, longest_h).max(axis=(1, 2))
    return Following(
        correlation=float(fits.max()),
        half_h=float(delay + np.log(2.0) * _FADES_H[int(fade)]),
        chance=float((1 + np.count_nonzero(others >= fits.max())) / (1 + others.size)),
        hours=hours,
    )


def faded(course: FloatArray, fade_h: float) -> FloatArray:
    """What is left of a course's past, fading away by 1/e in `fade_h` hours; NaN where it is not known.

    A gap adds nothing: what came before it goes on fading. Weights sum to 1.
    """
    from scipy.signal import lfilter

    known = np.isfinite(course)
    middle = float(np.mean(course[known])) if known.any() else 0.0
    kept = np.exp(-1.0 / fade_h)
    felt = lfilter([1.0 - kept], [1.0, -kept], np.where(known, course - middle, 0.0))
    return np.where(known, middle + felt, np.nan)


def _fits(answers: FloatArray, spectra: FloatArray, longest_h: int) -> FloatArray:
    """Correlation of each course with each fading driver moved later, shape (courses, fades, delays)."""
    hours = answers.shape[1]
    spectrum = np.fft.rfft(answers, n=2 * hours)
    return np.stack(
        [np.fft.irfft(spectrum * one, n=2 * hours)[:, : longest_h + 1] for one in spectra], axis=1
    )


def _of_random_phases(answer: FloatArray, known: NDArray[np.bool_]) -> FloatArray:
    """Courses with the spectrum of one and its gaps, shape (courses, hours)."""
    rng = np.random.default_rng(_SEED)
    spectrum = np.abs(np.fft.rfft(answer))
    turned = spectrum * np.exp(2j * np.pi * rng.random((_SURROGATES, spectrum.size)))
    courses = np.where(known, np.fft.irfft(turned, n=answer.size), 0.0)
    size = np.sqrt(np.sum(answer**2) / np.sum(courses**2, axis=1, keepdims=True))
    return np.asarray(courses * size)


def _centred(values: FloatArray) -> FloatArray:
    known = np.isfinite(values)
    middle = float(np.mean(values[known])) if known.any() else 0.0
    return np.where(known, values - middle, 0.0)
