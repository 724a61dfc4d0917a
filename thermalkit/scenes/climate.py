"""Air indoors and outdoors on the day of an invented visit."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from thermalkit.measured import FloatArray
from thermalkit.physics.moist_air import vapour_pressure_pa

DAY_S = 86_400.0
SWINGS_K = {"overcast": (0.5, 3.0), "broken": (1.5, 5.0), "clear": (3.0, 8.0)}
"""Half the difference of day and night outdoors, by cloud cover: common practice."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Climate:
    """Room air at mid-height of the picture, and outdoor air that swings as a cosine about its mean.

    Hours are local time of day; `hour` is when the picture is taken. Every day is like the one before.
    """

    indoor_degc: float
    stratification_k_m: float = 0.0
    indoor_humidity: float
    outdoor_mean_degc: float
    outdoor_swing_k: float
    warmest_hour: float = 15.0
    hour: float = 9.0
    sky: str = "overcast"

    @property
    def since_warmest(self) -> float:
        """How far the day is past its warmest hour, in radians."""
        return 2.0 * np.pi * (self.hour - self.warmest_hour) / 24.0

    @property
    def outdoor_degc(self) -> float:
        """Outdoor temperature at the moment of the picture."""
        return float(self.outdoor_mean_degc + self.outdoor_swing_k * np.cos(self.since_warmest))

    @property
    def vapour_pressure_pa(self) -> float:
        """Of the room air, the same everywhere in the room."""
        return float(vapour_pressure_pa(self.indoor_degc, self.indoor_humidity))

    def room_degc(self, height_m: FloatArray) -> FloatArray:
        """Room air at heights above the middle of the picture."""
        return self.indoor_degc + self.stratification_k_m * height_m


def random_climate(rng: np.random.Generator) -> Climate:
    """A heated room in the cold half of the year, at any hour of the day."""
    sky = str(rng.choice(list(SWINGS_K)))
    return Climate(
        indoor_degc=rng.uniform(15.0, 23.0),
        stratification_k_m=rng.uniform(0.0, 0.8),
        indoor_humidity=rng.uniform(0.40, 0.80),
        outdoor_mean_degc=rng.uniform(-5.0, 8.0),
        outdoor_swing_k=rng.uniform(*SWINGS_K[sky]),
        warmest_hour=rng.uniform(13.5, 16.5),
        hour=rng.uniform(0.0, 24.0),
        sky=sky,
    )
