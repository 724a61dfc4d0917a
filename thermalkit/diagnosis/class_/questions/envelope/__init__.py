"""The envelope: what makes a place cold, and is it colder than a limit allows."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from thermalkit.diagnosis.class_.questions import AskedNumber, Beside, Note, Questions
from thermalkit.diagnosis.class_.questions.walls import BANDS_K, air_of, built_notes
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Quantity, quantity
from thermalkit.diagnosis.judging import limit_sets
from thermalkit.diagnosis.surface import View
from thermalkit.diagnosis.surroundings import indoor_degc, outdoor_degc, room_air
from thermalkit.language import Number, say
from thermalkit.measured import FloatArray, measured
from thermalkit.physics.envelope import temperature_factor
from thermalkit.site import Site
from thermalkit.site.sections.pressure import PressureKeys

_LEAST_DIFFERENCE_K = 1.0


def _factors(site: Site, frame: str) -> list[list[float]]:
    """Temperature factor as found by temperature of the surface; two rows, since it is a straight line."""
    air, weather = air_of(site, frame), site.keys.weather
    outdoor = weather.mean_24h_air_temperature_degc
    outdoor = weather.air_temperature_degc if outdoor is None else outdoor
    if air is None or outdoor is None or abs(air[0] - outdoor) < _LEAST_DIFFERENCE_K:
        return []
    ends = (outdoor, air[0] + 20.0) if air[0] > outdoor else (air[0], outdoor + 20.0)
    return [[t, round(float(temperature_factor(t, air[0], outdoor)), 4)] for t in ends]


def _factor(case: Case, seen: View, surface_degc: FloatArray) -> Iterator[Quantity]:
    """Temperature factor as found, with the film that is there."""
    air, outdoor = room_air(case, seen.frame.room), outdoor_degc(case, seen.frame)
    if air is None or outdoor is None:
        return
    indoor = indoor_degc(case, air)
    if abs(float(np.median(indoor - outdoor))) < _LEAST_DIFFERENCE_K:
        return
    factor = temperature_factor(surface_degc, indoor, outdoor)
    yield quantity("temperature-factor", measured(np.clip(factor, 0.0, 1.0), ""))


def _notes(site: Site) -> Iterator[Note]:
    """Walls as built, the limit, and pictures under pressure."""
    yield from built_notes(site)
    yield (
        say("class.envelope.note.limit"),
        say("class.envelope.note.limit-value", factor=Number(limit_sets()["general"].factor, "", 2)),
    )
    for item in site.sections(PressureKeys):
        if item.pressure_difference_pa is not None:
            yield (
                say("class.envelope.note.pressure", frame=item.frame),
                say(
                    "class.envelope.note.pressure-value",
                    frame=item.same_view_as,
                    pressure=Number(item.pressure_difference_pa, "Pa", 0),
                ),
            )


QUESTIONS = Questions(
    shown_by=PressureKeys,
    options={
        "look": ("cold-strip", "cold-field", "cold-streaks", "warm-line", "bright-spot", "even"),
        "survey": ("sun", "small-difference", "unsteady", "rain", "wind"),
        "cause": ("bridge", "missing-insulation", "air-leak", "reflection", "sound"),
        "job": (
            *("keep-dry", "calculate", "insulate", "inspect", "complete", "look-again"),
            *("appliance", "seal", "fan-again", "again", "note-view", "tell", "nothing"),
        ),
        "traps": ("reflection", "low-emissivity", "stain-not-cold", "warm-pipe", "furniture", "blur"),
        "hint": ("look", "compare", "fan", "numbers"),
    },
    bands_k=BANDS_K,
    numbers={
        "surface": AskedNumber(unit="degC", digits=1, low=-60.0, high=200.0, off_unit="K"),
        "difference": AskedNumber(unit="K", digits=1, low=-100.0, high=100.0),
        "factor": AskedNumber(unit="", digits=2, low=-5.0, high=10.0),
    },
    beside=Beside(unit="", digits=2, source="source.temperature-factor", table=_factors, draws=_factor),
    notes=_notes,
)
