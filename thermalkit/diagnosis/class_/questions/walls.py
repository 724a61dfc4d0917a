"""What kinds of cases that look at walls share."""

from __future__ import annotations

from collections.abc import Iterator

from thermalkit.diagnosis.class_.questions import Note
from thermalkit.language import say
from thermalkit.site import Site
from thermalkit.site.sections.elements import ElementKeys

BANDS_K = {
    "under-1": (0.0, 1.0),
    "1-2": (1.0, 2.0),
    "2-4": (2.0, 4.0),
    "4-8": (4.0, 8.0),
    "over-8": (8.0, 1e3),
}


def air_of(site: Site, frame: str) -> tuple[float, float | None] | None:
    """Temperature in °C and humidity in percent of the room of a frame, as read."""
    room = site.frames[frame].room
    if room is None or room.air_temperature_degc is None:
        return None
    return room.air_temperature_degc, room.relative_humidity_percent


def built_notes(site: Site) -> Iterator[Note]:
    """Walls as built."""
    rooms = {room.id: room.label for room in site.keys.rooms}
    for item in site.sections(ElementKeys):
        if item.construction is not None:
            yield say("class.note.wall", room=rooms.get(item.room or "", item.id)), item.construction
