"""Heating: does a radiator work, and what keeps it from it."""

from __future__ import annotations

from collections.abc import Iterator

from thermalkit.diagnosis.class_.questions import AskedNumber, Beside, Note, Questions
from thermalkit.diagnosis.class_.questions.walls import air_of
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Quantity, quantity
from thermalkit.diagnosis.surface import View
from thermalkit.diagnosis.surroundings import room_air
from thermalkit.language import Number, Sentence, Words, say
from thermalkit.measured import FloatArray, measured
from thermalkit.site import Site
from thermalkit.site.sections.radiators import HeatingKeys, RadiatorKeys

_ENDS_DEGC = (-20.0, 120.0)


def _excesses(site: Site, frame: str) -> list[list[float]]:
    """Excess over the room's air by temperature of the surface; two rows, since it is a straight line."""
    air = air_of(site, frame)
    return [] if air is None else [[degc, round(degc - air[0], 1)] for degc in _ENDS_DEGC]


def _excess(case: Case, seen: View, surface_degc: FloatArray) -> Iterator[Quantity]:
    """Excess of a surface over the room's air."""
    air = room_air(case, seen.frame.room)
    if air is not None:
        yield quantity("excess-temperature", measured(surface_degc - air.temperature_degc, "K"))


def _notes(site: Site) -> Iterator[Note]:
    """What feeds the radiators, and each of them as found."""
    heating = site.section(HeatingKeys)
    if heating is not None and heating.source is not None and heating.flow_degc is not None:
        yield (
            say("class.heating.note.source"),
            say(
                "class.heating.note.source-value",
                source=_said("source", heating.source),
                flow=Number(heating.flow_degc, "degC", 0),
            ),
        )
    for item in site.sections(RadiatorKeys):
        name = item.frame or item.id
        for topic in (_built(item), _found(item), _pipes(item)):
            if topic is not None:
                yield say(f"class.heating.note.{topic.id.rpartition('.')[2]}-of", frame=name), topic


def _built(item: RadiatorKeys) -> Sentence | None:
    if item.length_mm is None or item.height_mm is None:
        return None
    return say(
        "class.heating.note.built",
        type=item.type,
        length=Number(item.length_mm, "mm", 0),
        height=Number(item.height_mm, "mm", 0),
        finish=_said("finish", item.finish),
    )


def _found(item: RadiatorKeys) -> Sentence | None:
    if item.minutes_steady is None:
        return None
    return say(
        "class.heating.note.found",
        head=_said("head", item.head),
        room=_said("room", item.warmer_than_set),
        minutes=Number(item.minutes_steady, "min", 0),
    )


def _pipes(item: RadiatorKeys) -> Sentence | None:
    if item.flow_degc is None or item.return_degc is None:
        return None
    return say(
        "class.heating.note.pipes",
        flow=Number(item.flow_degc, "degC", 1),
        back=Number(item.return_degc, "degC", 1),
    )


def _said(topic: str, value: str) -> Words:
    return say(f"class.heating.note.{topic}.{value.replace(' ', '-')}")


QUESTIONS = Questions(
    shown_by=RadiatorKeys,
    options={
        "look": ("cold-top", "cold-middle", "cold-bottom", "cold-side", "even", "mirror"),
        "survey": ("mild", "covered", "just-started", "other-heat", "pump-changed"),
        "cause": ("air", "deposit", "starved", "satisfied", "healthy", "chrome"),
        "job": (
            *("bleed", "pressure", "air-source", "sample", "flush", "filter", "valve", "balance"),
            *("look-again", "turn-up", "wait", "tape", "load", "tell", "nothing"),
        ),
        "traps": ("low-emissivity", "old-mark", "reflection", "warm-wall", "blur"),
        "hint": ("look", "compare", "head", "mirror", "numbers"),
    },
    bands_k={
        "under-2": (0.0, 2.0),
        "2-5": (2.0, 5.0),
        "5-10": (5.0, 10.0),
        "10-20": (10.0, 20.0),
        "over-20": (20.0, 1e3),
    },
    numbers={
        "surface": AskedNumber(unit="degC", digits=1, low=-60.0, high=200.0, off_unit="K"),
        "difference": AskedNumber(unit="K", digits=1, low=-150.0, high=150.0),
        "drop": AskedNumber(unit="K", digits=1, low=-100.0, high=100.0),
    },
    beside=Beside(unit="K", digits=1, source="class.heating.source.excess", table=_excesses, draws=_excess),
    notes=_notes,
)
