"""U-values in place from heat flux plates, by the average method."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Axis, Chart, Evidence, Finding, NextStep, Quantity, Series, quantity
from thermalkit.diagnosis.surroundings import half_width
from thermalkit.language import Number, Sentence, say
from thermalkit.measured import FloatArray, measured
from thermalkit.physics.envelope import OUTDOOR_FILM_M2K_W
from thermalkit.physics.heat_flux import (
    LARGEST_CHANGE,
    LEAST_DIFFERENCE_K,
    SHORTEST_H,
    AverageMethod,
    Storage,
    average_method,
    storage_of_layers,
)
from thermalkit.physics.layers import INDOOR_FILM_M2K_W
from thermalkit.physics.materials import materials
from thermalkit.site.loggers import hourly
from thermalkit.site.sections.heat_flux import HeatFluxKeys

if TYPE_CHECKING:
    from thermalkit.site.loggers import LoggerSeries

FLUX = "heat_flux_w_m2"
_TEMPERATURE = "temperature_degc"
_HOURS_A_DAY = 24.0
_TYPICAL_DEGC = 20.0


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InPlace:
    """A measurement in place: what it says, draws of the U-value (draws,) where it may be given."""

    keys: HeatFluxKeys
    label: str
    found: AverageMethod | None
    films_m2k_w: float
    transmittance_w_m2k: FloatArray | None


def in_place(case: Case) -> list[InPlace]:
    """Every measurement of the site."""
    return [_measured(case, keys) for keys in case.site.sections(HeatFluxKeys)]


def _measured(case: Case, keys: HeatFluxKeys) -> InPlace:
    plate, indoor, outdoor = (case.site.loggers[id] for id in (keys.plate, keys.indoor, keys.outdoor))
    label = _label(case, keys)
    films = _films_left_out_m2k_w(keys, indoor)
    series = _hours_together(plate, indoor, outdoor)
    if series is None:
        return InPlace(keys=keys, label=label, found=None, films_m2k_w=films, transmittance_w_m2k=None)
    found = average_method(*series, storage=_storage(keys, indoor))
    draws = None if found.conductance_w_m2k is None else _draws_w_m2k(case, keys, found, films)
    return InPlace(keys=keys, label=label, found=found, films_m2k_w=films, transmittance_w_m2k=draws)


def _label(case: Case, keys: HeatFluxKeys) -> str:
    rooms = {room.id: room.label for room in case.site.keys.rooms}
    place = keys.place or keys.id
    return f"{rooms[keys.room]} / {place}" if keys.room in rooms else place


def _hours_together(*loggers: LoggerSeries) -> tuple[FloatArray, FloatArray, FloatArray] | None:
    """Flux and both temperatures on the hours from the last start to the first end; None without any."""
    import pandas as pd

    columns = (FLUX, _TEMPERATURE, _TEMPERATURE)
    if any(name not in series.table for name, series in zip(columns, loggers, strict=True)):
        return None
    tables = [hourly(series)[name] for name, series in zip(columns, loggers, strict=True)]
    start, end = max(t.index[0] for t in tables), min(t.index[-1] for t in tables)
    if start > end:
        return None
    grid = pd.date_range(start, end, freq="1h")
    flux, inner, outer = (t.reindex(grid).to_numpy(dtype=np.float64) for t in tables)
    return flux, inner, outer


def _films_left_out_m2k_w(keys: HeatFluxKeys, indoor: LoggerSeries) -> float:
    """Films that did not lie between the two temperatures, by ISO 6946."""
    inside = INDOOR_FILM_M2K_W["horizontal"] if indoor.keys.place == "surface" else 0.0
    return inside + (OUTDOOR_FILM_M2K_W if keys.outdoor_is_surface else 0.0)


def has_known_layers(keys: HeatFluxKeys) -> bool:
    """Whether layers were written down and the table knows each of them."""
    return bool(keys.layers) and all(layer.material in materials() for layer in keys.layers)


def _storage(keys: HeatFluxKeys, indoor: LoggerSeries) -> Storage | None:
    """Storage factors where the table knows every layer's material."""
    if not has_known_layers(keys):
        return None
    known = materials()
    rows = [(known[layer.material], 0.001 * layer.thickness_mm) for layer in keys.layers]
    return storage_of_layers(
        [thickness / row.conductivity_w_mk for row, thickness in rows],
        [thickness * row.density_kg_m3 * row.heat_capacity_j_kgk for row, thickness in rows],
        inner_m2k_w=0.0 if indoor.keys.place == "surface" else INDOOR_FILM_M2K_W["horizontal"],
    )


def _draws_w_m2k(case: Case, keys: HeatFluxKeys, found: AverageMethod, films_m2k_w: float) -> FloatArray:
    """U with the errors of plate and sensors, of the plate's contact, and what had not settled."""
    stated = keys.plate_accuracy_percent
    plate = stated / 100.0 if stated is not None else case.assumed("plate-accuracy").half_width
    share = np.ones(case.draws.size)
    for name, width in (
        (f"plate-accuracy {keys.plate}", plate),
        (f"plate-contact {keys.id}", case.assumed("plate-contact").half_width),
        (f"plate-settling {keys.id}", max(found.day_before, found.thirds)),
    ):
        share = share * (1.0 + case.draws.rectangular(name, width))
    difference = abs(found.mean_difference_k) + _sensor_k(case, keys.indoor) - _sensor_k(case, keys.outdoor)
    flux = (found.conductance_w_m2k or 0.0) * abs(found.mean_difference_k) * share
    return 1.0 / (difference / flux + films_m2k_w)


