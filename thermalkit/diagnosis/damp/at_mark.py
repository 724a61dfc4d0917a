"""What a damp case asks of a place while it is still being drawn; the same draws as its findings."""

from __future__ import annotations

from collections.abc import Iterator

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Quantity, quantity
from thermalkit.diagnosis.judging import limit_sets
from thermalkit.diagnosis.places import factor_as_found_draws, factor_draws
from thermalkit.diagnosis.surface import View
from thermalkit.diagnosis.surroundings import room_air
from thermalkit.imaging.mark import Mark
from thermalkit.measured import FloatArray, measured
from thermalkit.physics.moist_air import surface_humidity


def quantities_at(case: Case, seen: View, mark: Mark, surface_degc: FloatArray) -> Iterator[Quantity]:
    """Humidity of the air at the surface, and the temperature factor at the limit's film.

    Parameters
    ----------
    case : Case
        With a limit decided or proposed.
    seen : View
        The frame of the mark.
    mark : Mark
    surface_degc : ndarray of float64, shape (draws,)
        Surface temperature that the mark is read at.
    """
    air = room_air(case, seen.frame.room)
    if air is not None and air.vapour_pressure_pa is not None:
        humidity = 100.0 * surface_humidity(air.vapour_pressure_pa, surface_degc)
        yield quantity("surface-humidity", measured(humidity, "%"))
    as_found = factor_as_found_draws(case, seen, mark, surface_degc, air)
    if as_found is not None:
        factor = factor_draws(case, seen, mark, as_found, limit_sets()[case.decided["limit"]])
        yield quantity("temperature-factor", measured(factor, ""))
