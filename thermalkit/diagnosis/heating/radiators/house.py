"""The whole house: who gets too much water, who too little, and what rooms need on the design day."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

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
from thermalkit.diagnosis.heating.radiators.output import RESTS_ON, flow_draws_kg_h
from thermalkit.diagnosis.heating.radiators.reading import exponent, is_settled, output_w, rated_w, shown
from thermalkit.diagnosis.heating.radiators.subject import COOLED, Radiator, heating, radiators
from thermalkit.diagnosis.heating.radiators.weighed import named, weighed
from thermalkit.diagnosis.judging import verdict
from thermalkit.diagnosis.labels import house_label
from thermalkit.diagnosis.surroundings import room_air
from thermalkit.glossary import TERMS
from thermalkit.language import Number, say
from thermalkit.measured import FloatArray, measured
from thermalkit.physics.emitters import room_heat_load_w, standard_ratio, water_flow_kg_h
from thermalkit.site.model import RoomKeys
from thermalkit.site.sections.radiators import HeatLossKeys

ROOM_DEGC, BATH_DEGC = 20.0, 24.0
HOGS_FROM, STARVES_BELOW = 1.5, 0.6  # own choice: found over target water
DROP_SHARE = 0.28  # common practice: 75/65, 55/45, 45/38, 35/31 at 20 °C
_LEAST_COMPARED = 2
_USUAL_DROP_K = {"heat pump": 5.0}
_OTHER_DROP_K = 10.0
_BATH_WORDS = ("bath", "bad", "shower", "dusche")


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Share:
    """One radiator's water, found and as a target; shape (draws,)."""

    item: Radiator
    found_kg_h: FloatArray
    target_kg_h: FloatArray

    @property
    def ratio(self) -> float:
        """Found over target share, both of their own sums."""
        return float(np.median(self.found_kg_h / self.target_kg_h))


def house_findings(case: Case) -> Iterator[Finding]:
    """Rooms one by one, then the water between radiators."""
    for room in case.site.keys.rooms:
        yield from _room(case, room)
    yield from _balance(case, shares(case))


def house_charts(case: Case) -> Iterator[Chart]:
    """Water found beside water wanted, and what rooms get on the design day."""
    found = shares(case)
    if len(found) >= _LEAST_COMPARED:
        yield _water_chart(found)
    covers = {
        room.label: cover for room in case.site.keys.rooms if (cover := design_cover(case, room)) is not None
    }
    if len(covers) >= _LEAST_COMPARED:
        yield _cover_chart(covers)


def heat_loss_w_k(case: Case, room: RoomKeys) -> FloatArray | None:
    """Heat a room loses per kelvin, shape (draws,): from its parts, a stated load, else its floor area."""
    parts = [part for part in case.site.sections(HeatLossKeys) if part.room == room.id]
    stated = _assumed(case, "stated-losses", room.id) if parts else np.ones(case.draws.size)
    outdoor = design_outdoor_degc(case)
    load = next((part.load_w for part in parts if part.load_w is not None), None)
    if load is not None and outdoor is not None:
        return load * stated / (design_room_degc(room) - outdoor)
    conductance = sum(
        part.area_m2 * part.transmittance_w_m2k * part.share
        for part in parts
        if part.area_m2 is not None and part.transmittance_w_m2k is not None
    )
    if conductance and (volume := _volume_m3(case, room)) is not None:
        change = _assumed(case, "air-change", room.id)
        return room_heat_load_w(conductance * stated, volume, change, 20.0, 19.0)
    if room.floor_area_m2 is None:
        return None
    return room.floor_area_m2 * _assumed(case, "heat-loss-per-floor-area", "house")


def design_outdoor_degc(case: Case) -> float | None:
    """Outdoors on the design day, where it was written down."""
    climate = case.site.keys.climate
    return climate.design_winter_temperature_degc if climate is not None else None


def design_room_degc(room: RoomKeys) -> float:
    """20 °C, in bathrooms 24 °C (EN 12831, from memory)."""
    words = f"{room.id} {room.name or ''} {room.use or ''}".lower()
    return BATH_DEGC if any(word in words for word in _BATH_WORDS) else ROOM_DEGC


def usual_return_degc(flow_degc: float) -> float:
    """Return that usually belongs to a flow."""
    return flow_degc - DROP_SHARE * (flow_degc - ROOM_DEGC)