def _sensor_k(case: Case, logger: str) -> FloatArray:
    keys = case.site.loggers[logger].keys
    instrument = case.site.keys.instruments[keys.instrument] if keys.instrument else None
    return case.draws.rectangular(
        f"air-temperature-accuracy logger {logger}",
        half_width(case, instrument, "air-temperature-accuracy", 20.0),
    )


def in_place_findings(case: Case) -> Iterator[Finding]:
    """The U-value of each measurement, or why it must not be given."""
    for item in in_place(case):
        found, draws = item.found, item.transmittance_w_m2k
        if found is None or draws is None:
            yield _refused(item)
        else:
            yield _given(item, found, draws)
            yield _how(item, found)


def _given(item: InPlace, found: AverageMethod, draws: FloatArray) -> Finding:
    shown = quantity("transmittance", measured(draws, "W/(m²K)"))
    return _finding(
        item,
        "envelope.in-place.transmittance",
        say(
            "envelope.in-place.transmittance",
            place=item.label,
            value=shown.shown(),
            days=Number(found.hours / _HOURS_A_DAY, "d", 0),
            flux=Number(abs(found.mean_flux_w_m2), "W/m²", 1),
            difference=Number(abs(found.mean_difference_k), "K", 1),
        ),
        quantities=(shown,),
    )


def _how(item: InPlace, found: AverageMethod) -> Finding:
    """What was done with sign, storage and films."""
    statement = say(
        "envelope.in-place.how",
        place=item.label,
        sign=_sign(found),
        storage=_stored(item, found),
        films=_films(item),
    )
    return _finding(item, "envelope.in-place.how", statement)


def _sign(found: AverageMethod) -> Sentence:
    return say("envelope.in-place.sign.turned" if found.reversed_plate else "envelope.in-place.sign.plain")


def _stored(item: InPlace, found: AverageMethod) -> Sentence:
    if not has_known_layers(item.keys):
        return say("envelope.in-place.storage.unknown")
    return say("envelope.in-place.storage.allowed", stored=Number(found.storage_w_m2, "W/m²", 1))


def _films(item: InPlace) -> Sentence:
    if not item.films_m2k_w:
        return say("envelope.in-place.films.measured")
    return say("envelope.in-place.films.added", films=Number(item.films_m2k_w, "m2K/W", 2))


def _refused(item: InPlace) -> Finding:
    failures = ("no-series",) if item.found is None else item.found.failures
    return _finding(
        item,
        "envelope.in-place.refused",
        say("envelope.in-place.refused", place=item.label, why=_why(item, failures[0])),
        next_steps=tuple(
            NextStep(step=say(f"envelope.in-place.next.{name}"), by=say("by.surveyor"))
            for name in failures[:2]
        ),
    )


def _why(item: InPlace, failure: str) -> Sentence:
    found = item.found
    day_before, thirds = (found.day_before, found.thirds) if found else (0.0, 0.0)
    most = _percent(LARGEST_CHANGE)
    values = {
        "too-short": {"hours": Number(SHORTEST_H, "h", 0)},
        "difference": {"least": Number(LEAST_DIFFERENCE_K, "K", 0)},
        "day-before": {"change": _percent(day_before), "most": most},
        "thirds": {"change": _percent(thirds), "most": most},
    }
    return say(f"envelope.in-place.why.{failure}", **values.get(failure, {}))


def _percent(share: float) -> Number:
    return Number(100.0 * min(share, 9.99), "%", 0)


def _finding(
    item: InPlace,
    code: str,
    statement: Sentence,
    *,
    quantities: tuple[Quantity, ...] = (),
    next_steps: tuple[NextStep, ...] = (),
) -> Finding:
    return Finding(
        code=code,
        place=item.label,
        statement=statement,
        quantities=quantities,
        evidence=tuple(
            Evidence(kind="reading", reference=id)
            for id in (item.keys.plate, item.keys.indoor, item.keys.outdoor)
        ),
        sources=(say("envelope.source.average-method"),),
        next_steps=next_steps,
    )


def in_place_charts(case: Case) -> Iterator[Chart]:
    """How the value settles hour by hour."""
    for number, item in enumerate(in_place(case), start=1):
        found = item.found
        if found is None or not found.running_w_m2k.size:
            continue
        shown = np.isfinite(found.running_w_m2k)
        shown[: int(_HOURS_A_DAY)] = False
        if not shown.any():
            continue
        hours = np.flatnonzero(shown) + 1
        u = 1.0 / (1.0 / found.running_w_m2k[shown] + item.films_m2k_w)
        yield Chart(
            id=f"envelope-in-place-{number}",
            title=say("envelope.in-place.chart", place=item.label),
            summary=say("envelope.in-place.chart.summary", last=Number(float(u[-1]), "W/(m²K)", 2)),
            x=Axis(title=say("envelope.in-place.chart.hours"), unit="h"),
            y=Axis(title=say("term.transmittance"), unit="W/(m²K)"),
            series=(
                Series(
                    name=say("envelope.in-place.chart.running"),
                    x=tuple(float(h) for h in hours),
                    y=tuple(float(v) for v in u.round(4)),
                ),
            ),
            place=item.label,
        )
