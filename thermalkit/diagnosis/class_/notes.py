"""What was written down on the visit, as lines that a learner reads beside the pictures."""

from __future__ import annotations

from collections.abc import Iterator

from thermalkit.diagnosis.class_.questions import Note, kind_of, questions
from thermalkit.language import Number, say
from thermalkit.site import Site


def notes(site: Site) -> tuple[Note, ...]:
    """Weather, air, instruments, pictures, and what the kind reads; only what was written down."""
    own = questions(kind_of(site)).notes(site)
    return (*_weather(site), *_rooms(site), *_instruments(site), *_frames(site), *own)


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
