"""What a thermal camera receives: radiation within its band, emitted, reflected and from the path.

A camera set to emissivity 1 shows the *apparent temperature*: that of the black body that would send
the same radiation within the camera's band. `apparent_temperature_degc` computes it from a surface,
`surface_temperature_degc` is its exact inverse. All arguments broadcast; NaN passes through.

Values that a camera has already corrected are undone by the same forward function: give
`apparent_temperature_degc` the shown temperature with the emissivity and the reflected temperature the
camera was set to.

Source
------
Planck's law with CODATA 2018 constants. Measuring equation after ISO 18434-1 (from memory); fraction of
a band by the series in Howell, Thermal Radiation Heat Transfer (from memory).
"""

from __future__ import annotations

from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.language import say
from thermalkit.physics.domain import FloatArray, require_within

Band = tuple[float, float]

LONGWAVE_UM: Band = (7.5, 14.0)
COLDEST_DEGC = -120.0
HOTTEST_DEGC = 1000.0

_SIGMA = 5.670374419e-8  # W/(m² K⁴)
_C2 = 14_387.768775  # µm K
_ZERO_KELVIN = 273.15
_PLANCK_SHARE = 15.0 / np.pi**4
_TABLE_STEP_K = 0.3


def blackbody_fraction(wavelength_temperature_um_kelvin: ArrayLike) -> FloatArray:
    """Share of black-body radiation at wavelengths below λ, a function of λT alone.

    Parameters
    ----------
    wavelength_temperature_um_kelvin : array_like, any shape
        λT, 200 to 200 000 µm K.

    Returns
    -------
    ndarray of float64, same shape
        0 to 1.

    Raises
    ------
    OutOfDomain
        λT lies outside its range.

    Source
    ------
    Howell, Thermal Radiation Heat Transfer, series for the fraction (from memory).

    Examples
    --------
    >>> blackbody_fraction([2897.77, 4107.0]).round(4)
    array([0.2501, 0.5   ])
    """
    product = require_within(
        "wavelength_temperature_um_kelvin", wavelength_temperature_um_kelvin, 200.0, 200_000.0
    )
    return _fraction(_C2 / product)


def _fraction(x: FloatArray) -> FloatArray:
    # e^-nx falls below double precision at nx = 37, so the largest wavelength decides how many terms.
    smallest = np.fmin.reduce(x, axis=None, initial=37.0)
    step = np.exp(-x)
    power = np.ones_like(step)
    total = np.zeros_like(step)
    for n in range(1, int(np.ceil(37.0 / smallest)) + 1):
        power = power * step
        total = total + power / n * (((x + 3.0 / n) * x + 6.0 / n**2) * x + 6.0 / n**3)
    return _PLANCK_SHARE * total


def band_exitance_w_m2(temperature_degc: ArrayLike, band_um: Band = LONGWAVE_UM) -> FloatArray:
    """Radiation a black body sends out within a band of wavelengths.

    Parameters
    ----------
    temperature_degc : array_like, any shape
        -120 to 1000 °C.
    band_um : (low, high)
        Wavelengths in µm, within 1.5 to 25.

    Returns
    -------
    ndarray of float64, same shape
        W/m².

    Raises
    ------
    OutOfDomain
        A temperature or a wavelength lies outside its range, or the band is empty.

    Source
    ------
    Planck's law, integrated over the band.

    Examples
    --------
    >>> band_exitance_w_m2([20.0, 30.0]).round(2)
    array([167.01, 195.66])
    """
    theta = require_within("temperature_degc", temperature_degc, COLDEST_DEGC, HOTTEST_DEGC)
    return _exitance(theta + _ZERO_KELVIN, _checked(band_um))


def _checked(band_um: Band) -> Band:
    low = float(require_within(say("physics.name.band-low"), band_um[0], 1.5, 25.0))
    return low, float(require_within(say("physics.name.band-high"), band_um[1], low + 0.1, 25.0))


def _exitance(kelvin: FloatArray, band_um: Band) -> FloatArray:
    low, high = band_um
    return _SIGMA * kelvin**4 * (_fraction(_C2 / (high * kelvin)) - _fraction(_C2 / (low * kelvin)))


