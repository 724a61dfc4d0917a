"""[heating], [[radiators]] and [[heat_losses]]: how a house is heated, and what its rooms lose."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from thermalkit.site.fields import Between, FrameId, Id, Keys, RefersTo, RoomId, Text

Known = Literal["yes", "no", "unknown"]
Water = Annotated[float, Between(-5.0, 110.0)]
ProbeId = Annotated[str, RefersTo("instruments", ("contact_thermometer", "logger", "thermohygrometer"))]
RadiatorType = Literal["10", "11", "20", "21", "22", "33", "column", "towel rail", "cooled ceiling", "other"]


class HeatingKeys(Keys):
    """[heating]: the water that feeds the radiators."""

    source: Literal["boiler", "heat pump", "district heat", "other"] | None = Field(
        None, description="What warms the water."
    )
    flow_degc: Water | None = Field(None, description="Flow where it leaves the heat source, now, in °C.")
    return_degc: Water | None = Field(None, description="Return where it comes back, now, in °C.")
    design_flow_degc: Water | None = Field(
        None, description="Flow on the design day, as set or as designed, in °C."
    )
    design_return_degc: Water | None = Field(None, description="Return that belongs to it, in °C.")
    planned_flow_degc: Water | None = Field(
        None, description="A lower flow that is planned, for a heat pump for instance, in °C."
    )
    pipes: Literal["two-pipe", "one-pipe", "unknown"] = Field(
        "unknown", description="Own return for each radiator, or one pipe that passes them in turn."
    )
    remarks: Text | None = Field(None, description="Pump setting, noises, when it was last bled or balanced.")


class RadiatorKeys(Keys):
    """[[radiators]]: one radiator, as found while the heating ran."""

    id: Id = Field(description="Short name; the outline drawn on its picture is called so.")
    room: RoomId | None = Field(None, description="The room's id.")
    frame: FrameId | None = Field(None, description="The picture that shows it.")
    type: RadiatorType = Field(
        "other",
        description="Panels and fins: 11 is one panel with one fin, 22 two with two; column, and so on.",
    )
    height_mm: Annotated[float, Between(100.0, 3000.0)] | None = Field(None, description="Height, in mm.")
    length_mm: Annotated[float, Between(100.0, 6000.0)] | None = Field(None, description="Length, in mm.")
    head: Literal["open", "throttling", "shut", "none", "unknown"] = Field(
        "unknown", description="Thermostatic head: turned fully open, set lower, shut, or none fitted."
    )
    warmer_than_set: Known = Field(
        "unknown", description="The room is as warm as the head is set to, or warmer."
    )
    minutes_steady: Annotated[float, Between(0.0, 10_000.0)] | None = Field(
        None, description="For how long the heating had run unchanged; 45 or more tell most."
    )
    flow_degc: Water | None = Field(None, description="Clamp-on reading at its flow pipe, in °C.")
    return_degc: Water | None = Field(None, description="Clamp-on reading at its return pipe, in °C.")
    instrument: ProbeId | None = Field(None, description="What read the pipes: key under [instruments].")
    rated_output_w: Annotated[float, Between(10.0, 50_000.0)] | None = Field(
        None,
        description="From the plate or the maker's sheet at 75/65/20, in W; estimated by type otherwise.",
    )
    exponent: Annotated[float, Between(1.0, 1.6)] | None = Field(
        None, description="n of the maker's sheet; by type otherwise."
    )
    finish: Literal["paint", "metallic paint", "chrome"] = Field(
        "paint", description="White or coloured paint, also gloss; metallic paint and chrome mirror the room."
    )
    connection: Literal[
        "top-bottom-same", "top-bottom-opposite", "bottom-opposite", "bottom-valve", "unknown"
    ] = Field(
        "unknown",
        description="Where water is meant to enter and leave; bottom-valve: both pipes below, valve on top.",
    )
    on_outer_wall: Known = Field("unknown", description="It hangs on a wall to the outside.")
    wall_transmittance_w_m2k: Annotated[float, Between(0.05, 6.0)] | None = Field(
        None, description="U of the wall behind it, in W/(m²K)."
    )
    lining: Known = Field("unknown", description="An insulating or bright lining behind it.")
    remarks: Text | None = Field(None, description="Noises, cladding, curtains, colour of bled water.")

    @property
    def area_m2(self) -> float | None:
        """Front, in m²."""
        if self.height_mm is None or self.length_mm is None:
            return None
        return self.height_mm * self.length_mm / 1e6


class HeatLossKeys(Keys):
    """[[heat_losses]]: one part of a room that loses heat, or the room's whole heat load."""

    room: RoomId = Field(description="The room's id.")
    element: Text | None = Field(None, description="What it is, such as window or outer wall.")
    area_m2: Annotated[float, Between(0.01, 1e5)] | None = Field(None, description="Area, in m².")
    transmittance_w_m2k: Annotated[float, Between(0.05, 8.0)] | None = Field(
        None, description="U, in W/(m²K)."
    )
    share: Annotated[float, Between(0.0, 1.0)] = Field(
        1.0, description="Of the outdoor difference: 1 to outdoors, about 0.5 to unheated rooms."
    )
    load_w: Annotated[float, Between(1.0, 100_000.0)] | None = Field(
        None,
        description="Instead of area and U: the whole room on the design day as calculated, in W.",
    )


TABLES = {"heating": HeatingKeys, "radiators": RadiatorKeys, "heat_losses": HeatLossKeys}
READ_BY = "heating"
REPEATED = ("radiators", "heat_losses")
