"""Heated floors of a visit: their pictures in mm, and the warm lines in them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.labels import room_label
from thermalkit.diagnosis.memo import kept
from thermalkit.diagnosis.plans import plan_on
from thermalkit.diagnosis.surface import nominal_surface_degc
from thermalkit.imaging.alignment import Unaligned
from thermalkit.imaging.clearance import Surroundings
from thermalkit.imaging.mark import Mark, mark_mask
from thermalkit.imaging.plan import Plan, Rectified, rectified
from thermalkit.imaging.quality import noise_k
from thermalkit.imaging.ridges import Centreline, Ridges, drawn, pixels_of, ridges
from thermalkit.language import Sentence
from thermalkit.measured import FloatArray
from thermalkit.site.sections.floors import FixingKeys, FloorLoopKeys

if TYPE_CHECKING:
    from thermalkit.site.survey import SurveyFrame

SUBJECT = "floor"
BOARDS = ("parquet", "laminate", "carpet", "other")
MM_PER_PIXEL = 8.0
_TEXTURE_K = 0.03  # own choice: what boards differ by without a pipe
_LEAST_NOISE_K = 0.02
_AROUND_COVERED_MM = 30.0
STEADY_MINUTES = 8 * 60.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Floor:
    """A heated floor; `frame` is the picture of its series on which lines stand out most."""

    keys: FloorLoopKeys
    place: str
    frame: str
    series: tuple[str, ...]
    plan: Plan | None
    why_no_plan: Sentence | None

    @property
    def id(self) -> str:
        """Its short name."""
        return self.keys.id


def floor_frames(case: Case) -> tuple[str, ...]:
    """Frames decided on that show a floor, or that an entry or a hole names."""
    named = {keys.frame for keys in _entries(case)} | {keys.frame for keys in fixings(case)}
    return tuple(n for n in case.decided["frames"] if _subject(case, n) == SUBJECT or n in named)


def floors(case: Case) -> tuple[Floor, ...]:
    """Every floor of the site file, then pictures of floors without an entry."""
    frames = floor_frames(case)
    entries = [keys for keys in _entries(case) if keys.frame in frames]
    found = [_floor(case, keys) for keys in entries]
    taken = {name for floor in found for name in floor.series}
    left = [name for name in frames if name not in taken]
    return (*found, *(_floor(case, FloorLoopKeys(id=name, frame=name)) for name in left))


def fixings(case: Case) -> tuple[FixingKeys, ...]:
    """Holes of the site file."""
    return case.site.sections(FixingKeys)


def place_on(case: Case, floor: Floor, keys: FixingKeys) -> tuple[float, float] | None:
    """(row, column) of a planned hole; None without a plan, or where it lies beside the picture."""
    if floor.plan is None:
        return None
    rows, columns = case.site.frames[floor.frame].apparent_degc.shape
    row, column = floor.plan.onto_frame.mapped(np.array([[keys.x_mm, keys.y_mm]]))[0]
    is_on = 0.0 <= row <= rows - 1.0 and 0.0 <= column <= columns - 1.0
    return (round(float(row), 2), round(float(column), 2)) if is_on else None


def minutes_of(case: Case, floor: Floor, frame: str) -> float | None:
    """Since warm water entered; None where that was not written down, or long ago."""
    entered, taken = floor.keys.water_entered_at, case.site.frames[frame].keys.taken_at
    if entered is None or taken is None:
        return None
    minutes = (taken - entered).total_seconds() / 60.0
    return minutes if 0.0 <= minutes < STEADY_MINUTES else None


def traced(case: Case, floor: Floor) -> Surroundings | None:
    """The picture in mm and every warm line that the filter finds in it; None without a plan."""
    plan = floor.plan
    if plan is None:
        return None
    covered = covered_on(case, floor)
    key = ("floor", floor.frame, covered)
    return kept(case, key, lambda: _traced(case, floor, plan, covered))


def kept_lines(case: Case, floor: Floor) -> Surroundings | None:
    """The same with the lines that the surveyor kept or drew; what was taken away stays doubtful."""
    around = traced(case, floor)
    marks = tuple(m for m in case.decided.get("pipe", ()) if m.frame == floor.frame)
    if around is None or "pipe" not in case.decided:
        return around
    return kept(case, ("floor lines", floor.frame, marks), lambda: _with_marks(around, marks))


def _entries(case: Case) -> tuple[FloorLoopKeys, ...]:
    return case.site.sections(FloorLoopKeys)


def _subject(case: Case, name: str) -> str | None:
    return case.site.frames[name].keys.subject


def _floor(case: Case, keys: FloorLoopKeys) -> Floor:
    series = _series(case, keys)
    frame, plan, why = keys.frame, None, None
    try:
        plan = plan_on(case.site, keys.frame)
    except Unaligned as error:
        why = error.said
    base = Floor(
        keys=keys,
        place=f"{room_label(case, keys.frame)} / {keys.id}",
        frame=frame,
        series=series,
        plan=plan,
        why_no_plan=why,
    )
    if plan is None or len(series) == 1:
        return base
    return max((replace(base, frame=name) for name in series), key=lambda one: _standing_out(case, one))


def _standing_out(case: Case, floor: Floor) -> float:
    around = traced(case, floor)
    if around is None:
        return 0.0
    return around.found.usual * sum(line.length_mm for line in around.found.lines)


def _series(case: Case, keys: FloorLoopKeys) -> tuple[str, ...]:
    """Frames from the same tripod in the order they were taken."""
    frames = case.site.frames
    if keys.same_view == "no":
        return (keys.frame,)
    first = frames[keys.frame]

    def is_alike(frame: SurveyFrame) -> bool:
        same_room = frame.keys.room == first.keys.room and frame.keys.subject == first.keys.subject
        return same_room and frame.apparent_degc.shape == first.apparent_degc.shape

    alike = [name for name in case.decided["frames"] if is_alike(frames[name])]
    ordered = sorted(alike, key=lambda name: str(frames[name].keys.taken_at or ""))
    return tuple(ordered) if keys.frame in ordered else (keys.frame,)


def covered_on(case: Case, floor: Floor) -> tuple[Mark, ...]:
    """What covers the floor, drawn on any picture from the same tripod."""
    marks = case.decided.get("covered", ())
    return tuple(replace(mark, frame=floor.frame) for mark in marks if mark.frame in floor.series)


def _traced(case: Case, floor: Floor, plan: Plan, covered: tuple[Mark, ...]) -> Surroundings:
    frame = case.site.frames[floor.frame]
    picture = rectified(nominal_surface_degc(case, floor.frame), plan, MM_PER_PIXEL)
    stated = frame.camera.noise_k if frame.camera is not None else None
    seen_k = noise_k(frame.apparent_degc)
    spread = max(stated or 0.0, seen_k if np.isfinite(seen_k) else 0.0, _LEAST_NOISE_K)
    quiet = np.random.default_rng(7).normal(0.0, spread, frame.apparent_degc.shape)
    hidden = _hidden(covered, frame.apparent_degc.shape, plan, picture)
    texture_k = _TEXTURE_K if floor.keys.covering in BOARDS else 0.0
    found = ridges(picture, rectified(quiet, plan, picture.mm_per_pixel), hidden, texture_k=texture_k)
    may_be_double = floor.keys.passing_pipes != "none"
    return Surroundings(plan=plan, picture=picture, found=found, hidden=hidden, may_be_double=may_be_double)


def _hidden(
    covered: tuple[Mark, ...], shape: tuple[int, int], plan: Plan, picture: Rectified
) -> NDArray[np.bool_]:
    from scipy.ndimage import binary_dilation

    if not covered:
        return np.zeros(picture.values.shape, dtype=np.bool_)
    mask = np.any([mark_mask(mark, shape) for mark in covered], axis=0)
    flat = np.nan_to_num(rectified(mask.astype(np.float64), plan, picture.mm_per_pixel).values) > 0.01
    wide = max(1, round(_AROUND_COVERED_MM / picture.mm_per_pixel))
    return np.asarray(binary_dilation(flat, iterations=wide))


def _with_marks(around: Surroundings, marks: tuple[Mark, ...]) -> Surroundings:
    from scipy.ndimage import binary_dilation

    lines = tuple(_line(around, mark) for mark in marks if mark.shape == "trace")
    wide = max(1, round(2.0 * around.found.scale_mm / around.picture.mm_per_pixel))
    near = binary_dilation(drawn(lines, around.picture), iterations=wide)
    gone = drawn(around.found.lines, around.picture) & ~near
    usual = float(np.median(np.concatenate([n.strength for n in lines]))) if lines else 0.0
    found: Ridges = replace(around.found, lines=lines, doubtful=around.found.doubtful | gone, usual=usual)
    return replace(around, found=found)


def _line(around: Surroundings, mark: Mark) -> Centreline:
    from scipy.ndimage import map_coordinates

    line_mm: FloatArray = around.plan.onto_mm.mapped(mark.points)
    at = pixels_of(around.picture, line_mm)
    strength = map_coordinates(np.nan_to_num(around.found.strength), at.T, order=1, mode="nearest")
    bridged = np.full(len(line_mm), mark.role == "bridged")
    return Centreline(line_mm=line_mm, strength=np.asarray(strength), is_bridged=bridged)
