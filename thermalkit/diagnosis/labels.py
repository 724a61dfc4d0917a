"""What a place and its room are called."""

from __future__ import annotations

import re

from thermalkit.diagnosis.decisions import Case
from thermalkit.imaging.mark import Mark
from thermalkit.language import render, say

_PROPOSED = re.compile(r"(sound|cold|warm|pipe)((?: \d+)?(?: [a-z])?(?: →)?)")


def place_label(case: Case, mark: Mark) -> str:
    """Room and mark; the frame too where two marks of the room's frames share a name."""
    room = room_label(case, mark.frame)
    alike = [
        other
        for step in ("suspect", "sound")
        for other in case.decided.get(step, ())
        if other.id == mark.id and room_label(case, other.frame) == room
    ]
    name = mark_name(mark.id, case.site.keys.report.language)
    return f"{room} / {name}" if len(alike) <= 1 else f"{room} / {mark.frame} / {name}"


def mark_name(id: str, language: str) -> str:
    """What a mark is called: the word of a language for a proposed name, else the name that a person gave.

    Examples
    --------
    >>> mark_name("cold 2", "de"), mark_name("cold", "en"), mark_name("Fuge", "en")
    ('kalte Stelle 2', 'cold', 'Fuge')
    """
    proposed = _PROPOSED.fullmatch(id)
    return id if proposed is None else render(say(f"mark.{proposed[1]}"), language) + proposed[2]


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
