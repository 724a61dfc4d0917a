"""From the numbers of a frame's file to apparent temperatures and the size of a pixel."""

from __future__ import annotations

import math

import numpy as np

from thermalkit.errors import OutOfDomain
from thermalkit.measured import FloatArray
from thermalkit.physics.radiation import LONGWAVE_UM, apparent_temperature_degc
from thermalkit.site.model import FrameKeys, InstrumentKeys

_SAME_RATIO = 0.05  # two axes of an enlarged file may differ by this share


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
        detector = f"a detector of {sides[0]} rows and {sides[1]} columns"
        raise OutOfDomain(f"{rows} rows and {columns} columns do not fit {detector}")
    return math.sqrt(down * across)


def frame_notes(keys: FrameKeys, scale: float) -> list[str]:
    """What was done to the values of a frame, in words."""
    notes = []
    if keys.values == "camera-corrected" and keys.camera_emissivity is not None:
        notes.append(f"{keys.file}: emissivity {keys.camera_emissivity:g} applied by the camera was undone")
    if scale > 1.0:
        notes.append(f"{keys.file}: enlarged {scale:.3g} times from the detector's own pixels")
    return notes
