"""The weather and the room that a cure has to stand up to."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
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


@dataclass(frozen=True, slots=True, kw_only=True)
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

    @property
    def highest_pa(self) -> FloatArray:
        """Vapour pressure at which the surface reaches the humidity not to be exceeded."""
        surface = surface_temperature_from_factor_degc(self.factor, self.indoor_degc, self.outdoor_degc)
        return self.surface_humidity * saturation_pressure_pa(surface)

    @property
    def highest_humidity(self) -> FloatArray:
        """The same as relative humidity of the room's air, a fraction."""
        return self.highest_pa / saturation_pressure_pa(self.indoor_degc)

    @property
    def ventilation_ratio(self) -> FloatArray:
        """Air change over the present one that is enough by itself."""
        return ventilation_ratio(self.excess_pa, self.outdoor_pa, self.highest_pa)

    @property
    def extra_warmth_k(self) -> FloatArray:
        """Warmer room air that is enough by itself."""
        critical = saturation_temperature_degc(self.indoor_pa / self.surface_humidity)
        return extra_warmth_k(self.factor, self.indoor_degc, self.outdoor_degc, critical)

    @property
    def added_resistance_m2k_w(self) -> FloatArray:
        """Insulation that is enough by itself, and lifts the factor to what the limit asks for."""
        needed = required_factor(
            self.indoor_degc, self.outdoor_degc, self.indoor_pa, surface_humidity=self.surface_humidity
        )
        required = np.maximum(needed, self.least_factor)
        return added_resistance_m2k_w(self.factor, required, self.film_m2k_w, self.effect)

    def after(self, measures: Measures) -> Situation:
        """The same weather with something done."""
        factor = factor_with_insulation(self.factor, measures.added_m2k_w, self.film_m2k_w, self.effect)
        return replace(
            self,
            factor=factor,
            indoor_degc=self.indoor_degc + measures.warmth_k,
            excess_pa=self.excess_pa / measures.ratio,
        )

    @property
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


def present_situations(case: Case, place: Place, limits: LimitSet) -> Iterator[Situation]:
    """The room as found, in the month that asks most of the place and in design winter weather.

    Without monthly climate in the weather of the visit instead of a month.
    """
    room = room_moisture(case, place.mark.frame)
    if room is None or place.factor is None:
        return
    months = monthly_situations(case, place, limits)
    if months:
        yield max(months, key=lambda item: float(np.median(item.humidity)))
    elif _is_heated(room, room.outdoor_degc):
        yield _blank(case, place.mark, place.factor, limits)(
            id="visit",
            indoor_degc=room.indoor_degc,
            outdoor_degc=room.outdoor_degc,
            outdoor_pa=room.outdoor_pa,
            excess_pa=room.excess_pa,
            is_logged=room.from_loggers,
        )
    climate = case.site.keys.climate
    if climate is not None and climate.design_winter_temperature_degc is not None:
        outdoor = climate.design_winter_temperature_degc
        if not _is_heated(room, outdoor):
            return
        yield _blank(case, place.mark, place.factor, limits)(
            id="winter",
            indoor_degc=room.indoor_degc,
            outdoor_degc=outdoor,
            outdoor_pa=outdoor_pa_draws(case, outdoor, None),
            excess_pa=room.excess_at(outdoor),
            is_logged=room.from_loggers,
        )


def monthly_situations(case: Case, place: Place, limits: LimitSet) -> tuple[Situation, ...]:
    """The room as found through the months in which it is heated; none without monthly climate."""
    room, climate = room_moisture(case, place.mark.frame), case.site.keys.climate
    if (
        room is None
        or place.factor is None
        or climate is None
        or climate.monthly_air_temperature_degc is None
    ):
        return ()
    blank = _blank(case, place.mark, place.factor, limits)
    humidities = climate.monthly_relative_humidity_percent or (None,) * 12
    return tuple(
        blank(
            id="month",
            indoor_degc=room.indoor_degc,
            outdoor_degc=outdoor,
            outdoor_pa=outdoor_pa_draws(case, outdoor, humidity),
            excess_pa=room.excess_at(outdoor),
            month=month,
            is_logged=room.from_loggers,
        )
        for month, (outdoor, humidity) in enumerate(
            zip(climate.monthly_air_temperature_degc, humidities, strict=True), start=1
        )
        if _is_heated(room, outdoor)
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
