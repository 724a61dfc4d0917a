"""Summer, and cooled rooms: where outdoor air is the moist one, airing brings the moisture in."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from thermalkit.diagnosis.damp.cures.wording import finding
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Finding, NextStep, quantity
from thermalkit.diagnosis.places import Place
from thermalkit.diagnosis.surroundings import half_width
from thermalkit.language import say
from thermalkit.measured import FloatArray, measured
from thermalkit.physics.moist_air import dew_point_degc


def is_cooled(case: Case, place: Place) -> bool:
    """Whether the room is kept cooler than outdoors."""
    room = case.site.frames[place.mark.frame].room
    own = room.climate_mode if room is not None else None
    return (own or case.site.keys.site.climate_mode) == "cooling"


def outdoor_dew_point_degc(case: Case) -> FloatArray | None:
    """Dew point outdoors during the visit, shape (draws,); None where it was not read."""
    weather = case.site.keys.weather
    read, percent = weather.air_temperature_degc, weather.relative_humidity_percent
    if read is None or percent is None:
        return None
    name = weather.instrument
    meter = case.site.keys.instruments[name] if name is not None else None
    label = name or "unnamed"
    accuracy_k = half_width(case, meter, "outdoor-air-accuracy", read)
    accuracy_rh = meter.accuracy_percent_rh if meter is not None else None
    if accuracy_rh is None:
        accuracy_rh = case.assumed("relative-humidity-accuracy").half_width
    air = read + case.draws.rectangular(f"outdoor-air-accuracy {label}", accuracy_k)
    error = case.draws.rectangular(f"relative-humidity-accuracy {label}", accuracy_rh)
    return dew_point_degc(air, np.clip((percent + error) / 100.0, 0.01, 1.0))


def is_airing_harmful(case: Case, place: Place) -> bool:
    """Whether outdoor air condensed, as likely as not, on the place during the visit."""
    dew_point = outdoor_dew_point_degc(case)
    return dew_point is not None and bool(np.median(dew_point - place.surface_degc) > 0.0)


def humid_outdoors(case: Case, place: Place, label: str) -> Iterator[Finding]:
    """No airing while the outdoor dew point lies above the surface; what to do in a cooled room."""
    dew_point = outdoor_dew_point_degc(case)
    cooled, harmful = is_cooled(case, place), is_airing_harmful(case, place)
    if not cooled and not harmful:
        return
    quantities = []
    if dew_point is not None:
        quantities.append(quantity("outdoor-dew-point", measured(dew_point, "degC")))
    quantities.append(quantity("surface-temperature", measured(place.surface_degc, "degC")))
    id = "harmful" if harmful else "cooled"
    values = {"surface": quantities[-1].shown()}
    if harmful:
        values["dew"] = quantities[0].shown()
    steps = [NextStep(step=say("damp.cure.next.keep-shut"), by=say("by.occupant"))] if harmful else []
    steps.append(NextStep(step=say("damp.cure.next.dehumidify"), by=say("by.ventilation")))
    if cooled:
        steps.append(NextStep(step=say("damp.cure.next.set-point"), by=say("by.cooling")))
        steps.append(NextStep(step=say("damp.cure.next.seal"), by=say("by.ventilation")))
    yield finding(
        case,
        place,
        label,
        "humid-outdoors",
        say(f"damp.cure.humid-outdoors.{id}", place=label, **values),
        tuple(quantities),
        next_steps=tuple(steps),
    )
