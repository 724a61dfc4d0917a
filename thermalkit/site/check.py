"""What is missing from a sound site that would help, most useful first."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import timedelta

from thermalkit.language import Sentence, render, say
from thermalkit.site.asking import entry_words
from thermalkit.site.model import FrameKeys, InstrumentKeys, RoomKeys
from thermalkit.site.problems import listed
from thermalkit.site.sections.cabinets import CabinetKeys, CircuitKeys
from thermalkit.site.sections.floors import FloorLoopKeys
from thermalkit.site.survey import Site, SurveyFrame

_DAYS_OF_A_YEAR = 366
_ONE_DAY = timedelta(days=1)

_OF_WALLS = ("room-humidity", "mean-24h", "sun", "steady", "limits")
# In the order of usefulness; each has its sentences "check.KEY.what" and "check.KEY.why".
ORDER = (
    "frame",
    "other-day",
    "current",
    "conductor",
    "cabinet-air",
    "outdoor-air",
    "reference",
    "room-humidity",
    "room-air",
    "mean-24h",
    "reflected",
    "emissivity",
    "camera",
    "accuracy",
    "room",
    "sun",
    "steady",
    "calibration",
    "calibrated-later",
    "detector",
    "size",
    "time",
    "photo",
    "flue",
    "looked-at",
    "limits",
    "climate",
    "surveyor",
    "certificate",
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Missing:
    """Something that would help: where, what, and what it would do."""

    table: str
    names: tuple[str, ...]
    what: Sentence
    why: Sentence

    @property
    def place(self) -> str:
        """Where it stands in the site file."""
        return f"{self.table} {listed(self.names)}" if self.names else f"[{self.table}]"

    def told(self, language: str) -> str:
        """On one line, in the words of the form."""
        where = " ".join(part for part in (entry_words(self.table, language), listed(self.names)) if part)
        return f"{where}: {render(self.what, language)} {render(self.why, language)}"


def check(site: Site) -> list[Missing]:
    """What is missing that would help, most useful first, one entry for all places of a kind.

    Parameters
    ----------
    site : Site
        Read without problems.
    """
    places: dict[str, list[str]] = {}
    tables: dict[str, str] = {}
    for key, table, name in _gaps(site):
        places.setdefault(key, []).extend([name] if name else [])
        tables[key] = table
    return [
        Missing(
            table=tables[key],
            names=tuple(places[key]),
            what=say(f"check.{key}.what"),
            why=say(f"check.{key}.why"),
        )
        for key in ORDER
        if key in places and not (key in _OF_WALLS and _is_all_heating(site))
    ]


def _gaps(site: Site) -> Iterator[tuple[str, str, str]]:
    """(key of ORDER, table, name) of everything missing."""
    for frame in site.frames.values():
        yield from ((key, "frames", frame.keys.id) for key in _frame_gaps(site, frame))
    if not _is_all_live(site):
        for room in site.keys.rooms:
            yield from ((key, "rooms", room.id) for key in _room_gaps(site, room))
    yield from _cabinet_gaps(site)
    for name, instrument in site.keys.instruments.items():
        yield from ((key, "instruments", name) for key in _instrument_gaps(site, instrument))
    yield from ((key, table, "") for key, table in _site_gaps(site))


def _is_all_heating(site: Site) -> bool:
    """Whether every frame shows what heats: nothing is judged by a wall that follows the weather then."""
    heating = {"radiator", "floor"} if site.sections(FloorLoopKeys) else {"radiator"}
    return bool(site.frames) and all(frame.keys.subject in heating for frame in site.frames.values())


def _is_all_live(site: Site) -> bool:
    """Whether every frame shows live equipment: neither weather nor room air is asked for then."""
    return bool(site.frames) and all(frame.keys.subject == "cabinet" for frame in site.frames.values())


def _cabinet_gaps(site: Site) -> Iterator[tuple[str, str, str]]:
    for circuit in site.sections(CircuitKeys):
        found = _absent(current=circuit.measured_current_a, conductor=circuit.conductor_mm2)
        yield from ((key, "circuits", circuit.id) for key in found)
    for cabinet in site.sections(CabinetKeys):
        if cabinet.air_temperature_degc is None and cabinet.seen != "opaque cover":
            yield "cabinet-air", "cabinets", cabinet.id


def _frame_gaps(site: Site, frame: SurveyFrame) -> Iterator[str]:
    keys: FrameKeys = frame.keys
    kinds = {r.kind for r in site.keys.references if r.frame == keys.id}
    if keys.taken_at and abs(keys.taken_at - site.keys.site.surveyed_at) > _ONE_DAY:
        yield "other-day"
    yield from _absent(
        reference=kinds & {"contact", "shaded_board"} or keys.subject == "cabinet",  # nobody touches it
        camera=frame.camera,
        room=frame.room,
        time=keys.taken_at,
        photo=keys.photo,
        size=keys.distance_m and frame.camera and frame.camera.field_of_view_deg,
        detector=frame.camera is None or (frame.camera.rows and frame.camera.columns),
    )
    if keys.values != "surface":
        yield from _absent(
            emissivity=keys.emissivity,
            reflected=keys.reflected_temperature_degc is not None or "foil" in kinds,
        )


def _room_gaps(site: Site, room: RoomKeys) -> Iterator[str]:
    logged = any(logger.room == room.id and logger.place == "room" for logger in site.keys.loggers)
    read = {row.quantity for row in site.readings if row.place == room.id}
    yield from _absent(
        **{
            "room-air": room.air_temperature_degc is not None or logged or "air temperature" in read,
            "room-humidity": room.relative_humidity_percent or logged or "relative humidity" in read,
            "flue": room.open_flued_appliance != "unknown",
            "looked-at": any(seen.room == room.id for seen in site.keys.looked_at),
        }
    )


def _instrument_gaps(site: Site, instrument: InstrumentKeys) -> Iterator[str]:
    accuracies = (instrument.accuracy_k, instrument.accuracy_percent, instrument.accuracy_percent_rh)
    yield from _absent(accuracy=any(a is not None for a in accuracies))
    surveyed, calibrated = site.keys.site.surveyed_at.date(), instrument.calibrated_on
    if calibrated and calibrated > surveyed:
        yield "calibrated-later"
    elif calibrated is None or (surveyed - calibrated).days > _DAYS_OF_A_YEAR:
        yield "calibration"


def _site_gaps(site: Site) -> Iterator[tuple[str, str]]:
    keys, weather = site.keys, site.keys.weather
    logged = any(logger.place == "outdoor" for logger in keys.loggers)
    for key in _absent(frame=site.frames):
        yield key, "frames"
    is_outside_asked = not _is_all_live(site)
    for key in _absent(
        **{
            "outdoor-air": weather.air_temperature_degc is not None or logged,
            "mean-24h": weather.mean_24h_air_temperature_degc is not None or logged,
            "sun": weather.hours_since_sun is not None,
            "steady": weather.hours_steady is not None,
        }
    ):
        if is_outside_asked:
            yield key, "weather"
    for key in _absent(limits=keys.limits, climate=keys.climate, surveyor=keys.surveyor.name):
        if is_outside_asked or key == "surveyor":
            yield key, key
    expires = keys.surveyor.certificate_expires_on
    if expires and expires < keys.site.surveyed_at.date():
        yield "certificate", "surveyor"


def _absent(**given: object) -> Iterator[str]:
    """Names of what is not there."""
    return (key for key, value in given.items() if not value)
