"""The site folder of a damp case: the wall, and two drillings."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from thermalkit.annex.wording import Wording
from thermalkit.exercise.cases.wall_notes import wall_files
from thermalkit.exercise.plan import ClassKeys

if TYPE_CHECKING:
    from thermalkit.exercise.cases.damp import DampCase

_WATER = {"bridge": (5.0, 1.2), "drying": (4.2, 8.6), "leak": (4.2, 8.6)}  # near the face, and at depth
_DRY = (0.9, 0.8)
_DEPTHS_MM = (10.0, 120.0)


def site_files(drawn: DampCase, plan: ClassKeys, learner: str) -> dict[str, bytes]:
    """Files of a site folder by their path."""
    samples = list(_samples(drawn, Wording(plan.language)))
    return wall_files("damp", drawn, plan, learner, {"samples": samples})


def _samples(drawn: DampCase, words: Wording) -> Iterator[dict[str, Any]]:
    """Two drillings at one height of the place in question: near the face and at depth."""
    for number, (depth_mm, water) in enumerate(
        zip(_DEPTHS_MM, _WATER.get(drawn.truth, _DRY), strict=True), 1
    ):
        yield {
            "id": f"S{number}",
            "room": "room",
            "place": words.say("exercise.damp.sample-place"),
            "height_mm": 1200.0,
            "depth_mm": depth_mm,
            "method": "carbide",
            "moisture_percent": round(water + drawn.sample_scatter, 1),
            "hygroscopic_moisture_percent": 0.6,
            "nitrate": "low",
            "chloride": "low",
        }
