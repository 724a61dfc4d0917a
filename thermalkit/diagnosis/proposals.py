"""What investigations ask alike, and what is proposed: frames, limits, places, appliances, a remark."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from thermalkit.diagnosis.conditions import usable_frames
from thermalkit.diagnosis.decisions import Case, OneOf, SomeOf, Step, Words
from thermalkit.diagnosis.judging import limit_set_of, limit_sets
from thermalkit.diagnosis.surface import nominal_surface_degc
from thermalkit.imaging.contrast import sound_place
from thermalkit.imaging.mark import Mark, mark_mask
from thermalkit.imaging.quality import noise_k
from thermalkit.language import Number, Sentence, say

FRAME_READS = ("site", "weather", "instruments", "rooms", "frames", "references", "marks")
"""Sections of the site file that decide what a frame shows."""


def frames_step(
    kind: str, propose: Callable[[Case], list[str]], *, reads: tuple[str, ...] = FRAME_READS
) -> Step:
    """Which frames may be trusted."""
    return Step(name="frames", kind=kind, control=SomeOf(_frame_options), propose=propose, reads=reads)


def limit_step(kind: str) -> Step:
    """Which set of limits the places are held against."""
    return Step(
        name="limit",
        kind=kind,
        control=OneOf(_limit_options),
        propose=_proposed_limit,
        reads=("site", "limits"),
    )


def appliance_step(kind: str) -> Step:
    """Whether there is an open-flued appliance, where the rooms leave it open."""
    return Step(
        name="appliance",
        kind=kind,
        control=OneOf(_appliance_options),
        propose=_proposed_appliance,
        reads=("rooms",),
        only_a_person=True,
        applies=lambda case: _proposed_appliance(case) == "unknown",
    )


def remark_step(kind: str) -> Step:
    """A remark of one's own for the client."""
    return Step(name="remark", kind=kind, control=Words(), propose=lambda case: "", only_a_person=True)


def _frame_options(case: Case) -> Mapping[str, Sentence]:
    """Every frame of the site."""
    return {name: say("frame.option", frame=name) for name in case.site.frames}


def _limit_options(case: Case) -> Mapping[str, Sentence]:
    """Every set of limits."""
    return {
        item.id: say(
            "limit.option",
            id=item.id,
            use=item.use,
            symbol=item.factor_limit.term.symbol,
            factor=Number(item.factor, digits=2),
            source=item.source,
        )
        for item in limit_sets().values()
    }


def _appliance_options(case: Case) -> Mapping[str, Sentence]:
    """Whether there is an open-flued appliance."""
    return {answer: say(f"answer.{answer}") for answer in ("yes", "no", "unknown")}


def used_frames(case: Case) -> tuple[str, ...]:
    """Frames that were decided on."""
    return tuple(case.decided["frames"])


def proposed_frames(case: Case) -> list[str]:
    """Frames that no remark excludes."""
    return list(usable_frames(case))


def _proposed_limit(case: Case) -> str:
    """The set of the site file, else that of the country."""
    keys = case.site.keys
    written = keys.limits.set if keys.limits is not None else None
    return written if written in limit_sets() else limit_set_of(keys.site.country or "")


def _proposed_appliance(case: Case) -> str:
    """What the rooms say: one is enough for yes."""
    stated = {room.open_flued_appliance for room in case.site.keys.rooms}
    return next((answer for answer in ("yes", "unknown") if answer in stated), "no" if stated else "unknown")


def written_marks(case: Case, frame: str, role: str) -> list[dict[str, Any]]:
    """Marks of a role that stand in the site file, as plain data."""
    return [
        Mark(frame=m.frame, id=m.id, shape=m.shape, points=m.points, role=m.role).as_json()
        for m in case.site.keys.marks
        if m.frame == frame and m.role == role
    ]


def proposed_sound(case: Case) -> list[dict[str, Any]]:
    """The places marked in the site file; on a frame without one, an even stretch that is not cold."""
    return [
        mark for name in used_frames(case) for mark in written_marks(case, name, "sound") or _even(case, name)
    ]


def _even(case: Case, name: str) -> list[dict[str, Any]]:
    frame = case.site.frames[name]
    surface = nominal_surface_degc(case, name)
    taken = np.zeros(surface.shape, dtype=np.bool_)
    for mark in case.decided["suspect"]:
        if mark.frame == name:
            taken |= mark_mask(mark, surface.shape)
    noise = noise_k(surface, pixel_scale=frame.pixel_scale)
    place = sound_place(surface, taken, noise_k=noise, pixel_scale=round(frame.pixel_scale))
    if place is None:
        return []
    return [Mark(frame=name, id="sound", shape="patch", points=place.outline, role="sound").as_json()]
