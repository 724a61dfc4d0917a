"""What of a damp case compares between two visits: factors, and humidities at fixed conditions."""

from __future__ import annotations

from collections.abc import Iterator

from thermalkit.diagnosis.change import Compared
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.judging import limit_sets
from thermalkit.diagnosis.labels import place_label
from thermalkit.diagnosis.places import place

_RESTS_ON = ("frames", "limit", "suspect", "sound")


def compared(case: Case) -> Iterator[Compared]:
    """Temperature factor, and humidity at the surface at the limit's conditions, of each marked place.

    Surface temperature and humidity of the visit itself only in alike weather; a cooled room has no
    factor.
    """
    limits = limit_sets()[case.decided["limit"]]
    for mark in case.decided["suspect"] + case.decided["sound"]:
        found = place(case, mark, limits)
        quantities = [
            ("surface-humidity", found.humidity_percent, "worse", True),
            ("surface-temperature", found.surface_degc, "better", True),
        ]
        if not case.site.is_cooled(case.site.frames[mark.frame].room):
            quantities[:0] = [
                ("temperature-factor", found.factor, "better", False),
                ("surface-humidity-at-conditions", found.humidity_at_conditions_percent, "worse", False),
            ]
        for term, draws, higher_is, needs_alike_weather in quantities:
            if draws is not None:
                yield Compared(
                    place=place_label(case, mark),
                    term=term,
                    draws=draws,
                    room=case.site.frames[mark.frame].keys.room,
                    frame=mark.frame,
                    mark=mark.id,
                    higher_is=higher_is,  # type: ignore[arg-type]
                    needs_alike_weather=needs_alike_weather,
                    rests_on=_RESTS_ON,
                )
