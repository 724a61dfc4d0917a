"""[costs]: what heat and money are worth, for advice on what pays."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from thermalkit.site.fields import Between, Keys, Text


class CostKeys(Keys):
    """[costs]: prices the client pays."""

    heat_price_per_kwh: Annotated[float, Between(0.0, 1000.0)] | None = Field(
        None, description="Price of one kWh of useful heat, in the currency below."
    )
    currency: Annotated[str, Field(pattern="^[A-Z]{3}$")] | None = Field(
        None, description="Three capital letters of ISO 4217, such as EUR."
    )
    source: Text | None = Field(None, description="Where the price comes from, such as a bill and its date.")


TABLES = {"costs": CostKeys}
