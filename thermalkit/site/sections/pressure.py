"""[[pressure]]: frames taken while a fan held a pressure difference between room and outdoors."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from thermalkit.site.fields import Between, FrameId, InstrumentId, Keys


class PressureKeys(Keys):
    """[[pressure]]: one frame taken with a pressure difference, to find air leaks."""

    frame: FrameId = Field(description="The frame's id.")
    same_view_as: FrameId = Field(
        description="The frame of the same view without the fan: same stand, same lens, taken first."
    )
    pressure_difference_pa: Annotated[float, Between(-200.0, 200.0)] | None = Field(
        None, description="Room less outdoors, in Pa; negative where air is drawn in from outdoors."
    )
    instrument: InstrumentId | None = Field(None, description="Manometer, key under [instruments].")


TABLES = {"pressure": PressureKeys}
READ_BY = "envelope"
REPEATED = ("pressure",)
