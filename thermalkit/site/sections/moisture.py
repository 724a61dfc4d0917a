"""[moisture]: how a home is lived in, as far as it moves moisture."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from thermalkit.site.fields import Between, Day, Keys, Text

Often = Literal["never", "sometimes", "often"]


class MoistureKeys(Keys):
    """[moisture]: sources of moisture and ways out for it."""

    occupants: Annotated[int, Between(0, 1000)] | None = Field(None, description="People living there.")
    hours_occupied_per_day: Annotated[float, Between(0.0, 24.0)] | None = Field(
        None, description="Hours of a usual day on which somebody is in."
    )
    showers_per_day: Annotated[float, Between(0.0, 1000.0)] | None = Field(
        None, description="Showers and baths of all people together, on a usual day."
    )
    laundry_dried_indoors: Often | None = Field(None, description="Washing hung up indoors.")
    laundry_loads_per_week: Annotated[float, Between(0.0, 500.0)] | None = Field(
        None, description="Loads dried indoors in a usual week."
    )
    cooking_fuel: Literal["electric", "gas", "solid fuel", "none"] | None = Field(
        None, description="What is cooked with; gas gives off water vapour as it burns."
    )
    plants: Annotated[int, Between(0, 10_000)] | None = Field(None, description="Potted plants.")
    aquarium_surface_m2: Annotated[float, Between(0.0, 1000.0)] | None = Field(
        None, description="Open water of aquariums, in m²; 0 where there is none."
    )
    unvented_heater: Often | None = Field(
        None, description="Portable gas or paraffin heater without a flue; a carbon monoxide danger too."
    )
    humidifier: Often | None = Field(None, description="Humidifier in use.")
    extract_fans: Literal["working", "not working", "none"] | None = Field(
        None, description="Extract fans of kitchen and bathroom."
    )
    new_building_completed_on: Day | None = Field(
        None, description="Only for a new building, screed or plaster that may still dry out: 2025-11-30."
    )
    flooded_on: Day | None = Field(None, description="Last flood or burst pipe, as far as known: 2025-11-30.")
    remarks: Text | None = Field(None, description="Whatever else brings or removes moisture.")


TABLES = {"moisture": MoistureKeys}