def temperature_exponent(temperature_degc: ArrayLike, band_um: Band = LONGWAVE_UM) -> FloatArray:
    """Exponent n of the power law T^n that follows the band radiation at a temperature.

    Parameters
    ----------
    temperature_degc : array_like, any shape
        -120 to 1000 °C.
    band_um : (low, high)
        Wavelengths in µm, within 1.5 to 25.

    Returns
    -------
    ndarray of float64, same shape
        d ln M / d ln T; 4 for the whole spectrum, about 4.7 for a camera indoors.

    Raises
    ------
    OutOfDomain
        A temperature or a wavelength lies outside its range, or the band is empty.

    Source
    ------
    Planck's law, derivative of the band integral.

    Examples
    --------
    >>> temperature_exponent(20.0).round(1)
    np.float64(4.8)
    """
    theta = require_within("temperature_degc", temperature_degc, COLDEST_DEGC, HOTTEST_DEGC)
    band_um = _checked(band_um)
    kelvin = theta + _ZERO_KELVIN
    return _exponent(kelvin, _exitance(kelvin, band_um), band_um)


def _exponent(kelvin: FloatArray, exitance: FloatArray, band_um: Band) -> FloatArray:
    low, high = (_C2 / (end * kelvin) for end in band_um)
    edges = high**4 / np.expm1(high) - low**4 / np.expm1(low)
    return 4.0 + _PLANCK_SHARE * _SIGMA * kelvin**4 * edges / exitance


def band_temperature_degc(exitance_w_m2: ArrayLike, band_um: Band = LONGWAVE_UM) -> FloatArray:
    """Temperature of the black body that sends out this radiation within a band.

    Parameters
    ----------
    exitance_w_m2 : array_like, any shape
        W/m².
    band_um : (low, high)
        Wavelengths in µm, within 1.5 to 25.

    Returns
    -------
    ndarray of float64, same shape
        °C, exact inverse of `band_exitance_w_m2`; NaN where no temperature from -120 to 1000 °C sends
        this much (zero and less included).

    Raises
    ------
    OutOfDomain
        A wavelength lies outside its range, or the band is empty.

    Source
    ------
    Planck's law; one Newton step on the exact series from a dense table.

    Examples
    --------
    >>> band_temperature_degc([167.009, -1.0]).round(2)
    array([20., nan])
    """
    exitance = np.asarray(exitance_w_m2, dtype=np.float64)
    band_um = _checked(band_um)
    log_exitance, kelvin = _inverse_table(band_um)
    log_wanted = np.log(np.where(exitance > 0.0, exitance, np.nan))
    start = np.asarray(np.interp(log_wanted, log_exitance, kelvin, left=np.nan, right=np.nan))
    reached = _exitance(start, band_um)
    closer = (log_wanted - np.log(reached)) / _exponent(start, reached, band_um)
    return np.clip(start * np.exp(closer) - _ZERO_KELVIN, COLDEST_DEGC, HOTTEST_DEGC)


@lru_cache(maxsize=16)
def _inverse_table(band_um: Band) -> tuple[FloatArray, FloatArray]:
    # A hair wider than the range, so that rounding cannot push its two ends out.
    coldest, hottest = COLDEST_DEGC - 1e-6 + _ZERO_KELVIN, HOTTEST_DEGC + 1e-6 + _ZERO_KELVIN
    kelvin = np.geomspace(coldest, hottest, 4096)
    return np.log(_exitance(kelvin, band_um)), kelvin


