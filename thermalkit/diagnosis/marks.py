"""What is known of a marked place on a frame, each number with its 95 % interval.

The numbers come from the same draws as the findings: a suspect place is read at its coldest measurable
spot, any other as the mean of its pixels, and what all pixels of a frame share cancels in the difference
to a sound place, and between warmest and coldest.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field, replace
from typing import TYPE_CHECKING, Literal

import numpy as np

from thermalkit.diagnosis.finding import Quantity, quantity
from thermalkit.diagnosis.surface import View, naming, spot_apparent_degc, statistics_of, view
from thermalkit.imaging.mark import Mark, mark_mask
from thermalkit.imaging.statistics import (
    SPOT_PIXELS,
    MarkStatistics,
    Spot,
    mark_statistics,
    marked_area_m2,
    pixel_size_m,
    profile,
)
from thermalkit.language import Interval, Sentence, say
from thermalkit.measured import FloatArray, measured
from thermalkit.physics.radiation import surface_temperature_degc

if TYPE_CHECKING:
    from thermalkit.diagnosis.decisions import Case
    from thermalkit.site.survey import SurveyFrame

Place = tuple[float, float]
Further = Callable[["Case", View, Mark, FloatArray], Iterable[Quantity]]


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Profile:
    """Most likely surface temperature along a trace; `unit` of the distance is "m", or "px" where unknown."""

    distance: FloatArray
    surface_degc: FloatArray
    unit: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class MarkNumbers:
    """Numbers of one mark; None where there is nothing to measure or to compare with.

    `read_at` is what findings and the difference rest on. `spread` is warmest less coldest spot.
    `difference` is how much colder than the sound place named in `reference` (negative: warmer).
    `further` is what an investigation adds.
    """

    mark: Mark
    read_at: Literal["coldest", "mean"] = "mean"
    mean: Quantity | None = None
    coldest: Quantity | None = None
    warmest: Quantity | None = None
    coldest_place: Place | None = None
    warmest_place: Place | None = None
    spread: Quantity | None = None
    area: Quantity | None = None
    difference: Quantity | None = None
    reference: str = ""
    profile: Profile | None = None
    further: tuple[Quantity, ...] = ()
    remarks: tuple[Sentence, ...] = ()

    def rows(self) -> tuple[tuple[Sentence, Interval], ...]:
        """Each number with what it is, what a surveyor asks first in front."""
        lead, other = ("coldest", "mean") if self.read_at == "coldest" else ("mean", "coldest")
        named = (
            (say(f"mark.{lead}"), getattr(self, lead)),
            *((item.term.name, item) for item in self.further),
            (say(f"mark.{other}"), getattr(self, other)),
            (say("mark.warmest"), self.warmest),
            (say("mark.spread"), self.spread),
            (say("mark.area"), self.area),
        )
        rows = [(name, item.shown()) for name, item in named if item is not None]
        if self.difference is not None:
            rows.insert(1, _compared(self.difference.shown(), self.reference))
        return tuple(rows)


def _compared(colder: Interval, reference: str) -> tuple[Sentence, Interval]:
    """A difference without a minus sign that somebody may overlook."""
    if colder.value >= 0:
        return say("mark.colder-than", reference=reference), colder
    warmer = replace(colder, value=-colder.value, low=-colder.high, high=-colder.low)
    return say("mark.warmer-than", reference=reference), warmer


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class _Reading:
    """What does not depend on another mark, with the draws of what the mark is read at."""

    numbers: MarkNumbers
    read_degc: FloatArray


def numbers_of(
    case: Case, mark: Mark, sound: Mark | None = None, *, further: Further | None = None
) -> MarkNumbers:
    """Numbers of one mark.

    Parameters
    ----------
    case : Case
    mark : Mark
        On a frame of the case.
    sound : Mark, optional
        A place of the same frame to compare with.
    further : callable, optional
        Gives more quantities of (case, view, mark, draws of the surface temperature).

    Returns
    -------
    MarkNumbers

    Raises
    ------
    OutOfDomain
        What was written down on the frame lies where the formulas do not hold.
    """
    with naming(case, mark.frame, mark.id):
        seen = view(case, mark.frame)
        here = _reading(case, seen, mark, further)
        return _with_difference(here, _reading(case, seen, sound, None) if sound is not None else None)


@dataclass(slots=True, kw_only=True)
class FrameReader:
    """Numbers of all marks of one frame again and again, while some of them change.

    What belongs to the frame is worked out once, a mark only when it changed; what did not change is
    the same object.
    """

    case: Case
    frame: str
    further: Further | None = None
    _seen: View | None = None
    _touched: tuple[Mark, ...] = ()
    _readings: dict[Mark, _Reading] = field(default_factory=dict)
    _compared: dict[tuple[_Reading, _Reading | None], MarkNumbers] = field(default_factory=dict)

    def numbers(self, marks: Sequence[Mark]) -> list[MarkNumbers]:
        """Numbers of the frame's marks, in their order; each is compared with the first sound one.

        Raises
        ------
        OutOfDomain
            What was written down on the frame lies where the formulas do not hold.
        """
        with naming(self.case, self.frame):
            seen = self._view(marks)
            self._readings = {
                mark: self._readings.get(mark) or _reading(self.case, seen, mark, self.further)
                for mark in marks
            }
        sound = next((self._readings[mark] for mark in marks if mark.role == "sound"), None)
        pairs = [(self._readings[mark], sound) for mark in marks]
        self._compared = {pair: self._compared.get(pair) or _with_difference(*pair) for pair in pairs}
        return [self._compared[pair] for pair in pairs]

    def _view(self, marks: Sequence[Mark]) -> View:
        """The frame's settings; marks at which a reference was read take part in them."""
        read = {r.mark for r in self.case.site.keys.references if r.frame == self.frame and r.kind != "foil"}
        touched = tuple(mark for mark in marks if mark.id in read)
        if self._seen is None or touched != self._touched:
            decided = {**self.case.decided, "suspect": tuple(marks), "sound": ()}
            self._seen = view(replace(self.case, decided=decided), self.frame)
            self._touched, self._readings = touched, {}
        return self._seen


