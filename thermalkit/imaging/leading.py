"""From pairs of points to a map led by edges, where both agree.

Four clicks carry their scatter to the corners enlarged; edges that meet all over the picture do not. Edges
alone may lead astray (what is warm need not end where something visible ends), so a map they lead to counts
only where the clicks could have been made on it.
"""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from thermalkit.imaging import homography
from thermalkit.imaging.alignment import CLICK_PX, SHARE_BEYOND, Alignment
from thermalkit.imaging.registration import proposal
from thermalkit.measured import FloatArray


def led_by_edges(
    first: FloatArray,
    second: FloatArray,
    clicked: Alignment,
    *,
    scatter_px: tuple[float, float] = (CLICK_PX, CLICK_PX),
) -> Alignment | None:
    """The map that edges lead to from clicked pairs.

    Parameters
    ----------
    first : ndarray of float64, shape (rows, columns)
        A frame; NaN where masked.
    second : ndarray of float64, shape (rows, columns)
        A photo in grey levels.
    clicked : Alignment
        Through pairs of points, in pixels of these two pictures.
    scatter_px : (float, float)
        Standard deviation of a click in the first and in the second picture.

    Returns
    -------
    Alignment or None
        With the clicked pairs and how far they lie off it; None where the edges are not to be trusted, the
        pairs contradict one another, or lie farther off than clicks scatter.
    """
    if not clicked.is_consistent:
        return None
    found = proposal(first, second, start=clicked)
    if found is None or found.reason is not None:
        return None
    map_ = found.alignment
    missed = clicked.pairs[:, 1] - map_.mapped(clicked.pairs[:, 0])
    led = replace(
        map_,
        pairs=clicked.pairs,
        residual_px=np.linalg.norm(missed, axis=1),
        left_out=clicked.left_out,
        is_led=True,
    )
    return led if _could_be_clicked(led, missed, scatter_px) else None


def _could_be_clicked(led: Alignment, missed: FloatArray, scatter_px: tuple[float, float]) -> bool:
    from scipy.special import chdtri

    used = np.setdiff1d(np.arange(len(missed)), led.left_out)
    scatter = (
        np.full(len(used), scatter_px[0] / led.first.length),
        np.full(len(used), scatter_px[1] / led.second.length),
    )
    spread = homography.covariances(led.core, led.first.into(led.pairs[used, 0]), scatter)
    missed = missed[used] / led.second.length
    misfit = np.einsum("ni,nij,nj->", missed, np.linalg.inv(spread), missed)
    return bool(misfit <= chdtri(2 * len(used), SHARE_BEYOND))
