"""The whole house: who gets too much water, who too little, and what rooms need on the design day."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import (
    Axis,
    Chart,
    Evidence,
    Finding,
    Limit,
    NextStep,
    Series,
    quantity,
)
from thermalkit.diagnosis.heating.radiators.balance import (
    LEAST_COMPARED,
    balance_findings,
    shares,
    water_chart,
)
from thermalkit.diagnosis.heating.radiators.load import (
    cover_at,
    design_cover,
    design_outdoor_degc,
    design_room_degc,
    flow_needed_degc,
    heat_loss_w_k,
    radiators_of,
    usual_return_degc,
)
from thermalkit.diagnosis.heating.radiators.output import RESTS_ON
from thermalkit.diagnosis.heating.radiators.reading import is_settled, output_w, rated_w, shown
from thermalkit.diagnosis.heating.radiators.subject import Radiator, heating
from thermalkit.diagnosis.heating.radiators.weighed import named, weighed
from thermalkit.diagnosis.judging import verdict
from thermalkit.diagnosis.surroundings import room_air
from thermalkit.glossary import TERMS
from thermalkit.language import Number, say
from thermalkit.measured import FloatArray, measured
from thermalkit.site.model import RoomKeys


def house_findings(case: Case) -> Iterator[Finding]:
    """Rooms one by one, then the water between radiators."""
    for room in case.site.keys.rooms:
        yield from _room(case, room)
    yield from balance_findings(case, shares(case))


def house_charts(case: Case) -> Iterator[Chart]:
    """Water found beside water wanted, and what rooms get on the design day."""
    found = shares(case)
    if len(found) >= LEAST_COMPARED:
        yield water_chart(found)
    covers = {
        room.label: cover for room in case.site.keys.rooms if (cover := design_cover(case, room)) is not None
    }
    if len(covers) >= LEAST_COMPARED:
        yield _cover_chart(covers)


def _room(case: Case, room: RoomKeys) -> Iterator[Finding]:
    loss, outdoor = heat_loss_w_k(case, room), design_outdoor_degc(case)
    if loss is None or outdoor is None or not radiators_of(case, room):
        return
    load = loss * (design_room_degc(room) - outdoor)
    known = heating(case)
    if known.design_flow_degc is not None:
        back = known.design_return_degc or usual_return_degc(known.design_flow_degc)
        yield from _judged(case, room, load, known.design_flow_degc, back, "heating.room.design")
    low = known.planned_flow_degc
    if low is not None and (known.design_flow_degc is None or low < known.design_flow_degc):
        yield from _judged(case, room, load, low, usual_return_degc(low), "heating.room.low")


def _judged(
    case: Case, room: RoomKeys, load: FloatArray, flow_degc: float, return_degc: float, code: str
) -> Iterator[Finding]:
    """Whether a room is covered; the lowest flow that would cover it stands beside."""
    cover = cover_at(case, room, flow_degc, return_degc)
    if cover is None:
        return
    first = quantity("heat-cover", measured(100.0 * cover, "%"))
    needed = quantity("flow-needed", measured(flow_needed_degc(case, room, load), "degC"))
    limit = Limit(
        term=TERMS["heat-cover"], sense="at_least", value=100.0, source=say("heating.source.heat-load")
    )
    judged = verdict(first, limit)
    steps = (
        (NextStep(step=say("heating.next.cover"), by=say("by.heating")),) if judged != "not indicated" else ()
    )
    items = radiators_of(case, room)
    # A room with one radiator and that radiator are one place to whoever reads it.
    place = items[0].place if len(items) == 1 else room.label
    mark = items[0].mark if len(items) == 1 else None
    yield Finding(
        code=code,
        place=place,
        frame=mark.frame if mark is not None else None,
        mark=mark.id if mark is not None else None,
        statement=say(
            f"{code}.{judged.replace(' ', '-')}",
            place=place,
            value=first.shown(),
            needed=needed.shown(),
            flow=Number(flow_degc, "degC", 0),
            back=Number(return_degc, "degC", 0),
            outdoor=Number(design_outdoor_degc(case) or 0.0, "degC", 0),
        ),
        verdict=judged,
        quantities=(first, quantity("heat-load", measured(load, "W")), needed),
        limit=limit,
        evidence=(Evidence(kind="reading", reference="site.toml"),),
        sources=(say("heating.source.heat-load"), say("source.en442")),
        next_steps=steps,
    )


def need_findings(case: Case, item: Radiator) -> Iterator[Finding]:
    """A radiator that gives clearly less than its part of what the room loses now, though heat is wanted."""
    outdoor, air = case.site.keys.weather.air_temperature_degc, room_air(case, item.room)
    loss = heat_loss_w_k(case, item.room) if item.room is not None else None
    given, rated = output_w(case, item, shown(case, item)), rated_w(case, item)
    if None in (outdoor, item.room) or air is None or loss is None or given is None or rated is None:
        return
    if item.room is None or outdoor is None or not is_settled(item):
        return
    if named(weighed(case, item)) == "satisfied":
        return
    of_room = sum(
        value for other in radiators_of(case, item.room) if (value := rated_w(case, other)) is not None
    )
    need = np.maximum(loss * (air.temperature_degc - outdoor), 1.0) * rated / of_room
    cover = quantity("heat-cover-now", measured(100.0 * given / need, "%"))
    limit = Limit(
        term=TERMS["heat-cover-now"], sense="at_least", value=100.0, source=say("heating.source.heat-load")
    )
    if verdict(cover, limit) != "indicated":
        return
    quantities = (
        cover,
        quantity("radiator-output", measured(given, "W")),
        quantity("heat-need", measured(need, "W")),
    )
    mark = item.mark
    yield Finding(
        code="heating.need",
        place=item.place,
        frame=mark.frame if mark is not None else None,
        mark=mark.id if mark is not None else None,
        statement=say(
            "heating.need", place=item.place, given=quantities[1].shown(), need=quantities[2].shown()
        ),
        verdict="indicated",
        quantities=quantities,
        limit=limit,
        evidence=(Evidence(kind="reading", reference="site.toml"),),
        sources=(say("heating.source.heat-load"), say("source.en442")),
        rests_on=(*RESTS_ON, "answers"),
    )


def _cover_chart(covers: Mapping[str, FloatArray]) -> Chart:
    values = {name: measured(100.0 * cover, "%") for name, cover in covers.items()}
    least = min(values, key=lambda name: values[name].value)
    return Chart(
        id="heating-cover",
        title=say("heating.chart.cover"),
        summary=say("heating.chart.cover.summary", count=len(values), least=least),
        x=Axis(title=say("heating.chart.room"), kind="category"),
        y=Axis(title=say("term.heat-cover"), unit="%"),
        series=(
            Series(
                name=say("term.heat-cover"),
                x=tuple(values),
                y=tuple(round(v.value, 1) for v in values.values()),
                style="points",
                low=tuple(round(v.low, 1) for v in values.values()),
                high=tuple(round(v.high, 1) for v in values.values()),
            ),
        ),
        limits=((100.0, say("term.heat-load")),),
    )
