"""[[clocks]]: a clock in a picture, which shows how wrong the camera's own clock was."""

from __future__ import annotations

from pydantic import Field

from thermalkit.site.fields import CameraId, Keys, Moment


class ClockKeys(Keys):
    """[[clocks]]: what a clock showed in a picture, and what time the camera wrote for that picture."""

    instrument: CameraId = Field(description="The camera's key under [instruments].")
    clock_showed: Moment = Field(description="Time on the clock in the picture, with offset.")
    camera_wrote: Moment = Field(description="Time the camera wrote for that picture, with offset.")

    @property
    def fast_s(self) -> float:
        """How far the camera's clock was ahead of the other one, in s."""
        return (self.camera_wrote - self.clock_showed).total_seconds()


TABLES = {"clocks": ClockKeys}
REPEATED = ("clocks",)