def apparent_temperature_degc(
    surface_temperature_degc: ArrayLike,
    emissivity: ArrayLike,
    reflected_temperature_degc: ArrayLike,
    *,
    transmittance: ArrayLike = 1.0,
    path_temperature_degc: ArrayLike | None = None,
    band_um: Band = LONGWAVE_UM,
) -> FloatArray:
    """Temperature a camera set to emissivity 1 shows for a surface.

    Also what a camera's own correction started from: give the shown temperature with the emissivity
    and the reflected temperature the camera was set to.

    Parameters
    ----------
    surface_temperature_degc : array_like, any shape
        -120 to 1000 °C.
    emissivity : array_like, broadcastable
        Of the surface within the band, 0.01 to 1.
    reflected_temperature_degc : array_like, broadcastable
        Reflected apparent temperature, -120 to 1000 °C.
    transmittance : array_like, broadcastable
        Of the path between surface and camera, 0.01 to 1.
    path_temperature_degc : array_like, broadcastable
        Of the air or window on the path; not needed where it lets everything through.
    band_um : (low, high)
        Wavelengths in µm, within 1.5 to 25.

    Returns
    -------
    ndarray of float64, broadcast shape
        °C.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.
    ValueError
        The path absorbs and its temperature is missing.

    Source
    ------
    ISO 18434-1, measuring equation (from memory), with band radiation.

    Examples
    --------
    >>> apparent_temperature_degc(12.0, 0.93, 21.0).round(2)
    np.float64(12.66)
    """
    gain, offset = _path(
        emissivity, reflected_temperature_degc, transmittance, path_temperature_degc, band_um
    )
    theta = require_within("surface_temperature_degc", surface_temperature_degc, COLDEST_DEGC, HOTTEST_DEGC)
    return band_temperature_degc(gain * band_exitance_w_m2(theta, band_um) + offset, band_um)


def surface_temperature_degc(
    apparent_temperature_degc: ArrayLike,
    emissivity: ArrayLike,
    reflected_temperature_degc: ArrayLike,
    *,
    transmittance: ArrayLike = 1.0,
    path_temperature_degc: ArrayLike | None = None,
    band_um: Band = LONGWAVE_UM,
) -> FloatArray:
    """Temperature of a surface from what a camera set to emissivity 1 shows.

    Parameters
    ----------
    apparent_temperature_degc : array_like, any shape
        -120 to 1000 °C.
    emissivity : array_like, broadcastable
        Of the surface within the band, 0.01 to 1.
    reflected_temperature_degc : array_like, broadcastable
        Reflected apparent temperature, -120 to 1000 °C.
    transmittance : array_like, broadcastable
        Of the path between surface and camera, 0.01 to 1.
    path_temperature_degc : array_like, broadcastable
        Of the air or window on the path; not needed where it lets everything through.
    band_um : (low, high)
        Wavelengths in µm, within 1.5 to 25.

    Returns
    -------
    ndarray of float64, broadcast shape
        °C; NaN where the situation is impossible, that is where reflection and path alone would show
        more than was seen, or where no surface from -120 to 1000 °C explains it.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.
    ValueError
        The path absorbs and its temperature is missing.

    Notes
    -----
    Exact inverse of `apparent_temperature_degc`. Below an emissivity of about 0.5 the result hangs on
    the reflected temperature more than on the surface.

    Source
    ------
    ISO 18434-1, measuring equation (from memory), with band radiation.

    Examples
    --------
    >>> surface_temperature_degc(12.66, 0.93, 21.0).round(2)
    np.float64(12.0)
    """
    gain, offset = _path(
        emissivity, reflected_temperature_degc, transmittance, path_temperature_degc, band_um
    )
    seen = require_within("apparent_temperature_degc", apparent_temperature_degc, COLDEST_DEGC, HOTTEST_DEGC)
    return band_temperature_degc((band_exitance_w_m2(seen, band_um) - offset) / gain, band_um)


def _path(
    emissivity: ArrayLike,
    reflected_temperature_degc: ArrayLike,
    transmittance: ArrayLike,
    path_temperature_degc: ArrayLike | None,
    band_um: Band,
) -> tuple[FloatArray, FloatArray]:
    """What the camera receives is gain * exitance of the surface + offset."""
    eps = require_within("emissivity", emissivity, 0.01, 1.0)
    tau = require_within("transmittance", transmittance, 0.01, 1.0)
    reflected = require_within(
        "reflected_temperature_degc", reflected_temperature_degc, COLDEST_DEGC, HOTTEST_DEGC
    )
    offset = tau * (1.0 - eps) * band_exitance_w_m2(reflected, band_um)
    if path_temperature_degc is not None:
        path = require_within("path_temperature_degc", path_temperature_degc, COLDEST_DEGC, HOTTEST_DEGC)
        offset = offset + (1.0 - tau) * band_exitance_w_m2(path, band_um)
    elif np.any(tau < 1.0):
        raise ValueError("path_temperature_degc is missing: a path that absorbs sends radiation of its own")
    return tau * eps, offset


