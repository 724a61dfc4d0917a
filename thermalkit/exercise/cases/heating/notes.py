"""The site folder of a case of heating: what a surveyor would have written down, not the truth."""

from __future__ import annotations

from datetime import timedelta
from typing import TYPE_CHECKING, Any

import numpy as np

from thermalkit.annex.wording import Wording
from thermalkit.exercise.cases.heating.truth import FRAME, OTHER_FRAME
from thermalkit.exercise.handout import VISITED_ON, case_files, head_tables
from thermalkit.exercise.plan import ClassKeys
from thermalkit.scenes.radiator_sites import radiator_photo, radiator_tables
from thermalkit.scenes.radiators import RadiatorSeen
from thermalkit.scenes.write import laid_over, stored_tiff

if TYPE_CHECKING:
    from thermalkit.exercise.cases.heating import HeatingCase

_CHROME = (198, 204, 210)
_HUMIDITY_PERCENT = 45.0
_HOUR = 9.0


def site_files(drawn: HeatingCase, plan: ClassKeys, learner: str) -> dict[str, bytes]:
    """Files of a site folder by their path."""
    words, pictures = Wording(plan.language), (drawn.picture, drawn.other)
    names = {
        "lamp": words.say("exercise.thing.lamp"),
        "metal plate": words.say("exercise.thing.metal-plate"),
        "rust mark": words.say("exercise.heating.thing.rust-mark"),
    }
    tables = radiator_tables(pictures, True, VISITED_ON + timedelta(hours=_HOUR))
    caption = words.say("exercise.caption")
    return case_files(
        "heating",
        plan,
        learner,
        laid_over(tables, _about(drawn, plan, learner, words)),
        frames={picture.frame: stored_tiff(picture.apparent_degc) for picture in pictures},
        photos={picture.frame: _photo(picture, caption, names) for picture in pictures},
    )


def _photo(picture: RadiatorSeen, caption: str, names: dict[str, str]) -> bytes:
    if picture.scene.finish.name == "chrome":
        return radiator_photo(picture, caption, names, front=_CHROME)
    return radiator_photo(picture, caption, names)


def _about(drawn: HeatingCase, plan: ClassKeys, learner: str, words: Wording) -> dict[str, Any]:
    """What stands in the notes beside what follows from the pictures."""
    here, there = words.say("exercise.room.here"), words.say("exercise.room.there")
    scene = drawn.picture.scene
    return {
        **head_tables("heating", plan, learner, room=here, frame=FRAME),
        "instruments": {
            "cam": {"accuracy_k": drawn.accuracy_k, "accuracy_percent": 1.0, "uniformity_k": 0.1},
            "hygro": {"accuracy_percent_rh": 3.0},
        },
        "rooms": [{"name": name, "relative_humidity_percent": _HUMIDITY_PERCENT} for name in (here, there)],
        "frames": [
            {"id": name, "distance_m": _distance_m(picture)}
            for name, picture in ((FRAME, drawn.picture), (OTHER_FRAME, drawn.other))
        ],
        "heating": {
            "source": "heat pump" if scene.flow_degc < 45.0 else "boiler",
            "flow_degc": round(scene.flow_degc),
        },
    }


def _distance_m(picture: RadiatorSeen) -> float:
    """From how far the front is as wide in the picture as it is."""
    scene = picture.scene
    width_px = float(np.ptp(np.asarray(scene.corners)[:, 1]))
    across_m = scene.panel.length_m * scene.camera.columns / width_px
    return round(across_m / (2.0 * float(np.tan(np.radians(scene.camera.field_of_view_deg[0] / 2.0)))), 1)
