"""Clocks that jump in spring and autumn, clocks that do not, and what can be told from the rows.

The changes of 2025 and 2026 follow Directive 2000/84/EC: at 01:00 UTC on the last Sundays of March
(30 March 2025, 29 March 2026) and of October (26 October 2025).
"""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import numpy as np
import pytest

from thermalkit.errors import ReadingError
from thermalkit.language import texts_in
from thermalkit.site.loggers import read_logger
from thermalkit.site.model import LoggerKeys
from thermalkit.site.zones import zone_of

SPRING = datetime(2026, 3, 29, 1, 0, tzinfo=UTC)
AUTUMN = datetime(2025, 10, 26, 1, 0, tzinfo=UTC)
ZONES = ["Europe/London", "Europe/Berlin"]


@pytest.fixture
def read(tmp_path):
    """The series of a file whose time column shows these."""

    def read_shown(shown, heading="Time", **more):
        rows = "".join(f"{moment},{20 + i / 100:.2f}\n" for i, moment in enumerate(shown))
        (tmp_path / "a.csv").write_text(f"{heading},T (C)\n{rows}", encoding="utf-8")
        raw = {"id": "a", "file": "a.csv", "place": "room", **more}
        return read_logger(tmp_path / "a.csv", LoggerKeys.model_validate(raw))

    return read_shown


