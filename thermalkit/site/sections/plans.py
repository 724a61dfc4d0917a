"""[[plans]]: points of known position that turn a frame into a plan in mm."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from thermalkit.site.fields import Between, FrameId, Keys
from thermalkit.site.model import Coordinate

Millimetres = Annotated[float, Between(-1e6, 1e6)]
PointNumber = Annotated[int, Between(1, 200)]
KnownPoint = tuple[Coordinate, Coordinate, Millimetres, Millimetres]
TapedDistance = tuple[PointNumber, PointNumber, Annotated[float, Between(1.0, 1e6)]]


class PlanKeys(Keys):
    """[[plans]]: four or more points of a frame whose positions on its surface were measured."""

    frame: FrameId = Field(description="The frame's id.")
    points: Annotated[tuple[KnownPoint, ...], Field(min_length=4, max_length=200)] = Field(
        description="[row, column, x in mm, y in mm] each; a fifth one shows whether one of them is wrong."
    )
    taped: Annotated[tuple[TapedDistance, ...], Field(max_length=200)] = Field(
        (), description="[point, point, mm]: distances taped as a check, points counted from 1."
    )


TABLES = {"plans": PlanKeys}
REPEATED = ("plans",)