def pixel_sizes_m(frame: SurveyFrame) -> tuple[float, float] | None:
    """Height and width of what one file pixel sees, square to the view.

    None where distance or field of view were not written down.
    """
    camera, distance = frame.camera, frame.keys.distance_m
    if camera is None or camera.field_of_view_deg is None or distance is None:
        return None
    rows, columns = frame.apparent_degc.shape
    across, down = camera.field_of_view_deg
    if (rows > columns) != (down > across) and rows != columns and across != down:
        across, down = down, across  # held upright
    return float(pixel_size_m(down, rows, distance)), float(pixel_size_m(across, columns, distance))


def _reading(case: Case, seen: View, mark: Mark, further: Further | None) -> _Reading:
    found = statistics_of(case, mark)
    extremes = _along(seen.frame, mark) if mark.shape == "trace" else found
    read_coldest = mark.role == "suspect" and found.coldest is not None
    mean, cold, warm = _spots(case, seen, mark, found.mean_degc, extremes, read_coldest)
    read = cold if read_coldest else mean
    numbers = MarkNumbers(
        mark=mark,
        read_at="coldest" if read_coldest else "mean",
        mean=_degrees(mean),
        area=_area(case, seen.frame, mark, found),
        profile=_profile(seen, mark) if mark.shape == "trace" else None,
        further=tuple(further(case, seen, mark, read)) if further and np.isfinite(read).all() else (),
        remarks=tuple(_remarks(seen.frame, mark, found)),
    )
    if mark.shape == "pin":  # one spot: its coldest is its warmest
        if read_coldest:
            numbers = replace(numbers, mean=None, coldest=_degrees(read))
        return _Reading(numbers=numbers, read_degc=read)
    if extremes.coldest is not None and extremes.warmest is not None:
        numbers = replace(
            numbers,
            coldest=_degrees(cold),
            warmest=_degrees(warm),
            coldest_place=extremes.coldest.place,
            warmest_place=extremes.warmest.place,
            spread=quantity("spread", measured(warm - cold, "K")),
        )
    return _Reading(numbers=numbers, read_degc=read)


