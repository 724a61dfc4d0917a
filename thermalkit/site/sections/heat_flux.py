"""[[heat_flux]]: a heat flux plate on a wall, with loggers on both sides, for its U-value in place."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from thermalkit.site.fields import Between, Id, Keys, RefersTo, RoomId, Text
from thermalkit.site.sections.elements import LayerKeys

LoggerId = Annotated[str, RefersTo("loggers")]


class HeatFluxKeys(Keys):
    """[[heat_flux]]: one measurement of a U-value in place."""

    id: Id = Field(description="Short name used in this file.")
    room: RoomId | None = Field(None, description="The room's id.")
    place: Text | None = Field(None, description="Where on the wall, in words.")
    plate: LoggerId = Field(description="The logger of the heat flux plate on the inner surface.")
    indoor: LoggerId = Field(description="The logger of the room's air, or of the inner surface.")
    outdoor: LoggerId = Field(description="The logger of the outdoor air, or of the outer surface.")
    outdoor_is_surface: bool = Field(False, description="true where it stood on the outer surface.")
    plate_accuracy_percent: Annotated[float, Between(0.1, 50.0)] | None = Field(
        None, description="Of the plate's calibration, in %."
    )
    layers: Annotated[tuple[LayerKeys, ...], Field(max_length=50)] = Field(
        (), description="Layers from the room outward, where known: heat stored in them is then allowed for."
    )


TABLES = {"heat_flux": HeatFluxKeys}
READ_BY = "envelope"
REPEATED = ("heat_flux",)
