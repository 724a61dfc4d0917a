"""Places of a frame that stand out, for a person to accept or dismiss."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from thermalkit.diagnosis.surface import nominal_surface_degc
from thermalkit.imaging.contrast import cold_places, warm_places
from thermalkit.imaging.mark import Mark, mark_mask
from thermalkit.imaging.quality import noise_k

if TYPE_CHECKING:
    from collections.abc import Iterable

    from thermalkit.diagnosis.decisions import Case

MOST_SHARED = 0.3  # of a suggestion that may lie in a mark already drawn


def is_cooled(case: Case, frame_id: str) -> bool:
    """Whether the room in a frame, or else the building, is cooled: what is wrong there is warm."""
    room = case.site.frames[frame_id].room
    mode = room.climate_mode if room is not None and room.climate_mode else None
    return (mode or case.site.keys.site.climate_mode) == "cooling"


def suggested_places(
    case: Case, frame_id: str, *, most: int = 5, warm: bool | None = None
) -> tuple[Mark, ...]:
    """The coldest coherent places of a frame, the most telling first; in a cooled room the warmest.

    Parameters
    ----------
    case : Case
    frame_id : str
    most : int
        At most so many.
    warm : bool, optional
        Look for warm places, or for cold ones, whatever the room; by the room where left out.

    Returns
    -------
    tuple of Mark
        Patches named "cold", "cold 2", ... ("warm", ...).
    """
    surface = nominal_surface_degc(case, frame_id)
    scale = round(case.site.frames[frame_id].pixel_scale)
    is_warm = is_cooled(case, frame_id) if warm is None else warm
    found = (warm_places if is_warm else cold_places)(
        surface, noise_k=noise_k(surface), pixel_scale=scale, most=most
    )
    word = "warm" if is_warm else "cold"
    return tuple(
        Mark(frame=frame_id, id=word if i == 1 else f"{word} {i}", shape="patch", points=place.outline)
        for i, place in enumerate(found, start=1)
    )


def not_yet_marked(
    suggested: Iterable[Mark], marks: Iterable[Mark], shape: tuple[int, int]
) -> tuple[Mark, ...]:
    """Suggestions of a frame that no mark of it covers already.

    Parameters
    ----------
    suggested, marks : iterable of Mark
        On the same frame.
    shape : (rows, columns)
        Size of the frame.
    """
    taken = np.zeros(shape, dtype=np.bool_)
    for mark in marks:
        taken |= mark_mask(mark, shape)
    return tuple(place for place in suggested if not _is_covered(mark_mask(place, shape), taken))


def _is_covered(place: NDArray[np.bool_], taken: NDArray[np.bool_]) -> bool:
    return bool(np.count_nonzero(place & taken) > MOST_SHARED * np.count_nonzero(place))
