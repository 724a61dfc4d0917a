"""What the surveyor is asked in a damp case, and what is proposed."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np

from thermalkit.diagnosis.conditions import usable_frames
from thermalkit.diagnosis.damp.causes import factor_options, questions_at
from thermalkit.diagnosis.damp.water import known_answers, place_id
from thermalkit.diagnosis.decisions import Answers, Asked, Case, MarksOn, OneOf, SomeOf, Step, Words
from thermalkit.diagnosis.judging import limit_set_of, limit_sets
from thermalkit.diagnosis.labels import place_label
from thermalkit.diagnosis.suggestions import suggested_places
from thermalkit.diagnosis.surface import nominal_surface_degc
from thermalkit.imaging.contrast import sound_place
from thermalkit.imaging.mark import Mark, mark_mask
from thermalkit.imaging.quality import noise_k
from thermalkit.language import Sentence, say


def _frame_options(case: Case) -> Mapping[str, Sentence]:
    return {name: say("damp.frame", frame=name) for name in case.site.frames}


def _limit_options(case: Case) -> Mapping[str, Sentence]:
    return {
        item.id: say("limit.option", id=item.id, use=item.use, source=item.source)
        for item in limit_sets().values()
    }


def _appliance_options(case: Case) -> Mapping[str, Sentence]:
    return {answer: say(f"answer.{answer}") for answer in ("yes", "no", "unknown")}


def _used_frames(case: Case) -> tuple[str, ...]:
    return tuple(case.decided["frames"])


def _propose_frames(case: Case) -> list[str]:
    return list(usable_frames(case))


def _propose_limit(case: Case) -> str:
    keys = case.site.keys
    written = keys.limits.set if keys.limits is not None else None
    return written if written in limit_sets() else limit_set_of(keys.site.country or "")


def _propose_suspects(case: Case) -> list[dict[str, Any]]:
    """The places marked in the site file; on a frame without one, the coldest coherent place."""
    return [
        mark for name in _used_frames(case) for mark in _marked(case, name, "suspect") or _coldest(case, name)
    ]


def _propose_sound(case: Case) -> list[dict[str, Any]]:
    """The places marked in the site file; on a frame without one, an even stretch that is not cold."""
    return [mark for name in _used_frames(case) for mark in _marked(case, name, "sound") or _even(case, name)]


def _marked(case: Case, frame: str, role: str) -> list[dict[str, Any]]:
    return [
        Mark(frame=m.frame, id=m.id, shape=m.shape, points=m.points, role=m.role).as_json()
        for m in case.site.keys.marks
        if m.frame == frame and m.role == role
    ]


def _coldest(case: Case, name: str) -> list[dict[str, Any]]:
    return [mark.as_json() for mark in _cold_places(case, name, most=1)]


def _cold_places(case: Case, name: str, *, most: int = 5) -> tuple[Mark, ...]:
    """In a cooled room too it is on the coldest places that moisture gathers."""
    return suggested_places(case, name, most=most, warm=False)


def _even(case: Case, name: str) -> list[dict[str, Any]]:
    frame = case.site.frames[name]
    surface = nominal_surface_degc(case, name)
    taken = np.zeros(surface.shape, dtype=np.bool_)
    for mark in case.decided["suspect"]:
        if mark.frame == name:
            taken |= mark_mask(mark, surface.shape)
    place = sound_place(surface, taken, noise_k=noise_k(surface), pixel_scale=round(frame.pixel_scale))
    if place is None:
        return []
    return [Mark(frame=name, id="sound", shape="patch", points=place.outline, role="sound").as_json()]


def _water_options(case: Case) -> Mapping[str, Asked]:
    return questions_at({place_id(m): place_label(case, m) for m in case.decided["suspect"]})


def _propose_water(case: Case) -> dict[str, str]:
    """What the frames, samples and notes already tell; the rest is for the surveyor."""
    return {
        f"{place_id(mark)}: {question}": outcome
        for mark in case.decided["suspect"]
        for question, outcome in known_answers(case, mark).items()
    }


def _propose_appliance(case: Case) -> str:
    stated = {room.open_flued_appliance for room in case.site.keys.rooms}
    return next((answer for answer in ("yes", "unknown") if answer in stated), "no" if stated else "unknown")


_READ = ("site", "weather", "instruments", "rooms", "frames", "references", "marks")

STEPS = (
    Step(
        name="frames",
        kind="damp",
        control=SomeOf(_frame_options),
        propose=_propose_frames,
        reads=_READ,
    ),
    Step(
        name="limit",
        kind="damp",
        control=OneOf(_limit_options),
        propose=_propose_limit,
        reads=("site", "limits"),
    ),
    Step(
        name="suspect",
        kind="damp",
        control=MarksOn("suspect", _used_frames, _cold_places),
        propose=_propose_suspects,
        reads=_READ,
        uses=("frames",),
    ),
    Step(
        name="sound",
        kind="damp",
        control=MarksOn("sound", _used_frames),
        propose=_propose_sound,
        reads=_READ,
        uses=("frames", "suspect"),
    ),
    Step(
        name="water",
        kind="damp",
        control=Answers(_water_options),
        propose=_propose_water,
        reads=(*_READ, "limits", "climate", "elements", "samples", "moisture", "loggers"),
        uses=("frames", "limit", "suspect", "sound"),
        applies=lambda case: bool(case.decided["suspect"]),
    ),
    Step(
        name="factors",
        kind="damp",
        control=SomeOf(factor_options),
        propose=lambda case: [],
        only_a_person=True,
        applies=lambda case: bool(case.decided["suspect"]),
    ),
    Step(
        name="appliance",
        kind="damp",
        control=OneOf(_appliance_options),
        propose=_propose_appliance,
        reads=("rooms",),
        only_a_person=True,
        applies=lambda case: _propose_appliance(case) == "unknown",
    ),
    Step(name="remark", kind="damp", control=Words(), propose=lambda case: "", only_a_person=True),
)