def frame_surface_temperature_degc(
    apparent_frame_degc: ArrayLike,
    emissivity: float,
    reflected_temperature_degc: float,
    *,
    transmittance: float = 1.0,
    path_temperature_degc: float | None = None,
    band_um: Band = LONGWAVE_UM,
) -> FloatArray:
    """`surface_temperature_degc` for a whole frame with one setting, within 1 mK and much faster.

    Parameters
    ----------
    apparent_frame_degc : array_like, any shape
        -120 to 1000 °C; NaN for masked pixels.
    emissivity, reflected_temperature_degc, transmittance, path_temperature_degc, band_um
        As in `surface_temperature_degc`, one number each.

    Returns
    -------
    ndarray of float64, same shape
        °C; NaN where masked or impossible.

    Raises
    ------
    OutOfDomain
        An input lies outside its range.
    ValueError
        The path absorbs and its temperature is missing.

    Notes
    -----
    With one setting the surface temperature is a single rising function of the apparent one. A table
    with even steps of the *surface* temperature stays accurate where that function becomes steep.

    Source
    ------
    As `surface_temperature_degc`.

    Examples
    --------
    >>> frame_surface_temperature_degc([[12.66, float("nan")]], 0.93, 21.0).round(2)
    array([[12., nan]])
    """
    frame = np.asarray(apparent_frame_degc, dtype=np.float64)
    settings: dict[str, Any] = {
        "emissivity": emissivity,
        "reflected_temperature_degc": reflected_temperature_degc,
        "transmittance": transmittance,
        "path_temperature_degc": path_temperature_degc,
        "band_um": band_um,
    }
    extremes = [reduce(frame, axis=None, initial=np.nan) for reduce in (np.fmin.reduce, np.fmax.reduce)]
    found = surface_temperature_degc(extremes, **settings) + np.array([-_TABLE_STEP_K, _TABLE_STEP_K])
    limits = np.array([COLDEST_DEGC, HOTTEST_DEGC])
    low, high = np.clip(np.where(np.isnan(found), limits, found), *limits)
    surface = np.linspace(low, high, int((high - low) / _TABLE_STEP_K) + 2)
    shown = apparent_temperature_degc(surface, **settings)
    return np.interp(frame, shown, surface, left=np.nan, right=np.nan)


def emissivity(
    surface_temperature_degc: ArrayLike,
    apparent_temperature_degc: ArrayLike,
    reflected_temperature_degc: ArrayLike,
    *,
    band_um: Band = LONGWAVE_UM,
) -> FloatArray:
    """Emissivity of a surface whose true temperature is known from a contact reading or from tape.

    Parameters
    ----------
    surface_temperature_degc : array_like, any shape
        True temperature, -120 to 1000 °C; best 20 K away from the surroundings.
    apparent_temperature_degc : array_like, broadcastable
        Shown by a camera set to emissivity 1, -120 to 1000 °C.
    reflected_temperature_degc : array_like, broadcastable
        Reflected apparent temperature, -120 to 1000 °C.
    band_um : (low, high)
        Wavelengths in µm, within 1.5 to 25.

    Returns
    -------
    ndarray of float64, broadcast shape
        Not limited to 0 to 1, so that contradictory readings show; NaN where surface and surroundings
        are equally warm.

    Raises
    ------
    OutOfDomain
        An input lies outside its range, or the band is empty.

    Source
    ------
    ISO 18434-1 and ASTM E1933, contact and reference-material methods (from memory).

    Examples
    --------
    >>> emissivity(60.0, 55.0, 20.0).round(3)
    np.float64(0.856)
    """
    surface = band_exitance_w_m2(surface_temperature_degc, band_um)
    seen = band_exitance_w_m2(apparent_temperature_degc, band_um)
    reflected = band_exitance_w_m2(reflected_temperature_degc, band_um)
    contrast = surface - reflected
    return (seen - reflected) / np.where(contrast == 0.0, np.nan, contrast)
