"""Summer, and cooled rooms: where outdoor air is the moist one, airing brings the moisture in."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from thermalkit.diagnosis.damp.cures.wording import finding
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Finding, NextStep, quantity
from thermalkit.diagnosis.places import Place
from thermalkit.diagnosis.surroundings import outdoor_dew_point_degc
from thermalkit.language import say
from thermalkit.measured import measured


def is_airing_harmful(case: Case, place: Place) -> bool:
    """Whether outdoor air condensed, as likely as not, on the place during the visit."""
    dew_point = outdoor_dew_point_degc(case)
    return dew_point is not None and bool(np.median(dew_point - place.surface_degc) > 0.0)


def humid_outdoors(case: Case, place: Place, label: str) -> Iterator[Finding]:
    """No airing while the outdoor dew point lies above the surface; what to do in a cooled room."""
    dew_point = outdoor_dew_point_degc(case)
    harmful = is_airing_harmful(case, place)
    cooled = case.site.is_cooled(case.site.frames[place.mark.frame].room)
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