def around(change, minutes, hours=8):
    count = hours * 60 // minutes
    return [change + (i - count // 2) * timedelta(minutes=minutes) for i in range(count)]


def shown(moments, zone):
    """What a clock on the wall shows, without its offset."""
    return [
        m.astimezone(ZoneInfo(zone) if "/" in zone else zone_of(zone)).strftime("%Y-%m-%d %H:%M")
        for m in moments
    ]


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("minutes", [5, 30, 60])
@pytest.mark.parametrize("change", [SPRING, AUTUMN], ids=["spring", "autumn"])
@pytest.mark.parametrize("upside_down", [False, True])
def test_a_clock_that_jumps(read, zone, minutes, change, upside_down):
    """Every row of an hour that comes twice finds its place by the order of the rows; no gap is made."""
    moments = around(change, minutes)
    written = shown(moments, zone)
    found = read(written[::-1] if upside_down else written, clock=zone)
    assert list(found.table.index) == moments
    assert found.gaps == ()
    assert any("comes twice on 2025-10-26" in a for a in texts_in(found.assumed, "en")) == (change == AUTUMN)


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("change", [SPRING, AUTUMN], ids=["spring", "autumn"])
def test_a_clock_that_was_not_set_is_found_out(read, zone, change):
    """An hour that no clock of the zone shows, or one that should come twice and does not, gives it away."""
    moments = around(change, 10)
    standard = {"Europe/London": 0, "Europe/Berlin": 60}[zone]
    offset = standard + (60 if change == AUTUMN else 0)
    found = read(shown(moments, f"+{offset // 60:02d}:00"), clock=zone)
    assert list(found.table.index) == moments
    assert any(
        f"did not follow {zone} on {change:%Y-%m-%d}, so UTC" in a for a in texts_in(found.assumed, "en")
    )


def test_an_hour_that_cannot_be_told_is_left_out(read):
    """A gap that hides the second pass leaves nothing to tell by; nothing is invented."""
    moments = around(AUTUMN, 10)
    kept = [m for m in moments if not AUTUMN <= m < AUTUMN + timedelta(minutes=90)]
    found = read(shown(kept, "Europe/London"), clock="Europe/London")
    clear = [m for m in kept if not AUTUMN - timedelta(hours=1) <= m < AUTUMN]
    assert list(found.table.index) == clear
    assert any("6 rows left out, of an hour that comes twice" in a for a in texts_in(found.assumed, "en"))
    assert len(found.gaps) == 1


def test_a_file_that_starts_in_the_repeated_hour(read):
    """Without rows before it, nothing shows which of the two it is."""
    moments = [AUTUMN + timedelta(minutes=m) for m in range(0, 180, 10)]
    found = read(shown(moments, "Europe/Berlin"), clock="Europe/Berlin")
    assert list(found.table.index) == moments[6:]


def test_repeated_rows_in_the_repeated_hour_are_left_out(read):
    """Where each row stands twice, their order tells nothing."""
    moments = around(AUTUMN, 10)
    found = read([m for m in shown(moments, "Europe/Berlin") for _ in range(2)], clock="Europe/Berlin")
    assert len(found.table) == len(moments) - 12
    assert any("24 rows left out" in a for a in texts_in(found.assumed, "en"))


def test_a_clock_set_in_autumn_and_not_in_spring_is_refused(read):
    """No single offset fits such a file."""
    moments = [AUTUMN + i * timedelta(minutes=30) for i in range(-20, 48 * 200)]
    followed = shown([m for m in moments if m < SPRING - timedelta(days=1)], "Europe/London")
    kept = shown([m for m in moments if m >= SPRING - timedelta(days=1)], "+00:00")
    with pytest.raises(ReadingError, match="follows Europe/London on 2025-10-26 and not on 2026-03-29"):
        read(followed + kept, clock="Europe/London")


@pytest.mark.parametrize(
    ("heading", "clock", "hours", "words"),
    [
        ("Time", None, 0, "clock: UTC, since none was stated"),
        ("Date Time (GMT+02:00)", None, 2, "clock: UTC+02:00, from the heading"),
        ("t_UTC+2", None, 2, "clock: UTC+02:00, from the heading"),
        ("Time UTC", None, 0, "clock: UTC, from the heading"),
        ("Time GMT-05:00", None, -5, "clock: UTC-05:00, from the heading"),
        ("Time", "+05:30", 5.5, "clock: UTC+05:30"),
        ("Time", "UTC-3", -3, "clock: UTC-03:00"),
        ("Time", "Europe/Berlin", 1, "clock: Europe/Berlin"),
        ("Time UTC", "+01:00", 1, "clock: UTC+01:00 as stated, although the heading says UTC"),
        ("Time UTC+1", "Europe/Berlin", 1, "clock: Europe/Berlin as stated; the heading says UTC+01:00"),
        ("Time UTC+99", None, 0, "clock: UTC, since none was stated"),
    ],
)
def test_where_the_clock_is_said(read, heading, clock, hours, words):
    """What the surveyor states counts, then the heading, else UTC, and which of them is said."""
    found = read(["2026-01-21 12:00"], heading, **({"clock": clock} if clock else {}))
    assert found.span[0] == datetime(2026, 1, 21, 12, tzinfo=UTC) - timedelta(hours=hours)
    assert words in texts_in(found.assumed, "en")


def test_offsets_in_the_rows_count_most(read):
    """ISO 8601 with offset needs no assumption."""
    found = read(
        ["2026-03-29T00:30Z", "2026-03-29T03:00+0200", "2026-03-29T02:30:00+01:00"], clock="Europe/London"
    )
    minutes = np.diff(found.table.index.asi8) / np.diff(found.table.index.asi8)[0]
    assert found.span == (SPRING - timedelta(minutes=30), SPRING + timedelta(minutes=30))
    assert minutes.tolist() == [1.0, 1.0]
    assert "clock: offsets as written in each row" in texts_in(found.assumed, "en")


def test_offsets_west_of_greenwich_are_added(read):
    """Five in the evening at -05:00 is ten in the evening UTC."""
    assert read(["2026-01-21 17:00-05:00"]).span[0] == datetime(2026, 1, 21, 22, tzinfo=UTC)


@pytest.mark.parametrize(
    "text", ["Europe/Londn", "+15:00", "+01:75", "../etc/passwd", "/etc/passwd", "Europe", "x" * 64]
)
def test_clocks_that_do_not_exist(text):
    """Neither a zone nor an offset."""
    with pytest.raises(ValueError, match=r".+"):
        zone_of(text)
    with pytest.raises(ValueError, match="clock"):
        LoggerKeys.model_validate({"id": "a", "file": "a.csv", "place": "room", "clock": text})
