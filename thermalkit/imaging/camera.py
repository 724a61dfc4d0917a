"""The forward model of a camera: what it shows of a scene whose truth is known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike

from thermalkit.measured import FloatArray
from thermalkit.physics.domain import require_within
from thermalkit.physics.radiation import LONGWAVE_UM, Band, band_exitance_w_m2, band_temperature_degc

_STUCK_DEGC = (-40.0, 120.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Camera:
    """A camera and its errors.

    `offset_k` is shared by all pixels. `vignetting_k` grows with the square of the distance from the
    centre, zero there and its value in the corners. `drift_k` runs evenly across the columns, half
    of it below zero at the left and half above at the right. `blur_px` is the standard deviation of
    the optics' spread. `step_k` rounds what is stored; 0 keeps every digit.
    """

    rows: int
    columns: int
    field_of_view_deg: tuple[float, float]
    noise_k: float = 0.05
    offset_k: float = 0.0
    vignetting_k: float = 0.0
    drift_k: float = 0.0
    blur_px: float = 0.7
    dead_pixels: int = 0
    band_um: Band = LONGWAVE_UM
    step_k: float = 0.01


def apparent_frame(
    camera: Camera,
    surface_temperature_degc: ArrayLike,
    emissivity: ArrayLike,
    reflected_temperature_degc: ArrayLike,
    rng: np.random.Generator,
) -> FloatArray:
    """The frame a camera set to emissivity 1 stores.

    Optics mix radiation, not temperature: emitted and reflected radiation within the camera's band
    are added and blurred before they become a temperature again. Noise and errors follow.

    Parameters
    ----------
    camera : Camera
    surface_temperature_degc : array_like, broadcastable to (rows, columns)
        -120 to 1000 °C.
    emissivity : array_like, broadcastable to (rows, columns)
        Within the band, 0 to 1.
    reflected_temperature_degc : array_like, broadcastable to (rows, columns)
        Apparent temperature of what each pixel mirrors.
    rng : numpy.random.Generator
        The same state gives the same frame.

    Returns
    -------
    ndarray of float64, shape (rows, columns)
        Apparent temperature in °C.

    Raises
    ------
    OutOfDomain
        A temperature or the emissivity lies outside its range.
    """
    from scipy import ndimage

    shape = (camera.rows, camera.columns)
    share = require_within("emissivity", emissivity, 0.0, 1.0)
    emitted = share * band_exitance_w_m2(surface_temperature_degc, camera.band_um)
    mirrored = (1.0 - share) * band_exitance_w_m2(reflected_temperature_degc, camera.band_um)
    received = np.broadcast_to(emitted + mirrored, shape)
    blurred = ndimage.gaussian_filter(received, camera.blur_px, mode="nearest")
    frame = band_temperature_degc(blurred, camera.band_um) + _errors(camera)
    frame = frame + rng.normal(0.0, camera.noise_k, shape)
    stuck = rng.choice(frame.size, camera.dead_pixels, replace=False)
    frame.flat[stuck] = rng.choice(_STUCK_DEGC, camera.dead_pixels)
    return np.round(frame / camera.step_k) * camera.step_k if camera.step_k else frame


def _errors(camera: Camera) -> FloatArray:
    """Errors that stay the same from frame to frame, in K, shape (rows, columns)."""
    row = np.linspace(-1.0, 1.0, camera.rows)[:, None]
    column = np.linspace(-1.0, 1.0, camera.columns)[None, :]
    radial = camera.vignetting_k * (row**2 + column**2) / 2.0
    return np.asarray(camera.offset_k + radial + camera.drift_k * column / 2.0)
