"""What was written down on the visit, as lines that a learner reads beside the pictures."""

from __future__ import annotations

from collections.abc import Iterator

from thermalkit.language import Number, Sentence, Words, say
from thermalkit.site import Site
from thermalkit.site.sections.elements import ElementKeys
from thermalkit.site.sections.samples import SampleKeys

Note = tuple[Sentence, Words]


def notes(site: Site) -> tuple[Note, ...]:
    """Weather, air, instruments, pictures, walls and drillings; only what was written down."""
    return (*_weather(site), *_rooms(site), *_instruments(site), *_frames(site), *_walls(site))


def _weather(site: Site) -> Iterator[Note]:
    weather = site.keys.weather
    for id, value, unit in (
        ("outdoor", weather.air_temperature_degc, "degC"),
        ("outdoor-mean", weather.mean_24h_air_temperature_degc, "degC"),
        ("wind", weather.wind_speed_m_s, "m/s"),
        ("steady", weather.hours_steady, "h"),
    ):
        if value is not None:
            yield (
                say(f"class.note.{id}"),
                say("class.value", value=Number(value, unit, 0 if unit == "h" else 1)),
            )
    for id, hours in (("sun", weather.hours_since_sun), ("rain", weather.hours_since_rain)):
        if hours is not None:
            yield say(f"class.note.{id}"), say("class.note.hours-ago", hours=Number(hours, "h", 0))


def _rooms(site: Site) -> Iterator[Note]:
    for room in site.keys.rooms:
        if room.air_temperature_degc is not None and room.relative_humidity_percent is not None:
            yield (
                say("class.note.air", room=room.label),
                say(
                    "class.note.air-value",
                    air=Number(room.air_temperature_degc, "degC", 1),
                    humidity=Number(room.relative_humidity_percent, "%", 0),
                ),
            )


def _instruments(site: Site) -> Iterator[Note]:
    for item in site.keys.instruments.values():
        if item.kind == "thermal_camera" and item.accuracy_k is not None:
            yield (
                say("class.note.camera"),
                say(
                    "class.note.camera-value",
                    accuracy=Number(item.accuracy_k, "K", 1),
                    noise=Number(item.noise_k or 0.0, "K", 2),
                ),
            )
        elif item.kind == "thermohygrometer" and item.accuracy_k and item.accuracy_percent_rh:
            yield (
                say("class.note.hygrometer"),
                say(
                    "class.note.hygrometer-value",
                    air=Number(item.accuracy_k, "K", 1),
                    humidity=Number(item.accuracy_percent_rh, "%", 0),
                ),
            )


def _frames(site: Site) -> Iterator[Note]:
    for name, frame in site.frames.items():
        keys = frame.keys
        if frame.room is not None and keys.distance_m and keys.reflected_temperature_degc is not None:
            yield (
                say("class.note.frame", frame=name),
                say(
                    "class.note.frame-value",
                    room=frame.room.label,
                    distance=Number(keys.distance_m, "m", 1),
                    reflected=Number(keys.reflected_temperature_degc, "degC", 1),
                ),
            )


def _walls(site: Site) -> Iterator[Note]:
    rooms = {room.id: room.label for room in site.keys.rooms}
    for item in site.sections(ElementKeys):
        if item.construction is not None:
            yield say("class.note.wall", room=rooms.get(item.room or "", item.id)), item.construction
    for sample in site.sections(SampleKeys):
        if sample.moisture_percent is None or sample.hygroscopic_moisture_percent is None:
            continue
        yield (
            say(
                "class.note.sample",
                place=sample.place or sample.id,
                depth=Number(sample.depth_mm or 0.0, "mm", 0),
            ),
            say(
                "class.note.sample-value",
                water=Number(sample.moisture_percent, "%", 1),
                hygroscopic=Number(sample.hygroscopic_moisture_percent, "%", 1),
                nitrate=_grade(sample.nitrate),
                chloride=_grade(sample.chloride),
            ),
        )


def _grade(value: object) -> Words:
    return say(f"class.note.grade.{value}") if isinstance(value, str) else str(value)
