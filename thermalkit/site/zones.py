"""Clocks of instruments: a zone name, or a fixed offset from UTC."""

from __future__ import annotations

import re
from datetime import UTC, timedelta, timezone, tzinfo
from zoneinfo import ZoneInfo

_OFFSET = re.compile(r"(?:UTC|GMT)?\s*([+-])\s*([0-9]{1,2})(?::?([0-9]{2}))?", re.IGNORECASE)
_LONGEST_NAME = 64


def zone_of(text: str) -> tzinfo:
    """The zone of a name such as Europe/London, or of an offset such as +01:00.

    Raises
    ------
    ValueError
        No such zone, or an offset of more than 14 hours.

    Examples
    --------
    >>> print(zone_of("+05:30"), zone_of("UTC+2"), zone_of("Europe/London"))
    UTC+05:30 UTC+02:00 Europe/London
    """
    if text.upper() in {"UTC", "GMT", "Z"}:
        return UTC
    found = _OFFSET.fullmatch(text)
    if found:
        minutes = int(found[2]) * 60 + int(found[3] or 0)
        if minutes > 14 * 60 or int(found[3] or 0) > 59:
            raise ValueError(text)
        return timezone(timedelta(minutes=-minutes if found[1] == "-" else minutes))
    try:
        return ZoneInfo(text[:_LONGEST_NAME])
    except (KeyError, OSError, ValueError):
        raise ValueError(text) from None
