"""How hard a class is: within one class every case keeps to the same bands.

What makes a case hard is how little the place stands out of the noise, and how near it lies to the limit;
both are own choices that keep a careful learner able to decide.
"""

from __future__ import annotations

from dataclasses import dataclass

Band = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Difficulty:
    """Bands of one level.

    `depth_k` is how far the place stands out, `noise_k` what it stands out of; `bridge_humidity` is the true
    humidity at the coldest spot of a cold bridge, `room_humidity` that of rooms in which nothing condenses.
    """

    depth_k: Band
    noise_k: Band
    accuracy_k: Band
    bridge_humidity: Band
    room_humidity: Band
    mirrored_k: Band


LEVELS = {
    "easy": Difficulty(
        depth_k=(3.0, 6.0),
        noise_k=(0.03, 0.05),
        accuracy_k=(0.4, 0.5),
        bridge_humidity=(0.95, 1.10),
        room_humidity=(0.36, 0.42),
        mirrored_k=(45.0, 70.0),
    ),
    "medium": Difficulty(
        depth_k=(2.2, 5.0),
        noise_k=(0.04, 0.07),
        accuracy_k=(0.4, 0.6),
        bridge_humidity=(0.92, 1.05),
        room_humidity=(0.38, 0.46),
        mirrored_k=(35.0, 60.0),
    ),
    "hard": Difficulty(
        depth_k=(1.5, 3.5),
        noise_k=(0.06, 0.10),
        accuracy_k=(0.5, 0.7),
        bridge_humidity=(0.90, 1.00),
        room_humidity=(0.40, 0.48),
        mirrored_k=(25.0, 45.0),
    ),
}
