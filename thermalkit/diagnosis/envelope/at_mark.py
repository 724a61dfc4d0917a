"""What an envelope case asks of a place while it is still being drawn; the same draws as its findings."""

from __future__ import annotations

from collections.abc import Iterator

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.envelope.examined import limits_of
from thermalkit.diagnosis.finding import Quantity, quantity
from thermalkit.diagnosis.places import factor_as_found_draws, factor_draws
from thermalkit.diagnosis.surface import View
from thermalkit.diagnosis.surroundings import room_air
from thermalkit.imaging.mark import Mark
from thermalkit.measured import FloatArray, measured


def quantities_at(case: Case, seen: View, mark: Mark, surface_degc: FloatArray) -> Iterator[Quantity]:
    """Temperature factor at the limit's film; in a cooled room the outdoor share.

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
    as_found = factor_as_found_draws(case, seen, mark, surface_degc, room_air(case, seen.frame.room))
    if as_found is None:
        return
    if case.site.is_cooled(seen.frame.room):
        yield quantity("outdoor-share", measured(1.0 - as_found, ""))
    else:
        factor = factor_draws(case, seen, mark, as_found, limits_of(case))
        yield quantity("temperature-factor", measured(factor, ""))
