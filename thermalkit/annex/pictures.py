"""The pictures of an investigation as the page draws them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np

from thermalkit.annex.packing import numbered, packed_frame, picture_json
from thermalkit.annex.wording import Wording, visible
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Findings, Line, Picture
from thermalkit.diagnosis.labels import mark_name
from thermalkit.diagnosis.marks import FrameReader, MarkNumbers
from thermalkit.diagnosis.run import investigation
from thermalkit.diagnosis.surface import FrameTemperatures, frame_temperatures
from thermalkit.errors import OutOfDomain
from thermalkit.language import Interval, catalogue

MOST_ALONG = 240  # points of a profile that the page draws
MOST_IN_FULL = 3  # marks of a picture whose numbers are all shown, as in the notebook


def corrected(case: Case, frame: str) -> FrameTemperatures:
    """Surface temperatures of a frame and the interval at each of them."""
    return frame_temperatures(case, frame)


def marks_of(picture: Picture, rows: int, language: str) -> list[dict[str, Any]]:
    """Marks of a picture under the names they are shown by, numbered in reading order."""
    named = [{**mark.as_json(), "name": visible(mark_name(mark.id, language))} for mark in picture.marks]
    return numbered(named, rows)


def number_rows(numbers: MarkNumbers, words: Wording) -> list[list[str] | str]:
    """Numbers of a mark as [name, value with its interval], then what limits them."""
    named = replace(numbers, reference=mark_name(numbers.reference, words.language))
    pairs = [[words.text(name), _shown(item, words)] for name, item in named.rows()]
    return [*pairs, *(words.text(remark) for remark in numbers.remarks)]


def mark_details(numbers: MarkNumbers) -> dict[str, Any]:
    """What the picture draws to go with the numbers of a mark: extremes and profile."""
    details: dict[str, Any] = {"coldest": numbers.coldest_place, "warmest": numbers.warmest_place}
    if numbers.profile is not None:
        along = numbers.profile
        every = len(along.distance) // MOST_ALONG + 1
        chosen = [i for i in range(len(along.distance)) if i % every == 0 or i == len(along.distance) - 1]
        details["profile"] = {
            "distance": [round(float(along.distance[i]), 3) for i in chosen],
            "temperature": [_finite(along.surface_degc[i]) for i in chosen],
            "unit": along.unit,
        }
    return {name: part for name, part in details.items() if part is not None}


def _finite(value: float) -> float | None:
    return round(float(value), 2) if np.isfinite(value) else None


def _shown(item: Interval, words: Wording) -> str:
    low, high = (words.number(value, item.digits) for value in (item.low, item.high))
    value = words.number(item.value, item.digits, item.unit)
    return f"{value} ({words.say('number.interval', low=low, high=high)})"


def labels(language: str) -> dict[str, Any]:
    """Words of the picture's interface; those that hold {names} are filled in by the page."""
    prefix = "annex.picture."
    texts = {
        id.removeprefix(prefix): text for id, text in catalogue(language).items() if id.startswith(prefix)
    }
    keys = [line.split("|", 1) for line in texts["keysRead"].splitlines()]
    return {**texts, "keysRead": keys}


def picture_data(
    picture: Picture,
    seen: FrameTemperatures,
    findings: Findings,
    words: Wording,
    case: Case | None = None,
) -> dict[str, Any]:
    """Data of the read-only picture; with a `case`, the numbers of each mark that the notebook shows."""
    rows = seen.surface_degc.shape[0]
    numbers = {} if case is None else _numbers_of_marks(case, picture, findings.kind)
    return {
        "frame": packed_frame(seen.surface_degc),
        "interval": [[round(v, 2) for v in row] for row in sorted(seen.table) if np.all(np.isfinite(row))],
        "lines": [
            {"temperature_degc": round(line.temperature_degc, 2), "label": line_label(line, words)}
            for line in picture.lines
        ],
        "marks": marks_of(picture, rows, words.language),
        "numbers": {id: number_rows(item, words) for id, item in numbers.items()},
        "details": {id: mark_details(item) for id, item in numbers.items()},
        "brief": brief_marks(picture, findings),
        "locale": words.language,
        "labels": labels(words.language),
        "read_only": True,
    }


def brief_marks(picture: Picture, findings: Findings) -> list[str]:
    """Of many marks those that a line is enough for, until chosen: no finding tells of them by themselves."""
    told = {f.mark for f in findings.findings if f.frame == picture.frame and not f.is_context}
    few = len(picture.marks) <= MOST_IN_FULL
    return [mark.id for mark in picture.marks if not few and (mark.id not in told or mark.role == "sound")]


def script_json(data: Mapping[str, Any]) -> str:
    r"""Data as JSON that can neither end the script element it stands in nor start a comment there.

    Examples
    --------
    >>> script_json({"a": "<!--&>"})
    '{"a":"\\u003c!--\\u0026\\u003e"}'
    """
    return picture_json(data).replace(">", "\\u003e").replace("&", "\\u0026")


def line_label(line: Line, words: Wording) -> str:
    """What a line means, without its temperature, which the picture writes beside it."""
    degrees = words.number(line.temperature_degc, 1, "degC")
    return visible(words.text(line.label)).removesuffix(degrees).rstrip(" :")


def _numbers_of_marks(case: Case, picture: Picture, kind: str) -> dict[str, MarkNumbers]:
    """Numbers of the marks of a picture by their names, with what the investigation adds."""
    further = getattr(investigation(kind), "quantities_at", None)
    reader = FrameReader(case=case, frame=picture.frame, further=further)
    try:
        return {item.mark.id: item for item in reader.numbers(picture.marks)}
    except OutOfDomain:  # said in the findings; the picture is shown all the same
        return {}
