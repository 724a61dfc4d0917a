"""The plan in mm of a frame of the visit, with what is known of its camera."""

from __future__ import annotations

from typing import TYPE_CHECKING

from thermalkit.imaging.plan import Camera, Plan, plan_of
from thermalkit.site.sections.plans import PlanKeys

if TYPE_CHECKING:
    from thermalkit.site.survey import Site, SurveyFrame


def plan_on(site: Site, frame_id: str) -> Plan | None:
    """The plan of a frame; None where no points were measured on it.

    Field of view and distance of the camera check it where they were written down.

    Raises
    ------
    Unaligned
        The points fix no plan; says why.
    """
    keys = next((plan for plan in site.sections(PlanKeys) if plan.frame == frame_id), None)
    if keys is None:
        return None
    frame = site.frames[frame_id]
    count = len(keys.points)
    taped = [(i - 1, j - 1, mm) for i, j, mm in keys.taped if i <= count and j <= count and i != j]
    return plan_of(
        keys.points, frame.apparent_degc.shape, frame=frame_id, taped=taped, camera=camera_of(frame)
    )


def camera_of(frame: SurveyFrame) -> Camera | None:
    """Field of view as the frame lies, and the distance; None where no field of view was written down."""
    camera = frame.camera
    if camera is None or camera.field_of_view_deg is None:
        return None
    rows, columns = frame.apparent_degc.shape
    across, down = camera.field_of_view_deg
    if (rows > columns) != (down > across) and rows != columns and across != down:
        across, down = down, across  # held upright
    return Camera(field_of_view_deg=(across, down), distance_m=frame.keys.distance_m)