def room_output_w(case: Case, room: RoomKeys, flow_degc: float, return_degc: float) -> FloatArray | None:
    """Output of all radiators of a room at these water temperatures, once they work as they should."""
    items = _radiators_of(case, room)
    rated = [rated_w(case, item) for item in items]
    if not items or any(value is None for value in rated):
        return None
    inside = design_room_degc(room)
    ratio = float(standard_ratio(max(flow_degc, inside), max(return_degc, inside), inside))
    shares = (ratio ** exponent(case, item) for item in items)
    return np.asarray(
        sum(value * share for value, share in zip(rated, shares, strict=True) if value is not None)
    )


def design_cover(case: Case, room: RoomKeys) -> FloatArray | None:
    """Output over heat load on the design day at the design flow, shape (draws,)."""
    known = heating(case)
    if known.design_flow_degc is None:
        return None
    back = known.design_return_degc or usual_return_degc(known.design_flow_degc)
    return _cover(case, room, known.design_flow_degc, back)


def shares(case: Case) -> tuple[Share, ...]:
    """Radiators whose water could be told, with what each should get of it."""
    found = []
    for item in radiators(case):
        flow = flow_draws_kg_h(case, item, shown(case, item)) if _is_open(case, item) else None
        wanted = _target_kg_h(case, item)
        if flow is not None and wanted is not None:
            found.append((item, flow, wanted))
    all_found = sum((flow for _, flow, _ in found), np.zeros(case.draws.size))
    all_wanted = sum((wanted for _, _, wanted in found), np.zeros(case.draws.size))
    return tuple(
        Share(item=item, found_kg_h=flow, target_kg_h=wanted / all_wanted * all_found)
        for item, flow, wanted in found
    )


def _is_open(case: Case, item: Radiator) -> bool:
    """Whether its water says something of the balance: neither its head nor a stuck valve holds it back."""
    is_held = item.keys.head in ("throttling", "shut") or named(weighed(case, item)) in ("satisfied", "shut")
    return item.keys.type != COOLED and not is_held


def _target_kg_h(case: Case, item: Radiator) -> FloatArray | None:
    """Water by the room's load, shared between its radiators by output; by output where no load is known."""
    rated = rated_w(case, item)
    if rated is None:
        return None
    known = heating(case)
    usual = _USUAL_DROP_K.get(known.source or "", _OTHER_DROP_K)
    drop = usual
    if known.design_flow_degc is not None and known.design_return_degc is not None:
        drop = max(known.design_flow_degc - known.design_return_degc, 1.0)
    loss, outdoor = heat_loss_w_k(case, item.room) if item.room else None, design_outdoor_degc(case)
    if item.room is None or loss is None or outdoor is None:
        return water_flow_kg_h(0.5 * rated, drop)
    others = [rated_w(case, other) for other in _radiators_of(case, item.room)]
    of_room = rated / sum(value for value in others if value is not None)
    return water_flow_kg_h(loss * (design_room_degc(item.room) - outdoor) * of_room, drop)


def _room(case: Case, room: RoomKeys) -> Iterator[Finding]:
    loss, outdoor = heat_loss_w_k(case, room), design_outdoor_degc(case)
    if loss is None or outdoor is None or not _radiators_of(case, room):
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
    cover = _cover(case, room, flow_degc, return_degc)
    if cover is None:
        return
    first = quantity("heat-cover", measured(100.0 * cover, "%"))
    needed = quantity("flow-needed", measured(_flow_needed_degc(case, room, load), "degC"))
    limit = Limit(
        term=TERMS["heat-cover"], sense="at_least", value=100.0, source=say("heating.source.heat-load")
    )
    judged = verdict(first, limit)
    steps = (
        (NextStep(step=say("heating.next.cover"), by=say("by.heating")),) if judged != "not indicated" else ()
    )
    items = _radiators_of(case, room)
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


def _cover(case: Case, room: RoomKeys, flow_degc: float, return_degc: float) -> FloatArray | None:
    loss, outdoor = heat_loss_w_k(case, room), design_outdoor_degc(case)
    given = room_output_w(case, room, flow_degc, return_degc)
    if loss is None or outdoor is None or given is None:
        return None
    return given / (loss * (design_room_degc(room) - outdoor))


def _flow_needed_degc(case: Case, room: RoomKeys, load: FloatArray) -> FloatArray:
    """Lowest flow, with its usual return, at which the radiators give the load."""
    items = _radiators_of(case, room)
    rated = sum((value for item in items if (value := rated_w(case, item)) is not None), np.zeros(1))
    n = exponent(case, items[0])
    inside = design_room_degc(room)
    mean_k = 50.0 * (load / rated) ** (1.0 / n)
    # Arithmetic mean of flow and usual return above the room, solved for the flow.
    usual = (mean_k + inside - DROP_SHARE / 2.0 * ROOM_DEGC) / (1.0 - DROP_SHARE / 2.0)
    return np.asarray(np.clip(usual, inside, 110.0))


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
        value for other in _radiators_of(case, item.room) if (value := rated_w(case, other)) is not None
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


