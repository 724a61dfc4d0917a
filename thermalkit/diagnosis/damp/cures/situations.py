"""The weather and the room that a cure has to stand up to."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import cached_property, partial
from typing import TYPE_CHECKING, Literal

import numpy as np

from thermalkit.diagnosis.damp.cures.remedies import (
    added_resistance_m2k_w,
    extra_warmth_k,
    factor_with_insulation,
    ventilation_ratio,
)
from thermalkit.diagnosis.damp.cures.room import RoomMoisture, outdoor_pa_draws, room_moisture
from thermalkit.measured import FloatArray
from thermalkit.physics.envelope import required_factor, surface_temperature_from_factor_degc
from thermalkit.physics.moist_air import (
    saturation_pressure_pa,
    saturation_temperature_degc,
    surface_humidity,
    vapour_pressure_pa,
)

if TYPE_CHECKING:
    from thermalkit.diagnosis.decisions import Case
    from thermalkit.diagnosis.judging import LimitSet
    from thermalkit.diagnosis.places import Place
    from thermalkit.imaging.mark import Mark

WARMER_THAN_OUTDOORS_K = 3.0  # own choice: a month closer than this is none of heating


@dataclass(frozen=True, slots=True, kw_only=True)
class Measures:
    """What is done: air change over the present one, warmer room air, added insulation."""

    ratio: float | FloatArray = 1.0
    warmth_k: float | FloatArray = 0.0
    added_m2k_w: float | FloatArray = 0.0


@dataclass(frozen=True, kw_only=True, eq=False)
class Situation:
    """A place in one weather; everything of shape (draws,) but what is the same in all draws.

    `factor` and `film_m2k_w` belong together, `least_factor` is what a limit asks for besides, `effect`
    the share of added insulation that counts.
    """

    id: Literal["limit", "visit", "month", "winter"]
    factor: FloatArray
    film_m2k_w: float
    least_factor: float
    effect: FloatArray
    surface_humidity: float
    indoor_degc: FloatArray
    outdoor_degc: float
    outdoor_pa: FloatArray
    excess_pa: FloatArray
    month: int | None = None
    is_logged: bool = False

    @property
    def indoor_pa(self) -> FloatArray:
        """Vapour pressure of the room's air."""
        return self.outdoor_pa + self.excess_pa

    @cached_property
    def highest_pa(self) -> FloatArray:
        """Vapour pressure at which the surface reaches the humidity not to be exceeded."""
        surface = surface_temperature_from_factor_degc(self.factor, self.indoor_degc, self.outdoor_degc)
        return self.surface_humidity * saturation_pressure_pa(surface)

    @property
    def highest_humidity(self) -> FloatArray:
        """The same as relative humidity of the room's air, a fraction."""
        return self.highest_pa / saturation_pressure_pa(self.indoor_degc)

    @cached_property
    def ventilation_ratio(self) -> FloatArray:
        """Air change over the present one that is enough by itself."""
        return ventilation_ratio(self.excess_pa, self.outdoor_pa, self.highest_pa)

    @cached_property
    def extra_warmth_k(self) -> FloatArray:
        """Warmer room air that is enough by itself."""
        critical = saturation_temperature_degc(self.indoor_pa / self.surface_humidity)
        return extra_warmth_k(self.factor, self.indoor_degc, self.outdoor_degc, critical)

    @cached_property
    def added_resistance_m2k_w(self) -> FloatArray:
        """Insulation that is enough by itself, and lifts the factor to what the limit asks for."""
        needed = required_factor(
            self.indoor_degc, self.outdoor_degc, self.indoor_pa, surface_humidity=self.surface_humidity
        )
        required = np.maximum(needed, self.least_factor)
        return added_resistance_m2k_w(self.factor, required, self.film_m2k_w, self.effect)

    def after(self, measures: Measures) -> Situation:
        """The same weather with something done."""
        added = measures.added_m2k_w
        return replace(
            self,
            factor=factor_with_insulation(self.factor, added, self.film_m2k_w, self.effect)
            if np.any(added)
            else self.factor,
            indoor_degc=self.indoor_degc + measures.warmth_k,
            excess_pa=self.excess_pa / measures.ratio,
        )

    @cached_property
    def humidity(self) -> FloatArray:
        """At the surface, a fraction; above 1 where water forms."""
        surface = surface_temperature_from_factor_degc(self.factor, self.indoor_degc, self.outdoor_degc)
        return surface_humidity(self.indoor_pa, surface)


