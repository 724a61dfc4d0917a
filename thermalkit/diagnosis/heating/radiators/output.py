"""Output, water and lost heat of one radiator: findings in plain sentences."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Evidence, Finding, Quantity, quantity
from thermalkit.diagnosis.heating.radiators.reading import (
    Shown,
    exponent,
    output_w,
    pipes,
    rated_w,
    water,
    water_excess_k,
    water_mean_k,
    zone_ratios,
)
from thermalkit.diagnosis.heating.radiators.subject import Radiator
from thermalkit.diagnosis.surroundings import room_air
from thermalkit.language import Sentence, say
from thermalkit.measured import FloatArray, measured
from thermalkit.physics.emitters import heat_into_wall_w_m2, output_share, water_flow_kg_h

STANDARD_FLOW_DEGC, STANDARD_ROOM_DEGC = 55.0, 20.0
RESTS_ON = ("frames", "radiator", "hidden")


def excess_draws_k(case: Case, item: Radiator, found: Shown | None) -> FloatArray | None:
    """Excess temperature: by the pipes as EN 442 asks, else the mean behind the front."""
    read = pipes(case, item)
    if read is not None:
        return water_mean_k(read)
    return water_excess_k(case, item, found).mean(axis=0) if found is not None else None


def flow_draws_kg_h(case: Case, item: Radiator, found: Shown | None) -> FloatArray | None:
    """Water that passes, from output and drop."""
    given, passing = output_w(case, item, found), water(case, item, found)
    if given is None or passing is None:
        return None
    return water_flow_kg_h(given, passing.drop_k)


def standard_output_w(case: Case, item: Radiator, found: Shown) -> FloatArray | None:
    """Output of the front as it is now with water entering at 55 °C in a room of 20 °C."""
    rated = rated_w(case, item)
    if rated is None:
        return None
    entering = output_share(STANDARD_FLOW_DEGC - STANDARD_ROOM_DEGC, exponent(case, item))
    return np.asarray(rated * entering * zone_ratios(case, item, found)["warm"])


def output_findings(case: Case, item: Radiator, found: Shown | None) -> Iterator[Finding]:
    """Output with its interval, the excess temperature it rests on, and the water that brings it."""
    given, excess = output_w(case, item, found), excess_draws_k(case, item, found)
    if given is None or excess is None:
        return
    quantities = [
        quantity("radiator-output", measured(given, "W")),
        quantity("excess-temperature", measured(excess, "K")),
    ]
    flow, passing = flow_draws_kg_h(case, item, found), water(case, item, found)
    id = "heating.output"
    if flow is not None and passing is not None:
        quantities.append(quantity("water-drop", measured(passing.drop_k, "K")))
        quantities.append(quantity("water-flow", measured(flow, "kg/h")))
        id = "heating.output.by-pipes" if passing.from_pipes else "heating.output.by-picture"
    yield _finding(item, "heating.output", id, quantities, ("source.en442", "source.radiation"))


def wall_findings(case: Case, item: Radiator, found: Shown | None) -> Iterator[Finding]:
    """Heat that goes out through the wall behind, with and without a lining."""
    outdoor = case.site.keys.weather.air_temperature_degc
    air, area, excess = room_air(case, item.room), item.keys.area_m2, excess_draws_k(case, item, found)
    if item.keys.on_outer_wall != "yes" or None in (outdoor, area) or air is None or excess is None:
        return
    bare, lined = wall_heat_w(case, item, np.maximum(excess, 0.0), float(outdoor or 0.0), float(area or 0.0))
    quantities = [
        quantity("wall-heat", measured(bare, "W")),
        quantity("wall-heat-lined", measured(lined, "W")),
    ]
    id = "heating.wall.lined" if item.keys.lining == "yes" else "heating.wall"
    yield _finding(item, "heating.wall", id, quantities, ("source.wall-behind",))


def wall_heat_w(
    case: Case, item: Radiator, excess_k: FloatArray, outdoor_degc: float, area_m2: float
) -> tuple[FloatArray, FloatArray]:
    """Heat through the wall behind a radiator, bare and lined, shape (draws,) each."""
    air = room_air(case, item.room)
    room = air.temperature_degc if air is not None else np.full(case.draws.size, STANDARD_ROOM_DEGC)

    def drawn(name: str) -> FloatArray:
        row = case.assumed(name)
        return case.draws.between(f"{name} {item.id}", row.low, row.high)

    stated = item.keys.wall_transmittance_w_m2k
    u = drawn("wall-behind-transmittance") if stated is None else stated * drawn("stated-losses")
    film = drawn("rising-air-film")
    radiator = room + excess_k
    bare = heat_into_wall_w_m2(radiator, room, outdoor_degc, np.minimum(u, 6.0), convective_w_m2k=film)
    lined = heat_into_wall_w_m2(
        radiator,
        room,
        outdoor_degc,
        np.minimum(u, 6.0),
        emissivity=drawn("lining-emissivity"),
        lining_m2k_w=drawn("lining-resistance"),
        convective_w_m2k=film,
    )
    return bare * area_m2, lined * area_m2


def zone_quantities(case: Case, item: Radiator, found: Shown) -> tuple[Quantity, ...]:
    """Share of heat the front gives, and top and bottom over its warmest part."""
    terms = {"warm": "warm-share", "top": "top-ratio", "bottom": "bottom-ratio"}
    ratios = zone_ratios(case, item, found)
    return tuple(
        quantity(term, measured(100.0 * ratios[name], "%")) for name, term in terms.items() if name in ratios
    )


def _finding(
    item: Radiator, code: str, id: str, quantities: list[Quantity], sources: tuple[str, ...]
) -> Finding:
    values = {f"v{number}": q.shown() for number, q in enumerate(quantities)}
    mark = item.mark
    shows = (Evidence(kind="picture", reference=mark.frame, mark=mark.id),) if mark is not None else ()
    statement: Sentence = say(id, place=item.place, **values)
    return Finding(
        code=code,
        place=item.place,
        frame=mark.frame if mark is not None else None,
        mark=mark.id if mark is not None else None,
        statement=statement,
        quantities=tuple(quantities),
        evidence=(*shows, Evidence(kind="reading", reference="site.toml")),
        sources=tuple(say(source) for source in sources),
        rests_on=RESTS_ON,
    )
