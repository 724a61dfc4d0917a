"""[moisture]: how a home is lived in, as far as it moves moisture."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from thermalkit.site.fields import Between, Keys, Text


class MoistureKeys(Keys):
    """[moisture]: sources of moisture and ways out for it."""

    occupants: Annotated[int, Between(0, 1000)] | None = Field(None, description="People living there.")
    laundry_dried_indoors: Literal["never", "sometimes", "often"] | None = Field(
        None, description="Washing hung up indoors."
    )
    extract_fans: Literal["working", "not working", "none"] | None = Field(
        None, description="Extract fans of kitchen and bathroom."
    )
    remarks: Text | None = Field(None, description="Aquarium, many plants, a recent flood, a new screed.")


TABLES = {"moisture": MoistureKeys}
