"""The site folder of a case that looks at a wall: what a surveyor would have written down, not the truth."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from thermalkit.annex.wording import Wording
from thermalkit.exercise.cases.walls import FRAME, OTHER_FRAME, WallCase
from thermalkit.exercise.handout import VISITED_ON, case_files, head_tables
from thermalkit.exercise.plan import ClassKeys
from thermalkit.scenes import Seen
from thermalkit.scenes.drawing import drawn_photo
from thermalkit.scenes.write import laid_over, site_tables, stored_tiff

_THINGS = ("lamp", "metal plate")


def wall_files(
    kind: str,
    drawn: WallCase,
    plan: ClassKeys,
    learner: str,
    own: Mapping[str, Any],
    more: tuple[Seen, ...] = (),
) -> dict[str, bytes]:
    """Files of a site folder by their path; `own` are tables of the kind, `more` frames of the first view."""
    words = Wording(plan.language)
    caption = words.say("exercise.caption")
    names = {name: words.say(f"exercise.thing.{name.replace(' ', '-')}") for name in _THINGS}
    pictures = (drawn.picture, drawn.other, *more)
    tables = laid_over(site_tables(pictures, (), VISITED_ON), _about(kind, drawn, plan, learner, words))
    return case_files(
        kind,
        plan,
        learner,
        laid_over(tables, own),
        frames={picture.frame: stored_tiff(picture.apparent_degc) for picture in pictures},
        photos={picture.frame: drawn_photo(picture, caption, names) for picture in pictures},
    )


def _about(kind: str, drawn: WallCase, plan: ClassKeys, learner: str, words: Wording) -> dict[str, Any]:
    """What stands in the notes beside what follows from the pictures."""
    here, there = words.say("exercise.room.here"), words.say("exercise.room.there")
    other = drawn.other.written
    climate = drawn.picture.scene.climate
    return {
        **head_tables(kind, plan, learner, room=here, frame=FRAME),
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
    }


def _elements(words: Wording) -> Iterator[dict[str, Any]]:
    for room in ("room", "other"):
        yield {"id": f"wall-{room}", "room": room, "kind": "wall", "construction": words.say("exercise.wall")}
