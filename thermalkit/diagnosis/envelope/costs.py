"""What a place costs: extra heat flow, a year of it, and what its outline speaks for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.envelope.examined import Examined, place_id
from thermalkit.diagnosis.envelope.judged import at_place
from thermalkit.diagnosis.envelope.loss import film_m2k_w, season
from thermalkit.diagnosis.envelope.shapes import signatures
from thermalkit.diagnosis.finding import Finding, NextStep, quantity
from thermalkit.diagnosis.labels import mark_name
from thermalkit.diagnosis.surroundings import indoor_degc, outdoor_degc, room_air
from thermalkit.language import Interval, Number, Sentence, say
from thermalkit.measured import FloatArray, measured
from thermalkit.physics.layers import transmittance_from_surface_w_m2k
from thermalkit.site.sections.costs import CostKeys

AT_JUNCTION = ("frames", "suspect", "sound", "junction")


def losses(case: Case, item: Examined) -> Iterator[Finding]:
    """Extra heat flow of a suspect place and what it adds up to in a year, or why it cannot be given."""
    if not item.is_suspect:
        return
    extra, per_area = item.loss.extra_w_k, item.loss.per_area_w_m2k
    if item.loss.missing is not None:
        yield _refused(item)
    if extra is None or per_area is None:
        return
    flow = quantity("extra-heat-flow", measured(extra, "W/K"))
    per_square = quantity("extra-heat-flow-per-area", measured(per_area, "W/(m²K)"))
    area = quantity("marked-area", measured(np.asarray(item.loss.area_m2), "m2"))
    language = case.site.keys.report.language
    sound = mark_name(item.sound.id, language) if item.sound is not None else ""
    words = "at-least" if item.loss.reaches_edge else "plain"
    statement = say(
        f"envelope.loss.extra.{words}", place=item.label, sound=sound, value=flow.shown(), area=area.shown()
    )
    yield at_place(
        item,
        "envelope.loss.extra",
        statement,
        (flow, per_square, area),
        sources=("envelope.source.extra-flow", "source.radiation"),
        rests_on=AT_JUNCTION,
    )
    yield from _year(case, item, extra)


def _refused(item: Examined) -> Finding:
    why = item.loss.missing or ""
    found = at_place(item, "envelope.loss.refused", say(f"envelope.loss.refused.{why}", place=item.label))
    if why == "inner":
        return found
    step = NextStep(step=say(f"envelope.next.missing.{why}"), by=say("by.surveyor"))
    return replace(found, next_steps=(step,))


def _year(case: Case, item: Examined, extra: FloatArray) -> Iterator[Finding]:
    """Indicative: with the interval, and with what it is assumed from."""
    year = season(case, is_cooled=item.is_cooled)
    if year is None:
        return
    energy = year.energy_kwh(extra)
    shown = quantity("extra-heat", measured(energy, "kWh"))
    hours = measured(year.kelvin_hours / 1000.0, "kKh")
    mode = "gain" if item.is_cooled else "loss"
    yield at_place(
        item,
        f"envelope.loss.year-{mode}",
        say(
            f"envelope.loss.year.{mode}",
            place=item.label,
            value=shown.shown(),
            hours=Interval(hours.value, hours.low, hours.high, "kKh", 0),
            basis=say("envelope.loss.from-climate" if year.is_from_climate else "envelope.loss.assumed"),
            money=say("envelope.loss.no-price") if item.is_cooled else _money(case, energy),
        ),
        (shown,),
        sources=("envelope.source.degree-hours",),
        rests_on=AT_JUNCTION,
    )


def _money(case: Case, energy_kwh: FloatArray) -> Sentence:
    costs = case.site.section(CostKeys)
    if costs is None or costs.heat_price_per_kwh is None:
        return say("envelope.loss.no-price")
    unit = costs.currency or ""
    found = measured(energy_kwh * costs.heat_price_per_kwh, unit)
    shown = Interval(found.value, found.low, found.high, unit, 0)
    return say("envelope.loss.money", money=shown, price=Number(costs.heat_price_per_kwh, unit, 2))


def shape(case: Case, item: Examined) -> Iterator[Finding]:
    """What the outline of a place is usual for, with its weight; evidence, never proof."""
    answer = case.decided.get("junction", {}).get(f"{place_id(item.mark)}: shape")
    if not item.is_suspect or answer not in signatures():
        return
    statement = say(
        f"envelope.shape.{answer}",
        place=item.label,
        weight=Number(signatures()[answer].weight, "", 0),
    )
    yield at_place(
        item,
        "envelope.shape.outline",
        statement,
        sources=("envelope.source.shapes",),
        rests_on=AT_JUNCTION,
    )


def rough_transmittance(case: Case, item: Examined) -> Iterator[Finding]:
    """U of the sound wall from its surface temperature: a rough estimate with a large interval."""
    if item.is_suspect or item.place.factor_as_found is None:
        return
    frame = case.site.frames[item.mark.frame]
    air, outdoor = room_air(case, frame.room), outdoor_degc(case, frame)
    if air is None or outdoor is None:
        return
    film = film_m2k_w(case, item.mark.frame)
    draws = transmittance_from_surface_w_m2k(
        item.place.surface_degc, indoor_degc(case, air), outdoor, film_m2k_w=film
    )
    shown = quantity("transmittance", measured(np.maximum(draws, 0.0), "W/(m²K)"))
    yield at_place(
        item,
        "envelope.rough-transmittance",
        say("envelope.rough-transmittance", place=item.label, value=shown.shown()),
        (shown,),
        sources=("envelope.source.rough-transmittance", "source.radiation"),
    )
