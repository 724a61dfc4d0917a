"""Damp: how humid is the room's air at the place, and which water is it."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from thermalkit.diagnosis.class_.questions import AskedNumber, Beside, Note, Questions
from thermalkit.diagnosis.class_.questions.walls import BANDS_K, air_of, built_notes
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Quantity, quantity
from thermalkit.diagnosis.surface import View
from thermalkit.diagnosis.surroundings import room_air
from thermalkit.language import Number, Words, say
from thermalkit.measured import FloatArray, measured
from thermalkit.physics.moist_air import surface_humidity, vapour_pressure_pa
from thermalkit.site import Site
from thermalkit.site.sections.samples import SampleKeys

_TABLE_DEGC = np.arange(-10.0, 45.5, 0.5)


def _humidities(site: Site, frame: str) -> list[list[float]]:
    """Humidity of the room's air in percent by temperature of the surface it touches."""
    air = air_of(site, frame)
    if air is None or air[1] is None:
        return []
    pressure = vapour_pressure_pa(air[0], air[1] / 100.0)
    return [[float(t), round(100.0 * float(surface_humidity(pressure, float(t))), 1)] for t in _TABLE_DEGC]


def _humidity(case: Case, seen: View, surface_degc: FloatArray) -> Iterator[Quantity]:
    """Humidity of the room's air where it touches a place."""
    air = room_air(case, seen.frame.room)
    if air is not None and air.vapour_pressure_pa is not None:
        humidity = 100.0 * surface_humidity(air.vapour_pressure_pa, surface_degc)
        yield quantity("surface-humidity", measured(humidity, "%"))


def _notes(site: Site) -> Iterator[Note]:
    """Walls as built, and drillings."""
    yield from built_notes(site)
    for sample in site.sections(SampleKeys):
        if sample.moisture_percent is None or sample.hygroscopic_moisture_percent is None:
            continue
        yield (
            say(
                "class.damp.note.sample",
                place=sample.place or sample.id,
                depth=Number(sample.depth_mm or 0.0, "mm", 0),
            ),
            say(
                "class.damp.note.sample-value",
                water=Number(sample.moisture_percent, "%", 1),
                hygroscopic=Number(sample.hygroscopic_moisture_percent, "%", 1),
                nitrate=_grade(sample.nitrate),
                chloride=_grade(sample.chloride),
            ),
        )


def _grade(value: object) -> Words:
    return say(f"class.damp.note.grade.{value}") if isinstance(value, str) else str(value)


QUESTIONS = Questions(
    shown_by=None,
    options={
        "look": ("cold-strip", "cold-patch", "warm-line", "warm-line-bulge", "bright-spot", "even"),
        "survey": ("sun", "small-difference", "unsteady", "rain", "wind"),
        "cause": ("bridge", "drying", "leak", "warm-pipe", "reflection", "sound"),
        "job": (
            *("record", "air-heat", "insulate", "find-water", "stop-water", "dry"),
            *("plumber", "again", "note-pipe", "tell", "nothing"),
        ),
        "traps": ("reflection", "low-emissivity", "stain-not-cold", "warm-pipe", "furniture", "blur"),
        "hint": ("look", "compare", "water", "numbers"),
    },
    bands_k=BANDS_K,
    numbers={
        "surface": AskedNumber(unit="degC", digits=1, low=-60.0, high=200.0, off_unit="K"),
        "difference": AskedNumber(unit="K", digits=1, low=-100.0, high=100.0),
        "humidity": AskedNumber(unit="%", digits=0, low=0.0, high=300.0),
    },
    beside=Beside(unit="%", digits=0, source="source.surface-humidity", table=_humidities, draws=_humidity),
    notes=_notes,
)