def _balance(case: Case, found: tuple[Share, ...]) -> Iterator[Finding]:
    if len(found) < _LEAST_COMPARED:
        return
    total = sum((share.found_kg_h for share in found), np.zeros(case.draws.size))
    hogs = [s for s in sorted(found, key=lambda s: -s.ratio) if s.ratio >= HOGS_FROM]
    starved = [s for s in sorted(found, key=lambda s: s.ratio) if s.ratio <= STARVES_BELOW]
    for share in found:
        kind = "hogs" if share in hogs else "starves" if share in starved else "fits"
        quantities = (
            quantity("water-share", measured(100.0 * share.found_kg_h / total, "%")),
            quantity("water-flow", measured(share.target_kg_h, "kg/h")),
        )
        mark = share.item.mark
        yield Finding(
            code="heating.balance",
            place=share.item.place,
            frame=mark.frame if mark is not None else None,
            mark=mark.id if mark is not None else None,
            statement=say(
                f"heating.balance.{kind}",
                place=share.item.place,
                share=quantities[0].shown(),
                target=quantities[1].shown(),
            ),
            quantities=quantities,
            evidence=(Evidence(kind="reading", reference="site.toml"),),
            sources=(say("source.en442"), say("heating.source.balance")),
            rests_on=RESTS_ON,
        )
    if hogs or starved:
        yield _advice(case, found, hogs, starved)


def _advice(case: Case, found: tuple[Share, ...], hogs: list[Share], starved: list[Share]) -> Finding:
    """In which order to balance: the largest taker first, the least supplied stays open."""
    order = sorted(found, key=lambda share: -share.ratio)
    steps = [
        NextStep(
            step=say(
                "heating.next.balance",
                number=number,
                place=share.item.place,
                target=Number(float(np.median(share.target_kg_h)), "kg/h", 0),
            ),
            by=say("by.heating"),
        )
        for number, share in enumerate(order, start=1)
        if share in hogs
    ]
    return Finding(
        code="heating.house",
        place=house_label(case),
        statement=say("heating.house.unbalanced", hogs=len(hogs), starved=len(starved), count=len(found)),
        evidence=(Evidence(kind="reading", reference="site.toml"),),
        sources=(say("heating.source.balance"),),
        cautions=(say("heating.caution.pressure"), say("heating.caution.appliance")),
        next_steps=(
            NextStep(step=say("heating.next.open-all"), by=say("by.heating")),
            *steps,
            NextStep(step=say("heating.next.again"), by=say("by.surveyor")),
        ),
        rests_on=RESTS_ON,
    )


def _water_chart(found: tuple[Share, ...]) -> Chart:
    names = tuple(share.item.place for share in found)
    total = sum((share.found_kg_h for share in found), np.zeros(found[0].found_kg_h.size))

    def middle(values: FloatArray) -> float:
        return round(float(np.median(100.0 * values / total)), 1)

    return Chart(
        id="heating-water",
        title=say("heating.chart.water"),
        summary=say(
            "heating.chart.water.summary",
            count=len(found),
            most=max(found, key=lambda share: share.ratio).item.place,
            least=min(found, key=lambda share: share.ratio).item.place,
        ),
        x=Axis(title=say("heating.chart.radiator"), kind="category"),
        y=Axis(title=say("term.water-share"), unit="%"),
        series=(
            Series(
                name=say("heating.chart.found"),
                x=names,
                y=tuple(middle(share.found_kg_h) for share in found),
                style="bars",
            ),
            Series(
                name=say("heating.chart.target"),
                x=names,
                y=tuple(middle(share.target_kg_h) for share in found),
                style="bars",
            ),
        ),
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


def _radiators_of(case: Case, room: RoomKeys) -> list[Radiator]:
    return [
        item
        for item in radiators(case)
        if item.room is not None and item.room.id == room.id and item.keys.type != COOLED
    ]


def _volume_m3(case: Case, room: RoomKeys) -> FloatArray | float | None:
    if room.volume_m3 is not None:
        return room.volume_m3
    if room.floor_area_m2 is None:
        return None
    return room.floor_area_m2 * _assumed(case, "room-height", room.id)


def _assumed(case: Case, name: str, detail: str) -> FloatArray:
    row = case.assumed(name)
    return case.draws.between(f"{name} {detail}", row.low, row.high)
