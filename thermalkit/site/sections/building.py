"""[building]: what kind of building it is, for those who look at many."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from thermalkit.site.fields import Between, Keys, Text


class BuildingKeys(Keys):
    """[building]: how and when it was built, as far as it is known."""

    construction: Text | None = Field(
        None, description="Construction of the outer walls in a few words, the same for all of a kind."
    )
    built_in: Annotated[int, Between(1000, 2100)] | None = Field(None, description="Year, also a rough one.")


TABLES = {"building": BuildingKeys}
