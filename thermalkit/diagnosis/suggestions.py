"""Places of a frame that stand out, for a person to accept or dismiss."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from thermalkit.diagnosis.surface import nominal_surface_degc
from thermalkit.imaging.contrast import cold_places, warm_places
from thermalkit.imaging.mark import Mark, mark_mask
from thermalkit.imaging.quality import noise_k
from thermalkit.imaging.registration import between_frames
from thermalkit.language import Number, Sentence, say

if TYPE_CHECKING:
    from collections.abc import Iterable

    from thermalkit.diagnosis.decisions import Case
    from thermalkit.imaging.registration import Proposal
    from thermalkit.measured import FloatArray
    from thermalkit.site.survey import SurveyFrame

MOST_SHARED = 0.3  # of a suggestion that may lie in a mark already drawn
LEAST_SHARED = 0.35  # of a frame that overlaps another one
MOST_KNOWN = 64


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
    frame = case.site.frames[frame_id]
    scale = round(frame.pixel_scale)
    is_warm = case.site.is_cooled(frame.room) if warm is None else warm
    found = (warm_places if is_warm else cold_places)(
        surface, noise_k=noise_k(surface, pixel_scale=scale), pixel_scale=scale, most=most
    )
    word = "warm" if is_warm else "cold"
    return tuple(
        Mark(frame=frame_id, id=word if i == 1 else f"{word} {i}", shape="patch", points=place.outline)
        for i, place in enumerate(found, start=1)
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Carried:
    """A mark of another frame of the same room, as it lies on this one, and what is said of it."""

    mark: Mark
    said: Sentence


def carried_marks(case: Case, frame_id: str, marks: Iterable[Mark]) -> tuple[Carried, ...]:
    """Marks on overlapping frames of the same room, carried over to a frame as suggestions.

    Parameters
    ----------
    case : Case
    frame_id : str
        Where they are carried to.
    marks : iterable of Mark
        Of any frames; those of this one, of other rooms and what falls outside are left out.

    Returns
    -------
    tuple of Carried
        Only over frames that lie on one another beyond doubt by their edges.
    """
    here = case.site.frames[frame_id]
    carried: list[Carried] = []
    names: set[str] = set()
    for mark in marks:
        there = case.site.frames[mark.frame]
        if mark.frame == frame_id or here.room is None or there.room is not here.room:
            continue
        found = _between(there, here)
        if found is None:
            continue
        points = found.alignment.mapped(mark.points)
        rows, columns = here.apparent_degc.shape
        if not np.all((points >= -0.5) & (points <= (rows - 0.5, columns - 0.5))):
            continue
        name = mark.id if mark.id not in names else f"{mark.id} ({mark.frame})"[:64]
        names.add(name)
        moved = replace(mark, frame=frame_id, id=name, points=tuple((float(r), float(c)) for r, c in points))
        px = Number(found.corner_px, "", 1)
        carried.append(
            Carried(mark=moved, said=say("suggestion.carried", mark=mark.id, frame=mark.frame, px=px))
        )
    return tuple(carried)


_BETWEEN: dict[tuple[int, int], tuple[FloatArray, FloatArray, Proposal | None]] = {}


def _between(there: SurveyFrame, here: SurveyFrame) -> Proposal | None:
    """How two frames lie on one another, remembered, since screens ask again and again."""
    first, second = there.apparent_degc, here.apparent_degc
    known = _BETWEEN.get((id(first), id(second)))
    if known is None:
        found = between_frames(first, second, least_shared=LEAST_SHARED)
        # The arrays are kept along, so that nothing else can take their place in memory.
        known = (first, second, found if found is not None and found.reason is None else None)
        if len(_BETWEEN) >= MOST_KNOWN:
            _BETWEEN.clear()
        _BETWEEN[(id(first), id(second))] = known
    return known[2]


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
