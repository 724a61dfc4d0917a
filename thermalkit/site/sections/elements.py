"""[[elements]]: walls, roofs and floors as built, as far as known."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from thermalkit.site.fields import Between, Id, Keys, RoomId, Text

Known = Literal["yes", "no", "unknown"]


class LayerKeys(Keys):
    """One layer of an element."""

    material: Text = Field(description="What it is made of, in words.")
    thickness_mm: Annotated[float, Between(0.01, 10_000.0)] = Field(description="Thickness, in mm.")


class ElementKeys(Keys):
    """[[elements]]: one part of the building and what is known of it."""

    id: Id = Field(description="Short name used in this file.")
    room: RoomId | None = Field(None, description="The room's id.")
    kind: Literal["wall", "roof", "floor"] = Field(description="wall, roof or floor.")
    construction: Text | None = Field(None, description="Build-up in words, such as solid brick, plastered.")
    built_in: Annotated[int, Between(1000, 2200)] | None = Field(None, description="Year, also a rough one.")
    layers: Annotated[tuple[LayerKeys, ...], Field(max_length=50)] = Field(
        (), description="Layers from the room outward, where they are known."
    )
    orientation: Literal["N", "NE", "E", "SE", "S", "SW", "W", "NW"] | None = Field(
        None, description="Which way the outside faces."
    )
    base_above_ground_mm: Annotated[float, Between(-50_000.0, 1e6)] | None = Field(
        None, description="Room floor above the ground outside; negative where the room lies lower."
    )
    has_damp_proof_course: Known = Field("unknown", description="A barrier against rising water in the wall.")
    ground_level_above_barrier: Known = Field(
        "unknown", description="Soil, paving or render bridges that barrier outside."
    )
    near_plumbing: Known = Field(
        "unknown", description="Supply, waste or heating pipes in or at the element."
    )
    exposed_face: Known = Field("unknown", description="The outside is hit by driving rain, without shelter.")
    remarks: Text | None = Field(None, description="Cracks, gutters, repairs, what was injected and when.")


TABLES = {"elements": ElementKeys}
REPEATED = ("elements",)
