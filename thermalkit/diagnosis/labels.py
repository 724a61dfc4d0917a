"""What a place and its room are called."""

from __future__ import annotations

from thermalkit.diagnosis.decisions import Case
from thermalkit.imaging.mark import Mark
from thermalkit.language import render, say


def place_label(case: Case, mark: Mark) -> str:
    """Room and mark; the frame too where two marks of the room's frames share a name."""
    room = room_label(case, mark.frame)
    alike = [
        other
        for step in ("suspect", "sound")
        for other in case.decided.get(step, ())
        if other.id == mark.id and room_label(case, other.frame) == room
    ]
    return f"{room} / {mark.id}" if len(alike) <= 1 else f"{room} / {mark.frame} / {mark.id}"


def room_label(case: Case, frame: str) -> str:
    """The room of a frame, or the frame where no room was written down."""
    room = case.site.frames[frame].room
    return room.label if room is not None else frame


def house_label(case: Case) -> str:
    """The site's name, as place of what concerns it whole; another word where names are to be left out."""
    keys = case.site.keys
    if not keys.report.private:
        return keys.site.name
    return keys.site.reference or render(say("label.house"), keys.report.language)
