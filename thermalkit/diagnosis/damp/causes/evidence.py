"""What numbers of the site answer: outcomes of questions from verdicts, readings, loggers and samples.

Each function answers only what its numbers settle; everything else is left to the surveyor.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np

from thermalkit.diagnosis.finding import Verdict
from thermalkit.measured import Measured
from thermalkit.site.sections.elements import ElementKeys
from thermalkit.site.sections.moisture import MoistureKeys
from thermalkit.site.sections.samples import SampleKeys
from thermalkit.site.survey import Site

LOW_HUMIDITY, HIGH_HUMIDITY = 0.70, 0.80
LONG_ENOUGH_H = 72.0  # own choice: three days above the mould criterion within the record
EXCESS_PERCENT = 1.0  # own choice: % by mass that a scatter of drillings leaves in doubt
STRATIFIED_K = 2.0  # own choice: how much colder air may be at the foot of a wall than in mid-room
_APART_MM = 20.0
_HEIGHTS = 3
# Medium from here, high from there, in % by mass: usual laboratory classes, from memory.
_SALT_CLASSES = {"nitrate": (0.1, 0.3), "chloride": (0.2, 0.5)}
_GRADES = ("low", "medium", "high")


def verdict_answers(humidity: Verdict | None, factor: Verdict | None) -> dict[str, str]:
    """Answers of the frame from the verdicts on surface humidity and temperature factor."""
    given = {"frame-humidity": humidity, "temperature-factor": factor}
    return {question: verdict.replace(" ", "-") for question, verdict in given.items() if verdict}


def afternoon_answers(surface_humidity_percent: Measured) -> dict[str, str]:
    """Answer of one reading of the humidity at the surface; none where its interval leaves it open."""
    low, high = surface_humidity_percent.low / 100.0, surface_humidity_percent.high / 100.0
    if high < LOW_HUMIDITY:
        return {"afternoon-humidity": "below-70"}
    if low > HIGH_HUMIDITY:
        return {"afternoon-humidity": "above-80"}
    inside = low >= LOW_HUMIDITY and high <= HIGH_HUMIDITY
    return {"afternoon-humidity": "between"} if inside else {}


def dry_wall_answers(above_coldest_air_k: Measured) -> dict[str, str]:
    """Answer of a wall between two rooms that were both read; none where it might be dry.

    Dry, no place of it is colder than the colder of the two airs, less what air may be colder low down.
    """
    return {"colder-than-dry": "yes"} if above_coldest_air_k.high < -STRATIFIED_K else {}


def house_answers(site: Site, room: str | None) -> dict[str, str]:
    """Whether the room is cooled, and how old the building is, as far as the site file says."""
    here = next((item for item in site.keys.rooms if item.id == room), None)
    answers = {"cooled": "cooled" if site.is_cooled(here) else "not-cooled"}
    years = _age_years(site)
    if years is not None:
        answers["age"] = "under-2" if years < 2.0 else "2-to-10" if years <= 10.0 else "older"
    return answers


def sample_answers(samples: Iterable[SampleKeys]) -> dict[str, str]:
    """Answers of the samples of one place: free moisture, its profile, its depth, salts."""
    taken = tuple(samples)
    answers = {
        "free": _free(taken),
        "profile": _profile(taken),
        "depth": _depth(taken),
        "salts": _salts(taken),
    }
    return {question: outcome for question, outcome in answers.items() if outcome is not None}


def _age_years(site: Site) -> float | None:
    surveyed = site.keys.site.surveyed_at.date()
    lived_in = site.section(MoistureKeys)
    if lived_in is not None and lived_in.new_building_completed_on is not None:
        return (surveyed - lived_in.new_building_completed_on).days / 365.25
    built = [element.built_in for element in site.sections(ElementKeys) if element.built_in is not None]
    return float(surveyed.year - min(built)) if built else None


def _free(samples: Sequence[SampleKeys]) -> str | None:
    pairs = [pair for pair in map(_moisture, samples) if pair is not None]
    if not pairs:
        return None
    if max(found - hygroscopic for found, hygroscopic in pairs) > EXCESS_PERCENT:
        return "free"
    return "hygroscopic" if max(found for found, _ in pairs) > EXCESS_PERCENT else "neither"


def _profile(samples: Sequence[SampleKeys]) -> str | None:
    """Free moisture upward; where it falls but the highest drilling is wet too, its end was not found."""
    at_height: dict[float, list[float]] = defaultdict(list)
    for sample in samples:
        pair = _moisture(sample)
        if sample.height_mm is not None and pair is not None:
            at_height[sample.height_mm].append(pair[0] - pair[1])
    if len(at_height) < _HEIGHTS:
        return None
    excess = np.array([np.mean(at_height[height]) for height in sorted(at_height)])
    if np.ptp(excess) <= EXCESS_PERCENT:
        return "even"
    if excess[0] - excess[-1] <= EXCESS_PERCENT or np.any(np.diff(excess) > EXCESS_PERCENT):
        return "patchy"
    return "falls" if excess[-1] <= EXCESS_PERCENT else None


def _depth(samples: Sequence[SampleKeys]) -> str | None:
    known = [s for s in samples if s.depth_mm is not None and s.moisture_percent is not None]
    at_height: dict[float | None, list[SampleKeys]] = defaultdict(list)
    for sample in known:
        at_height[sample.height_mm].append(sample)
    rises = []
    for group in at_height.values():
        first, last = (pick(group, key=lambda s: s.depth_mm or 0.0) for pick in (min, max))
        if (last.depth_mm or 0.0) - (first.depth_mm or 0.0) >= _APART_MM:
            rises.append((last.moisture_percent or 0.0) - (first.moisture_percent or 0.0))
    if not rises or max(s.moisture_percent or 0.0 for s in known) <= EXCESS_PERCENT:
        return None
    rise = float(np.mean(rises))
    return "deeper" if rise > EXCESS_PERCENT else "surface" if rise < -EXCESS_PERCENT else "even"


def _salts(samples: Sequence[SampleKeys]) -> str | None:
    """A peak at the upper edge: three heights, more salt above than at the foot. Medium is left open."""
    graded = [(s.height_mm, grade) for s in samples if (grade := _salt_grade(s)) is not None]
    if not graded:
        return None
    most = max(grade for _, grade in graded)
    heights = sorted((height, grade) for height, grade in graded if height is not None)
    if len(heights) >= _HEIGHTS and most > heights[0][1] and most > 0:
        return "edge"
    return {0: "low", 2: "high"}.get(most)


def _salt_grade(sample: SampleKeys) -> int | None:
    grades = [
        _grade(value, limits)
        for salt, limits in _SALT_CLASSES.items()
        if (value := getattr(sample, salt)) is not None
    ]
    return max(grades) if grades else None


def _grade(value: Any, limits: tuple[float, float]) -> int:
    return _GRADES.index(value) if isinstance(value, str) else sum(value >= limit for limit in limits)


def _moisture(sample: SampleKeys) -> tuple[float, float] | None:
    found, hygroscopic = sample.moisture_percent, sample.hygroscopic_moisture_percent
    return None if found is None or hygroscopic is None else (found, hygroscopic)