def limit_situation(case: Case, place: Place, limits: LimitSet) -> Situation | None:
    """The conditions that the limit is stated for; None where the place has no temperature factor."""
    if place.factor is None:
        return None
    indoor = np.full(case.draws.size, limits.indoor_degc)
    outdoor_pa = outdoor_pa_draws(case, limits.outdoor_degc, None)
    indoor_pa = vapour_pressure_pa(limits.indoor_degc, limits.indoor_humidity)
    return _blank(case, place.mark, place.factor, limits)(
        id="limit",
        indoor_degc=indoor,
        outdoor_degc=limits.outdoor_degc,
        outdoor_pa=outdoor_pa,
        excess_pa=np.maximum(indoor_pa - outdoor_pa, 0.0),
    )


@dataclass(frozen=True, slots=True, kw_only=True)
class Weathers:
    """What a place has to stand up to: the limit's conditions, the room as found, its heated months.

    `present` holds the month that asks most of the place (the weather of the visit without monthly
    climate), then design winter weather, as far as they are known.
    """

    stated: Situation | None
    present: tuple[Situation, ...]
    months: tuple[Situation, ...]


def weathers(case: Case, place: Place, limits: LimitSet) -> Weathers:
    """Every weather that can be given for a place."""
    room = room_moisture(case, place.mark.frame)
    stated = limit_situation(case, place, limits)
    if room is None or place.factor is None:
        return Weathers(stated=stated, present=(), months=())
    blank = _blank(case, place.mark, place.factor, limits)
    blank = partial(blank, indoor_degc=room.indoor_degc, is_logged=room.from_loggers)
    months = tuple(_months(case, room, blank))
    return Weathers(stated=stated, present=tuple(_present(case, room, blank, months)), months=months)


def _present(
    case: Case, room: RoomMoisture, blank: Callable[..., Situation], months: tuple[Situation, ...]
) -> Iterator[Situation]:
    if months:
        yield max(months, key=lambda item: float(np.median(item.humidity)))
    elif _is_heated(room, room.outdoor_degc):
        yield blank(
            id="visit",
            outdoor_degc=room.outdoor_degc,
            outdoor_pa=room.outdoor_pa,
            excess_pa=room.excess_pa,
        )
    climate = case.site.keys.climate
    winter = climate.design_winter_temperature_degc if climate is not None else None
    if winter is not None and _is_heated(room, winter):
        yield blank(
            id="winter",
            outdoor_degc=winter,
            outdoor_pa=outdoor_pa_draws(case, winter, None),
            excess_pa=room.excess_at(winter),
        )


def _months(case: Case, room: RoomMoisture, blank: Callable[..., Situation]) -> Iterator[Situation]:
    """The room as found through the months in which it is heated; none without monthly climate."""
    climate = case.site.keys.climate
    if climate is None or climate.monthly_air_temperature_degc is None:
        return
    humidities = climate.monthly_relative_humidity_percent or (None,) * 12
    by_month = zip(climate.monthly_air_temperature_degc, humidities, strict=True)
    for month, (outdoor, humidity) in enumerate(by_month, start=1):
        if _is_heated(room, outdoor):
            yield blank(
                id="month",
                outdoor_degc=outdoor,
                outdoor_pa=outdoor_pa_draws(case, outdoor, humidity),
                excess_pa=room.excess_at(outdoor),
                month=month,
            )


def _is_heated(room: RoomMoisture, outdoor_degc: float) -> bool:
    return float(np.median(room.indoor_degc)) - outdoor_degc >= WARMER_THAN_OUTDOORS_K


def _blank(case: Case, mark: Mark, factor: FloatArray, limits: LimitSet) -> Callable[..., Situation]:
    """What all situations of a place share."""
    row = case.assumed("insulation-effect")
    return partial(
        Situation,
        factor=factor,
        film_m2k_w=limits.film_m2k_w,
        least_factor=limits.factor,
        effect=case.draws.between(f"insulation-effect {mark.frame} {mark.id}", row.low, row.high),
        surface_humidity=limits.surface_humidity,
    )
