"""The site folder that a learner gets: what a surveyor would have written down, and nothing of the truth."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import UTC, datetime
from typing import Any

from thermalkit.annex.wording import Wording
from thermalkit.exercise.cases import FRAME, OTHER_FRAME, Drawn
from thermalkit.exercise.plan import ClassKeys
from thermalkit.scenes.drawing import drawn_photo
from thermalkit.scenes.toml_text import toml_text
from thermalkit.scenes.write import laid_over, site_tables, stored_tiff

VISITED_ON = datetime(2026, 1, 21, tzinfo=UTC)
_HEAD = "# Invented: calculated from a model, nobody's home.\n\n"
_THINGS = ("lamp", "metal plate")
_WATER = {"bridge": (5.0, 1.2), "drying": (4.2, 8.6), "leak": (4.2, 8.6)}  # near the face, and at depth
_DRY = (0.9, 0.8)
_DEPTHS_MM = (10.0, 120.0)


def site_files(drawn: Drawn, plan: ClassKeys, learner: str) -> dict[str, bytes]:
    """Files of a site folder by their path."""
    words = Wording(plan.language)
    caption = words.say("exercise.caption")
    names = {name: words.say(f"exercise.thing.{name.replace(' ', '-')}") for name in _THINGS}
    tables = laid_over(
        site_tables((drawn.picture, drawn.other), (), VISITED_ON), _about(drawn, plan, learner, words)
    )
    files = {
        "README.md": words.say("exercise.readme", name=plan.name, learner=learner).encode(),
        "site.toml": (_HEAD + toml_text(tables)).encode(),
    }
    for picture in (drawn.picture, drawn.other):
        files[f"photos/{picture.frame}.jpg"] = drawn_photo(picture, caption, names)
        files[f"thermal/{picture.frame}.tiff"] = stored_tiff(picture.apparent_degc)
    return files


def _about(drawn: Drawn, plan: ClassKeys, learner: str, words: Wording) -> dict[str, Any]:
    """What stands in the notes beside what follows from the pictures."""
    here, there = words.say("exercise.room.here"), words.say("exercise.room.there")
    other = drawn.other.written
    climate = drawn.picture.scene.climate
    return {
        "site": {
            "name": words.say("exercise.case", name=plan.name, learner=learner),
            "question": words.say("exercise.question", room=here, frame=FRAME),
        },
        "report": {"language": plan.language},
        "surveyor": {"name": learner},
        "weather": {
            "sky": climate.sky,
            "hours_since_sun": drawn.hours_since_sun,
            "hours_since_rain": 90.0,
            "hours_steady": 48.0,
            "wind_speed_m_s": 1.5,
        },
        "instruments": {
            "cam": {"accuracy_k": drawn.accuracy_k, "accuracy_percent": 1.0, "uniformity_k": 0.1}
        },
        "rooms": [
            {"name": here},
            {
                "id": "other",
                "name": there,
                "air_temperature_degc": other.air_temperature_degc,
                "relative_humidity_percent": other.relative_humidity_percent,
                "instrument": "hygro",
                "open_flued_appliance": "no",
            },
        ],
        "frames": [{"id": FRAME}, {"id": OTHER_FRAME, "room": "other"}],
        "elements": list(_elements(words)),
        "samples": list(_samples(drawn, words)),
    }


def _elements(words: Wording) -> Iterator[dict[str, Any]]:
    for room in ("room", "other"):
        yield {"id": f"wall-{room}", "room": room, "kind": "wall", "construction": words.say("exercise.wall")}


def _samples(drawn: Drawn, words: Wording) -> Iterator[dict[str, Any]]:
    """Two drillings at one height of the place in question: near the face and at depth."""
    for number, (depth_mm, water) in enumerate(
        zip(_DEPTHS_MM, _WATER.get(drawn.truth, _DRY), strict=True), 1
    ):
        yield {
            "id": f"S{number}",
            "room": "room",
            "place": words.say("exercise.sample-place"),
            "height_mm": 1200.0,
            "depth_mm": depth_mm,
            "method": "carbide",
            "moisture_percent": round(water + drawn.sample_scatter, 1),
            "hygroscopic_moisture_percent": 0.6,
            "nitrate": "low",
            "chloride": "low",
        }
