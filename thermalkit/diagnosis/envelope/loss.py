"""How much more heat flows through a marked place than through as much sound wall.

What flows into a surface is (θ_i - θ_si)/R_si, so per kelvin of difference (1 - f)/R_si with the film that is
there. Place and sound wall share camera, air and outdoors, which cancel as far as they can. The film at a
place on open wall is nearly that of the sound wall, elsewhere that or a more sheltered one.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

import numpy as np

from thermalkit.diagnosis.conditions import is_covered_late
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.marks import pixel_sizes_m
from thermalkit.diagnosis.places import factor_as_found_draws
from thermalkit.diagnosis.surface import View, naming, spot_degc, statistics_of, view
from thermalkit.diagnosis.surroundings import is_inner, room_air
from thermalkit.imaging.mark import Mark
from thermalkit.imaging.statistics import marked_area_m2
from thermalkit.measured import FloatArray
from thermalkit.physics.degree_hours import cooling_degree_hours, heating_degree_hours

WH_PER_KWH = 1000.0
CORNERS = ("outer-corner",)  # both walls are in the mark and seen askew
OPEN = ("plain", "shutter-box", "lintel", "stud-wall")  # as free to the room as the wall beside them
Missing = Literal["inner", "sound", "difference", "area", "size"]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Loss:
    """Extra heat flow of a place, arrays of shape (draws,); `missing` says why something cannot be given.

    `per_area_w_m2k` is the mean over the mark against the sound wall, `extra_w_k` that times the area.
    """

    per_area_w_m2k: FloatArray | None = None
    area_m2: FloatArray | None = None
    reaches_edge: bool = False
    missing: Missing | None = None

    @property
    def extra_w_k(self) -> FloatArray | None:
        """Over the whole marked area, W/K."""
        if self.per_area_w_m2k is None or self.area_m2 is None:
            return None
        return self.per_area_w_m2k * self.area_m2


def loss(case: Case, mark: Mark, sound: Mark | None, built: str | None = None) -> Loss:
    """Extra heat flow at a marked place.

    Parameters
    ----------
    case : Case
    mark : Mark
        A patch; a pin or trace has no area.
    sound : Mark or None
        A sound place of the same frame.
    built : str, optional
        What is built there: "plain" or a detail; a place not known is taken as sheltered.
    """
    if is_inner(case.site.frames[mark.frame]):
        return Loss(missing="inner")
    if sound is None:
        return Loss(missing="sound")
    with naming(case, mark.frame, mark.id):
        seen = view(case, mark.frame)
        flow = _flow_w_m2k(case, seen, mark, _film_there_m2k_w(case, seen, mark, built))
        reference = _flow_w_m2k(case, seen, sound, film_m2k_w(case, mark.frame))
        if flow is None or reference is None:
            return Loss(missing="difference")
        per_area = flow - reference
        if mark.shape != "patch":
            return Loss(per_area_w_m2k=per_area, missing="area")
        area = _area_m2(case, seen, mark, is_corner=built in CORNERS)
        edge = statistics_of(case, mark).touches_edge
        missing: Missing | None = None if area is not None else "size"
        return Loss(per_area_w_m2k=per_area, area_m2=area, reaches_edge=edge, missing=missing)


def _flow_w_m2k(case: Case, seen: View, mark: Mark, film: FloatArray) -> FloatArray | None:
    """Heat flow into the mean of a mark per kelvin between indoors and outdoors, shape (draws,)."""
    name = f"{mark.id} mean" if mark.role == "suspect" else mark.id
    mean = statistics_of(case, mark).mean_degc
    if not np.isfinite(mean):
        return None
    surface = spot_degc(case, seen, mean, name)
    factor = factor_as_found_draws(case, seen, mark, surface, room_air(case, seen.frame.room))
    return None if factor is None else (1.0 - factor) / film


def film_m2k_w(case: Case, frame: str) -> FloatArray:
    """Surface resistance that was there at the sound wall of a frame, shape (draws,)."""
    free = case.assumed("film-sound")
    return case.draws.between(f"film {frame} (open wall)", free.low, free.high)


def _film_there_m2k_w(case: Case, seen: View, mark: Mark, built: str | None) -> FloatArray:
    """That at a place: nearly the sound wall's on open wall, elsewhere up to that of a sheltered corner."""
    film = film_m2k_w(case, mark.frame)
    if built in OPEN:
        row = case.assumed("film-difference")
        return film + case.draws.between(f"film {mark.frame} {mark.id} (difference)", row.low, row.high)
    sheltered = case.assumed("film-covered" if is_covered_late(seen.frame) else "film").high
    share = case.draws.quantiles(f"film {mark.frame} {mark.id}")
    return film + (sheltered - film) * share


def _area_m2(case: Case, seen: View, mark: Mark, *, is_corner: bool) -> FloatArray | None:
    """Area of a patch; None where distance or field of view were not written down."""
    sizes_m = pixel_sizes_m(seen.frame)
    if sizes_m is None:
        return None
    width = case.assumed("distance-stated").half_width
    share = 1.0 + case.draws.rectangular(f"distance-stated {mark.frame}", width)
    area = marked_area_m2(statistics_of(case, mark).pixels, sizes_m[1], sizes_m[0]) * share**2
    if not is_corner:
        return area
    row = case.assumed("corner-view")
    angle = np.radians(case.draws.between(f"corner-view {mark.frame}", row.low, row.high))
    return area * 0.5 * (1.0 / np.cos(angle) + 1.0 / np.sin(angle))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Season:
    """Kelvin hours of a year, shape (draws,), and whether they come from the climate written down."""

    kelvin_hours: FloatArray
    is_from_climate: bool

    def energy_kwh(self, heat_flow_w_k: FloatArray) -> FloatArray:
        """What a heat flow per kelvin adds up to."""
        return heat_flow_w_k * self.kelvin_hours / WH_PER_KWH


def season(case: Case, *, is_cooled: bool) -> Season | None:
    """Degree hours of the site; None where a cooled building has no climate or no hot months in it."""
    climate = case.site.keys.climate
    monthly = climate.monthly_air_temperature_degc if climate is not None else None
    if is_cooled:
        if monthly is None:
            return None
        kelvin_hours = cooling_degree_hours(_drawn(case, "season-cooled"), monthly)
        return Season(kelvin_hours=kelvin_hours, is_from_climate=True) if kelvin_hours.any() else None
    if monthly is None:
        return Season(kelvin_hours=_drawn(case, "degree-hours"), is_from_climate=False)
    return Season(
        kelvin_hours=heating_degree_hours(_drawn(case, "season-indoor"), monthly)[0], is_from_climate=True
    )


def _drawn(case: Case, name: str) -> FloatArray:
    row = case.assumed(name)
    return case.draws.between(f"{name} house", row.low, row.high)