def _with_difference(here: _Reading, sound: _Reading | None) -> MarkNumbers:
    if sound is None or here.numbers.mark.role == "sound":
        return here.numbers
    draws_k = sound.read_degc - here.read_degc
    if not np.isfinite(draws_k).all():
        return here.numbers
    difference = quantity("temperature-difference", measured(draws_k, "K"))
    return replace(here.numbers, difference=difference, reference=sound.numbers.mark.id)


def _along(frame: SurveyFrame, mark: Mark) -> MarkStatistics:
    """Statistics of a band three detector pixels wide: a line alone holds no measurable spot."""
    from scipy import ndimage

    scale = round(frame.pixel_scale)
    side = SPOT_PIXELS * scale
    band = ndimage.maximum_filter(mark_mask(mark, frame.apparent_degc.shape), size=side | 1)
    return mark_statistics(frame.apparent_degc, band, pixel_scale=scale)


def _spots(
    case: Case, seen: View, mark: Mark, mean_degc: float, extremes: MarkStatistics, read_coldest: bool
) -> FloatArray:
    """Surface temperatures of mean, coldest and warmest, shape (3, draws), NaN where there is none.

    The one that the mark is read at bears its name, as in the findings.
    """
    apparent = (
        (mean_degc, f"{mark.id} mean" if read_coldest else mark.id),
        (_degc(extremes.coldest), mark.id if read_coldest else f"{mark.id} coldest"),
        (_degc(extremes.warmest), f"{mark.id} warmest"),
    )
    return seen.surface_degc(np.stack([spot_apparent_degc(case, seen, *item) for item in apparent]))


def _degc(spot: Spot | None) -> float:
    return float("nan") if spot is None else spot.temperature_degc


def _degrees(draws: FloatArray) -> Quantity | None:
    return quantity("surface-temperature", measured(draws, "degC")) if np.isfinite(draws).all() else None


def _area(case: Case, frame: SurveyFrame, mark: Mark, found: MarkStatistics) -> Quantity | None:
    """Area of a patch; the distance is the uncertain part of it. None where it rounds to nothing."""
    sizes_m = pixel_sizes_m(frame)
    if mark.shape != "patch" or sizes_m is None:
        return None
    width = case.assumed("distance-stated").half_width
    share = 1.0 + case.draws.rectangular(f"distance-stated {frame.keys.id}", width)
    area_m2 = marked_area_m2(found.pixels, sizes_m[1], sizes_m[0]) * share**2
    area = quantity("marked-area", measured(area_m2, "m2"))
    return area if round(area.measured.value, area.term.shown) > 0 else None


def _profile(seen: View, mark: Mark) -> Profile:
    distance, apparent = profile(seen.frame.apparent_degc, mark.points)
    surface = surface_temperature_degc(
        apparent - float(np.median(seen.offset_k)),
        float(np.median(seen.emissivity)),
        float(np.median(seen.reflected_degc)),
        band_um=seen.band_um,
    )
    sizes_m = pixel_sizes_m(seen.frame)
    if sizes_m is None:
        return Profile(distance=distance, surface_degc=surface, unit="px")
    corners = np.diff(np.asarray(mark.points, dtype=np.float64), axis=0)
    stretched = np.hypot(*(corners * np.array(sizes_m)).T)
    reached_px = np.concatenate([[0.0], np.cumsum(np.hypot(*corners.T))])
    reached_m = np.concatenate([[0.0], np.cumsum(stretched)])
    return Profile(distance=np.interp(distance, reached_px, reached_m), surface_degc=surface, unit="m")


def _remarks(frame: SurveyFrame, mark: Mark, found: MarkStatistics) -> Iterable[Sentence]:
    if found.valid_pixels == 0:
        yield say("mark.no-temperature")
    if mark.shape == "trace":
        extent = np.ptp(np.asarray(mark.points, dtype=np.float64), axis=0).max() + 1.0
        too_small = extent < SPOT_PIXELS * round(frame.pixel_scale)
    else:
        too_small = found.is_smaller_than_spot
    if too_small:
        yield say("mark.too-small")
    if found.touches_edge:
        yield say("mark.at-edge")
