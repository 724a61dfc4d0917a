"""[[floor_loops]] and [[fixings]]: heated floors seen on pictures, and holes that are planned in them."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import AwareDatetime, Field

from thermalkit.site.fields import Between, FrameId, Id, Keys, Text

Known = Literal["yes", "no", "unknown"]
Position = Annotated[float, Between(-1e5, 1e5)]
Water = Annotated[float, Between(0.0, 80.0)]


class FloorLoopKeys(Keys):
    """[[floor_loops]]: a heated floor on a picture, and what was found at its manifold."""

    id: Id = Field(description="Short name of the floor, such as living-room.")
    frame: FrameId = Field(description="The picture that shows it, laid out in mm under [[plans]].")
    same_view: Literal["yes", "no"] = Field(
        "no", description="All floor pictures of the room were taken from one tripod, as a series."
    )
    heated_by: Literal["water", "electric mat", "unknown"] = Field(
        "water", description="Pipes with warm water, or an electric mat."
    )
    water_entered_at: AwareDatetime | None = Field(
        None, description="When warm water entered the cold floor; left out where it has run for a day."
    )
    covering: Literal["tile", "stone", "parquet", "laminate", "carpet", "other"] = Field(
        "other", description="What lies on the screed."
    )
    use: Literal["occupied", "bathroom", "edge zone"] = Field(
        "occupied", description="Decides the highest surface temperature: 29, 33 or 35 °C."
    )
    highest_degc: Annotated[float, Between(15.0, 45.0)] | None = Field(
        None, description="Limit of the covering's maker, where lower, in °C."
    )
    spacing_mm: Annotated[float, Between(40.0, 600.0)] | None = Field(
        None, description="Between pipes by the installer's plan, in mm."
    )
    cover_mm: Annotated[float, Between(5.0, 200.0)] | None = Field(
        None, description="From the finished floor down to the top of the pipes, where it is known, in mm."
    )
    diameter_mm: Annotated[float, Between(6.0, 40.0)] = Field(
        20.0, description="Outer diameter of the pipes, in mm."
    )
    flow_degc: Water | None = Field(None, description="Flow at the manifold, in °C.")
    return_degc: Water | None = Field(None, description="Return at the manifold, in °C.")
    every_loop_warm: Known = Field(
        "unknown", description="At the manifold every loop of this floor was open, and its return warm."
    )
    passing_pipes: Literal["none", "all warm", "some cold", "unknown"] = Field(
        "unknown", description="Pipes to other rooms that may run through this floor."
    )
    remarks: Text | None = Field(None, description="Manifold, dates of the screed, earlier repairs.")


class FixingKeys(Keys):
    """[[fixings]]: a hole that is planned in a heated floor."""

    id: Id = Field(description="Short name, such as door-stop.")
    frame: FrameId = Field(description="The picture whose plan in mm it is given on.")
    x_mm: Position = Field(description="Along the first axis of that plan, in mm.")
    y_mm: Position = Field(description="Along its second axis, in mm.")
    diameter_mm: Annotated[float, Between(1.0, 200.0)] = Field(10.0, description="Of the hole, in mm.")
    depth_mm: Annotated[float, Between(1.0, 500.0)] | None = Field(
        None, description="Of the hole below the finished floor, in mm."
    )
    purpose: Text | None = Field(None, description="What is to be fixed.")


TABLES = {"floor_loops": FloorLoopKeys, "fixings": FixingKeys}
READ_BY = "heating"
REPEATED = ("floor_loops", "fixings")
OWN = ("x_mm", "y_mm")
