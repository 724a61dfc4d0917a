"""[[samples]]: material taken from a wall or floor and weighed, tested or analysed."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BeforeValidator, Field
from pydantic_core import PydanticCustomError

from thermalkit.site.fields import Between, Id, InstrumentId, Keys, Moment, RefersTo, RoomId, Text

ElementId = Annotated[str, RefersTo("elements")]
MassPercent = Annotated[float, Between(0.0, 300.0)]
_SALT_PERCENT = Between(0.0, 20.0)


def _salt(value: object) -> object:
    """A grade or a number; one error for both, where a union would give two."""
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return _SALT_PERCENT.checked(value)
    if value not in ("low", "medium", "high"):
        raise PydanticCustomError("salt_wanted", '"low", "medium" or "high", or % by mass from 0 to 20', {})
    return value


Salt = Annotated[Literal["low", "medium", "high"] | float, BeforeValidator(_salt)]


class SampleKeys(Keys):
    """[[samples]]: one sample of material."""

    id: Id = Field(description="Short name used in this file, as on the sample's bag.")
    room: RoomId | None = Field(None, description="The room's id.")
    element: ElementId | None = Field(None, description="The element's id under [[elements]].")
    place: Text | None = Field(None, description="Where on the element, in words.")
    material: Text | None = Field(None, description="What was drilled: plaster, brick, mortar, screed.")
    height_mm: Annotated[float, Between(-50_000.0, 1e6)] | None = Field(
        None, description="Above the floor; below it is negative."
    )
    depth_mm: Annotated[float, Between(0.0, 5000.0)] | None = Field(
        None, description="Into the element, to the middle of the sample."
    )
    method: Literal["drilled", "carbide", "oven"] | None = Field(
        None,
        description="drilled: drill dust, dried and weighed. carbide: calcium carbide pressure flask. "
        "oven: a solid piece, dried and weighed.",
    )
    moisture_percent: MassPercent | None = Field(
        None, description="Water as found, in % of the dry mass; for carbide as the gauge's table gives it."
    )
    hygroscopic_moisture_percent: MassPercent | None = Field(
        None, description="Water the dried sample takes up from air of 75 % (or as remarked), in % by mass."
    )
    nitrate: Salt | None = Field(None, description='"low", "medium", "high", or % by mass.')
    chloride: Salt | None = Field(None, description='"low", "medium", "high", or % by mass.')
    sulfate: Salt | None = Field(None, description='"low", "medium", "high", or % by mass.')
    taken_at: Moment | None = Field(None, description="With offset: 2026-01-21T09:10:00+00:00.")
    instrument: InstrumentId | None = Field(None, description="Key under [instruments].")
    remarks: Text | None = Field(None, description="Laboratory, humidity of the test, what went wrong.")


TABLES = {"samples": SampleKeys}
REPEATED = ("samples",)
