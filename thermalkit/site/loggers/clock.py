"""From a logger's own clock to UTC, with what the file itself shows about spring and autumn."""

from __future__ import annotations

import re
from datetime import UTC, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo

import numpy as np
from numpy.typing import NDArray

from thermalkit.language import Sentence, say
from thermalkit.site.loggers.moments import NO_OFFSET, Ints, Times
from thermalkit.site.loggers.text import refusal, rows_in_words
from thermalkit.site.model import LoggerKeys
from thermalkit.site.zones import zone_of

Flags = NDArray[np.bool_]
_IN_HEADING = re.compile(
    r"(?:UTC|GMT)(?:\s*([-+]\s*[0-9]{1,2}(?::?[0-9]{2})?))?(?![0-9A-Za-z])", re.IGNORECASE
)


def utc_of(
    file: str, rows: Ints, local: Times, offset_min: Ints, keys: LoggerKeys, heading: str
) -> tuple[Times, list[Sentence]]:
    """Moments in UTC, NaT where the clock's hour cannot be told, and what was assumed.

    Parameters
    ----------
    file : str
        Named in problems.
    rows : ndarray of int, shape (n,)
        Row of the file of each moment.
    local : ndarray of datetime64[ms], shape (n,)
        As the clock showed it, in the order of the file, oldest first.
    offset_min : ndarray of int, shape (n,)
        Offset from UTC written in the cell, in minutes, or NO_OFFSET.
    keys : LoggerKeys
        Its `clock` counts where neither cell nor heading says more.
    heading : str
        Of the time column; may name an offset.

    Raises
    ------
    ReadingError
        Offsets in some rows only, or a clock that follows its zone at one change and not at another.
    """
    written = offset_min != NO_OFFSET
    if written.any():
        if not written.all():
            row = rows[np.flatnonzero(~written)[0]]
            raise refusal(
                file,
                say("logger.read.no-offset"),
                say("logger.allowed.as-others"),
                place=say("logger.place.time", row=int(row)),
            )
        return local - offset_min.astype("timedelta64[m]"), [say("logger.assumed.clock-offsets")]
    zone, words = _stated(keys, heading)
    if isinstance(zone, ZoneInfo):
        utc, more = _from_zone(file, rows, local, zone)
        return utc, [words, *more]
    return local - _fixed(zone), [words]


def _stated(keys: LoggerKeys, heading: str) -> tuple[tzinfo, Sentence]:
    """The clock's zone and where it was said."""
    found = _IN_HEADING.search(heading)
    in_heading = _zone_or_none(found[0]) if found else None
    if "clock" not in keys.model_fields_set:
        if in_heading is None:
            return UTC, say("logger.assumed.clock-utc")
        return in_heading, say("logger.assumed.clock-heading", zone=str(in_heading))
    zone = zone_of(keys.clock)
    if in_heading is not None and isinstance(zone, timezone) and zone != in_heading:
        return zone, say("logger.assumed.clock-against", zone=str(zone), heading=str(in_heading))
    if in_heading is not None and isinstance(zone, ZoneInfo):
        return zone, say("logger.assumed.clock-stated", zone=str(zone), heading=str(in_heading))
    return zone, say("logger.assumed.clock", zone=str(zone))


def _zone_or_none(text: str) -> tzinfo | None:
    try:
        return zone_of(re.sub(r"\s", "", text))
    except ValueError:
        return None


def _fixed(zone: tzinfo) -> np.timedelta64:
    offset = zone.utcoffset(None) or timedelta(0)
    return np.timedelta64(int(offset.total_seconds()), "s")


def _from_zone(file: str, rows: Ints, local: Times, zone: ZoneInfo) -> tuple[Times, list[Sentence]]:
    """Moments of a clock that is said to follow a zone."""
    import pandas as pd

    index = pd.DatetimeIndex(local)
    summer = np.ones(len(index), dtype=bool)
    skipped = np.asarray(index.tz_localize(zone, ambiguous=summer, nonexistent="NaT").isna())
    twice = np.asarray(index.tz_localize(zone, ambiguous="NaT", nonexistent="NaT").isna()) & ~skipped
    told, followed, ignored = _repeated_hours(local, twice, summer)
    if skipped.any():
        ignored = [str(local[skipped][0].astype("datetime64[D]")), *ignored]
    if followed and ignored:
        read = say("logger.read.clock", zone=str(zone), day=followed[0], other=ignored[0])
        fix = say("logger.fix.split-clock")
        raise refusal(file, read, say("logger.allowed.one-clock"), fix, say("logger.place.times"))
    if ignored:
        return _unchanged(local, skipped | twice, zone, ignored[0])
    utc = index.tz_localize(zone, ambiguous=summer, nonexistent="NaT").tz_convert("UTC").tz_localize(None)
    result = utc.to_numpy().astype("datetime64[ms]")
    result[twice & ~told] = np.datetime64("NaT")
    assumed = [say("logger.assumed.hour-told", day=day) for day in followed]
    if np.any(twice & ~told):
        count = int(np.count_nonzero(twice & ~told))
        assumed.append(say("logger.assumed.hour-left-out", rows=rows_in_words(count)))
    return result, assumed


def _repeated_hours(local: Times, twice: Flags, summer: Flags) -> tuple[Flags, list[str], list[str]]:
    """Which rows of repeated hours are told apart, days the clock went back, days it did not.

    `summer` is set to False for rows of the second pass.
    """
    told = np.zeros(len(local), dtype=bool)
    followed, ignored = [], []
    steps = np.diff(local).astype(np.int64)
    step = float(np.median(steps[steps > 0])) if np.any(steps > 0) else 0.0
    days = local.astype("datetime64[D]")
    for day in np.unique(days[twice]):
        places = np.flatnonzero(twice & (days == day))
        back = np.flatnonzero(np.diff(local[places]).astype(np.int64) <= 0)
        if len(back) == 1:
            summer[places[back[0] + 1 :]] = False
            told[places] = True
            followed.append(str(day))
        elif len(back) == 0 and _runs_through(steps, places, step):
            ignored.append(str(day))
    return told, followed, ignored


def _runs_through(steps: Ints, places: Ints, step: float) -> bool:
    """Whether the rows before, in and after an hour follow each other at the usual step."""
    if places[0] == 0 or places[-1] >= len(steps):
        return False
    across = steps[places[0] - 1 : places[-1] + 1]
    return bool(np.all(np.abs(across - step) < step / 4))


def _unchanged(local: Times, unclear: Flags, zone: ZoneInfo, day: str) -> tuple[Times, list[Sentence]]:
    """Moments of a clock that kept the offset it was set to."""
    start = local[np.flatnonzero(~unclear)[0]] if np.any(~unclear) else local[0]
    offset = start.astype("datetime64[ms]").item().replace(tzinfo=zone).utcoffset()
    fixed = timezone(offset)
    return local - _fixed(fixed), [
        say("logger.assumed.clock-unchanged", zone=str(zone), day=day, fixed=str(fixed))
    ]
