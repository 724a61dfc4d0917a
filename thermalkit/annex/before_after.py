"""Frames of both visits side by side, with one bar, and what became of the places on them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import numpy as np

from thermalkit.annex.differences import Compared, compared_frames, shared_bar
from thermalkit.annex.pictures import corrected, picture_data
from thermalkit.annex.wording import Rows, Wording, visible
from thermalkit.diagnosis.change import Change
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.earlier import Earlier
from thermalkit.diagnosis.finding import Findings, Picture, Quantity
from thermalkit.diagnosis.labels import mark_name
from thermalkit.diagnosis.run import investigation
from thermalkit.measured import FloatArray

PictureData = dict[str, Any]


@dataclass(frozen=True, slots=True, kw_only=True)
class Pair:
    """A frame of both visits as data of pictures, with their difference where one lies over the other.

    `changes` is empty where the page of changes tells them all.
    """

    title: str
    before: PictureData
    after: PictureData
    difference: PictureData | None
    caption: str
    changes: Rows


def outcome(item: Change, words: Wording) -> str:
    """What became of a place, and whether persons decided what that rests on."""
    word = words.say(f"annex.changes.{item.outcome}")
    return word if item.confirmed else f"{word} ({words.say('annex.unconfirmed')})"


def numbers(item: Change, words: Wording) -> list[str]:
    """Quantity, before, now, change."""
    name = words.text(item.term.name)
    return [name, *(_shown(value, words) for value in (item.before, item.after, item.change))]


def _shown(item: Quantity | None, words: Wording) -> str:
    if item is None:
        return "–"
    value = words.number(item.measured.value, item.term.shown, item.measured.unit)
    return f"{value} ({words.interval(item)})"


def pairs(findings: Findings, case: Case, earlier: Earlier, words: Wording) -> Iterator[Pair]:
    """Frames that were taken on both visits, each with what it shows."""
    then = {picture.frame: picture for picture in investigation(findings.kind).pictures(earlier.case)}
    for picture in findings.pictures:
        before = then.get(picture.frame)
        if before is not None:
            yield _pair(findings, case, earlier, before, picture, words)


def _pair(
    findings: Findings, case: Case, earlier: Earlier, before: Picture, after: Picture, words: Wording
) -> Pair:
    name = after.frame
    room = case.site.frames[name].room
    title = f"{room.label} – {name}" if room is not None else name
    seen = (corrected(earlier.case, name), corrected(case, name))
    bar = shared_bar(*(one.surface_degc for one in seen))
    drawn = []
    days = (words.day(earlier.surveyed_at.date()), words.day(case.site.keys.site.surveyed_at.date()))
    for picture, frame, day, of in zip((before, after), seen, days, ("before", "after"), strict=True):
        data = picture_data(picture, frame, findings, words)
        data |= {"bar": bar, "numbers": _at_marks(findings, name, of, words)}
        data["label"] = visible(words.say("annex.changes.picture-of", place=title, day=day))
        drawn.append(data)
    between = compared_frames(case, earlier, name)
    difference = None if between is None else _difference(between, after, findings, title, words)
    if between is not None and difference is not None:
        _point_together(drawn[0], (drawn[1], difference), between.over.alignment.matrix, name)
    return Pair(
        title=title,
        before=drawn[0],
        after=drawn[1],
        difference=difference,
        caption=_caption(between, words),
        changes=_changes([item for item in findings.changes if item.frame == name], words),
    )


def _changes(found: list[Change], words: Wording) -> Rows:
    """What became of the places on a frame; nothing where no change of one quantity each is all there is."""
    places = {(item.place, item.mark) for item in found}
    if len(places) == len(found) and all(item.outcome == "none" for item in found):
        return []
    return [
        [
            mark_name(item.mark, words.language) if item.mark else item.place,
            outcome(item, words),
            *numbers(item, words),
        ]
        for item in found
    ]


def _point_together(
    before: PictureData, after: tuple[PictureData, ...], matrix: FloatArray, name: str
) -> None:
    """What is pointed at in one picture is read in all of them."""
    still = np.eye(3)
    for data, back, to in ((before, np.linalg.inv(matrix), matrix), *((one, still, still) for one in after)):
        onto, from_ = ([float(f"{n:.9g}") for n in (m / m[2, 2]).ravel()] for m in (back, to))
        data["together"] = {"group": name, "onto": onto, "from": from_}


def _at_marks(findings: Findings, frame: str, of: str, words: Wording) -> dict[str, list[str]]:
    """What is told beside a picture of each mark: values before or after, or the change."""
    told: dict[str, list[str]] = {}
    for item in findings.changes:
        found = getattr(item, of)
        if item.frame == frame and item.mark is not None and found is not None:
            text = f"{words.text(found.term.name)} {_shown(found, words)}"
            told.setdefault(item.mark, []).append(text)
    return told


def _difference(
    between: Compared, after: Picture, findings: Findings, title: str, words: Wording
) -> PictureData:
    data = picture_data(after, between.as_frame(), findings, words)
    data |= {"difference": True, "unit": between.unit, "lines": [], "interval": []}
    data["numbers"] = _at_marks(findings, after.frame, "change", words)
    data["label"] = visible(words.say("annex.changes.difference-of", place=title))
    return data


def _caption(between: Compared | None, words: Wording) -> str:
    """What the difference means, and how well the pictures lie over one another."""
    if between is None:
        return words.say("annex.changes.not-laid-over")
    what = words.say("annex.changes.in-kelvin" if between.unit == "K" else "annex.changes.in-shares")
    sure = "annex.changes.laid-over"
    if between.over.by == "edges":
        sure = "annex.changes.laid-over-by-edges"
    elif not between.over.alignment.is_checked:
        sure = "annex.changes.laid-over-unchecked"
    return f"{what} {words.say(sure, pixels=words.number(between.over.unsure_px, 1))}"
