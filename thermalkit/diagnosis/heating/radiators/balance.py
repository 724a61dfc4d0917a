"""Water between radiators: who gets too much, who too little, and in which order to balance."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import (
    Axis,
    Chart,
    Evidence,
    Finding,
    NextStep,
    Series,
    quantity,
)
from thermalkit.diagnosis.heating.radiators.load import (
    design_outdoor_degc,
    design_room_degc,
    heat_loss_w_k,
    radiators_of,
)
from thermalkit.diagnosis.heating.radiators.output import RESTS_ON, flow_draws_kg_h
from thermalkit.diagnosis.heating.radiators.reading import rated_w, shown
from thermalkit.diagnosis.heating.radiators.subject import COOLED, Radiator, heating, radiators
from thermalkit.diagnosis.heating.radiators.weighed import named, weighed
from thermalkit.diagnosis.labels import house_label
from thermalkit.language import Number, say
from thermalkit.measured import FloatArray, measured
from thermalkit.physics.emitters import water_flow_kg_h

HOGS_FROM, STARVES_BELOW = 1.5, 0.6  # own choice: found over target water
LEAST_COMPARED = 2
_USUAL_DROP_K = {"heat pump": 5.0}
_OTHER_DROP_K = 10.0


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
    others = [rated_w(case, other) for other in radiators_of(case, item.room)]
    of_room = rated / sum(value for value in others if value is not None)
    return water_flow_kg_h(loss * (design_room_degc(item.room) - outdoor) * of_room, drop)


def balance_findings(case: Case, found: tuple[Share, ...]) -> Iterator[Finding]:
    """Each radiator's share of the water beside what it should get; for the house an order to balance in."""
    if len(found) < LEAST_COMPARED:
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


def water_chart(found: tuple[Share, ...]) -> Chart:
    """Water found beside water wanted."""
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
