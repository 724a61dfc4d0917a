"""How hard a class is: within one class every case keeps to the same bands.

What makes a case hard is how little the place stands out of the noise, and how near it lies to the limit;
bands are own choices that keep a careful learner able to decide. Those that only one kind has stand with it.
"""

from __future__ import annotations

from dataclasses import dataclass

Band = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Difficulty:
    """Bands of one level: noise of the camera, and how accurate it is said to be."""

    noise_k: Band
    accuracy_k: Band


LEVELS = {
    "easy": Difficulty(noise_k=(0.03, 0.05), accuracy_k=(0.4, 0.5)),
    "medium": Difficulty(noise_k=(0.04, 0.07), accuracy_k=(0.4, 0.6)),
    "hard": Difficulty(noise_k=(0.06, 0.10), accuracy_k=(0.5, 0.7)),
}
