"""What is asked about radiators, and what is proposed."""

from __future__ import annotations

from typing import Any

import numpy as np

from thermalkit.diagnosis.decisions import Answers, Case, MarksOn, Step
from thermalkit.diagnosis.heating.radiators.front import four_corners
from thermalkit.diagnosis.heating.radiators.subject import entries_on, radiators
from thermalkit.diagnosis.heating.radiators.weighed import options, proposed
from thermalkit.diagnosis.proposals import FRAME_READS, written_marks
from thermalkit.diagnosis.surface import nominal_surface_degc
from thermalkit.diagnosis.surroundings import room_air
from thermalkit.imaging.mark import Mark

SUBJECTS = ("radiator", "ceiling")
LEAST_CONTRAST_K = 4.0
LEAST_SHARE = 0.02  # of the picture
THICKER_THAN = 0.05  # of the picture's width


def radiator_frames(case: Case) -> tuple[str, ...]:
    """Frames decided on that show a radiator, or a cooled ceiling that is entered as one."""
    return tuple(
        name
        for name in case.decided["frames"]
        if case.site.frames[name].keys.subject == "radiator" or entries_on(case, name)
    )


def propose_outlines(case: Case) -> list[dict[str, Any]]:
    """Outlines of the site file; on a frame without one, the largest warm front."""
    return [
        mark
        for name in radiator_frames(case)
        for mark in written_marks(case, name, "radiator") or _warm_front(case, name)
    ]


def _warm_front(case: Case, name: str) -> list[dict[str, Any]]:
    """Four corners of what is clearly warmer than the room, named as its entry in the site file."""
    from scipy.ndimage import binary_opening, label
    from skimage.filters import threshold_otsu

    surface = nominal_surface_degc(case, name)
    air = room_air(case, case.site.frames[name].room)
    cold = float(np.median(air.temperature_degc)) if air is not None else float(np.nanmedian(surface))
    warm = float(np.nanpercentile(surface, 97))
    if warm - cold < LEAST_CONTRAST_K:
        return []
    clipped = np.nan_to_num(np.clip(surface, cold, warm), nan=cold)
    # Pipes beside the front are as warm as it is, but thin.
    side = 1 + 2 * max(1, round(surface.shape[1] * THICKER_THAN / 2.0))
    is_warm = binary_opening(clipped > threshold_otsu(clipped), np.ones((side, side)))
    parts, count = label(is_warm)
    if not count:
        return []
    sizes = np.bincount(parts.ravel())[1:]
    rows, columns = np.nonzero(parts == 1 + int(np.argmax(sizes)))
    if rows.size < LEAST_SHARE * surface.size:
        return []
    corners = four_corners(tuple((float(r), float(c)) for r, c in zip(rows, columns, strict=True)))
    entries = entries_on(case, name)
    id = entries[0].id if len(entries) == 1 else name
    points = tuple((float(r), float(c)) for r, c in corners)
    return [Mark(frame=name, id=id, shape="patch", points=points, role="radiator").as_json()]


def propose_hidden(case: Case) -> list[dict[str, Any]]:
    """What the site file marks as standing in front."""
    return [mark for name in radiator_frames(case) for mark in written_marks(case, name, "hidden")]


READS = (*FRAME_READS, "radiators", "heating")

STEPS = (
    Step(
        name="radiator",
        kind="heating",
        control=MarksOn("radiator", radiator_frames),
        propose=propose_outlines,
        reads=READS,
        uses=("frames",),
        applies=lambda case: bool(radiator_frames(case)),
    ),
    Step(
        name="hidden",
        kind="heating",
        control=MarksOn("hidden", radiator_frames),
        propose=propose_hidden,
        reads=READS,
        uses=("frames", "radiator"),
        applies=lambda case: bool(case.decided.get("radiator")),
    ),
    Step(
        name="answers",
        kind="heating",
        control=Answers(options),
        propose=proposed,
        reads=READS,
        uses=("frames", "radiator", "hidden"),
        applies=lambda case: bool(radiators(case)),
    ),
)
