"""Frames enlarged by a reference library, and some that were not."""

import io

import numpy as np
import pytest
from PIL import Image
from scipy import ndimage

from thermalkit.imaging.enlarged import enlarged_from

WAYS = {
    "nearest": Image.Resampling.NEAREST,
    "linear": Image.Resampling.BILINEAR,
    "cubic": Image.Resampling.BICUBIC,
}


def detector(seed: int, rows: int, columns: int) -> np.ndarray:
    y, x = np.mgrid[0:rows, 0:columns] / rows
    degc = 18 + 3 * x - 2 * y + 5 * ((y > 0.6) & (x > 0.3) & (x < 0.7))
    degc = ndimage.gaussian_filter(degc, 0.7)
    return degc + np.random.default_rng(seed).normal(0, 0.06, degc.shape)


def enlarged(degc: np.ndarray, factor: int, way: str) -> np.ndarray:
    size = (degc.shape[1] * factor, degc.shape[0] * factor)
    return np.asarray(Image.fromarray(degc.astype(np.float32)).resize(size, WAYS[way])).astype(float)


def saved(degc: np.ndarray) -> np.ndarray:
    """Grey levels after a JPEG of quality 75."""
    stream = io.BytesIO()
    grey = np.clip(np.rint((degc - 12) * 20), 0, 255).astype(np.uint8)
    Image.fromarray(np.stack([grey] * 3, axis=2)).save(stream, "JPEG", quality=75, subsampling="4:2:0")
    return np.asarray(Image.open(stream).convert("L")).astype(float)


@pytest.mark.parametrize("factor", range(2, 9))
@pytest.mark.parametrize("way", WAYS)
def test_enlargement_is_recognised_and_its_grid_found(factor, way):
    """Factors 2 to 8, made by Pillow, with a corner cut off and a marker masked."""
    frame = enlarged(detector(factor, 200 // factor, 240 // factor), factor, way)[1:, 1:]
    frame[40:60, 50:70] = np.nan
    found = enlarged_from(frame)
    assert found.factor == factor
    if way == "nearest":
        assert (found.way, found.first) == ("nearest", (factor - 1, factor - 1))


@pytest.mark.parametrize("factor", range(2, 9))
def test_repeated_pixels_are_recognised_after_a_jpeg(factor):
    """Quality 75 and 4:2:0 leave enough of their edges."""
    found = enlarged_from(
        saved(enlarged(detector(factor, 240 // factor, 320 // factor), factor, "nearest")), is_lossy=True
    )
    assert (found.factor, found.way) == (factor, "nearest")


@pytest.mark.parametrize("seed", range(4))
def test_a_frame_of_the_detectors_size_is_left_alone(seed):
    """Noise, blur, rounding and JPEG do not look like enlargement."""
    frame = detector(seed, 240, 320)
    assert enlarged_from(frame).factor == 1
    assert enlarged_from(frame.round(1)).factor == 1
    assert enlarged_from(saved(frame), is_lossy=True).factor == 1


def test_drawn_frames_prove_nothing():
    """Patches of one temperature, and nothing at all."""
    frame = np.full((80, 96), 20.0)
    frame[16:48, 24:64] = 12.0
    assert enlarged_from(frame).factor == 1
    assert enlarged_from(np.full((80, 96), np.nan)).factor == 1
