"""Cooled ceilings and radiators: whether the room's air could condense on them."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Evidence, Finding, Limit, NextStep, quantity
from thermalkit.diagnosis.heating.radiators.subject import COOLED, Radiator
from thermalkit.diagnosis.judging import verdict
from thermalkit.diagnosis.surface import spot_degc, statistics_of, view
from thermalkit.diagnosis.surroundings import half_width, room_air
from thermalkit.glossary import TERMS
from thermalkit.language import Number, say
from thermalkit.measured import FloatArray, measured
from thermalkit.physics.moist_air import dew_point_degc, surface_humidity

SATURATED_PERCENT = 100.0


def is_cooled(case: Case, item: Radiator) -> bool:
    """A cooled ceiling, or a radiator fed with water colder than its room."""
    room, flow = item.room, item.keys.flow_degc
    colder = (
        room is not None
        and flow is not None
        and room.air_temperature_degc is not None
        and flow < room.air_temperature_degc
        and case.site.is_cooled(room)
    )
    return item.keys.type == COOLED or colder


def cooled_findings(case: Case, item: Radiator) -> Iterator[Finding]:
    """Humidity of the room's air where it touches the coldest spot, against saturation."""
    air, coldest = room_air(case, item.room), _coldest_degc(case, item)
    if air is None or air.vapour_pressure_pa is None or air.relative_humidity is None or coldest is None:
        return
    humidity = quantity(
        "surface-humidity", measured(100.0 * surface_humidity(air.vapour_pressure_pa, coldest), "%")
    )
    dew = quantity("dew-point", measured(dew_point_degc(air.temperature_degc, air.relative_humidity), "degC"))
    limit = Limit(
        term=TERMS["surface-humidity"],
        sense="at_most",
        value=SATURATED_PERCENT,
        source=say("heating.source.dew"),
    )
    judged = verdict(humidity, limit)
    mark = item.mark
    step = NextStep(step=say("heating.next.dew"), by=say("by.cooling"))
    yield Finding(
        code="heating.cooled",
        place=item.place,
        frame=mark.frame if mark is not None else None,
        mark=mark.id if mark is not None else None,
        statement=say(
            f"heating.cooled.{judged.replace(' ', '-')}",
            place=item.place,
            value=humidity.shown(),
            dew=dew.shown(),
            limit=Number(SATURATED_PERCENT, "%", 0),
        ),
        verdict=judged,
        quantities=(humidity, dew, quantity("surface-temperature", measured(coldest, "degC"))),
        limit=limit,
        evidence=(
            Evidence(kind="picture", reference=mark.frame, mark=mark.id)
            if mark is not None
            else Evidence(kind="reading", reference="site.toml"),
        ),
        sources=(say("source.surface-humidity"),),
        next_steps=(step,) if judged != "not indicated" else (),
        rests_on=("frames", "radiator"),
    )


def _coldest_degc(case: Case, item: Radiator) -> FloatArray | None:
    """Coldest measurable spot of the outline, else the flow pipe; shape (draws,)."""
    if item.mark is not None:
        spot = statistics_of(case, item.mark).coldest
        if spot is not None:
            return spot_degc(case, view(case, item.mark.frame), spot.temperature_degc, item.mark.id)
    if item.keys.flow_degc is None:
        return None
    meter = case.site.keys.instruments[item.keys.instrument] if item.keys.instrument else None
    width = half_width(case, meter, "pipe-accuracy", item.keys.flow_degc)
    error = case.draws.rectangular(f"pipe-accuracy {item.id} flow", width)
    return np.asarray(item.keys.flow_degc + error)
