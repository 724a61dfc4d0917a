"""Files of a logger that was read out more than once."""

from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from thermalkit.site.loggers import LoggerSeries, days_covered, hourly, joined
from thermalkit.site.loggers.series import gaps_in
from thermalkit.site.model import LoggerKeys


def read_out(id, start, days, *, freq="1h", place="room", room="attic", shift=0.0, **keys):
    index = pd.date_range(start, periods=24 * days, freq=freq, tz="UTC")
    hour = (index - pd.Timestamp("2026-01-01", tz="UTC")).total_seconds().to_numpy() / 3600.0
    values = {"temperature_degc": 20.0 + np.sin(hour) + shift, "relative_humidity": 0.5 + 0.01 * np.cos(hour)}
    step, gaps = gaps_in(index)
    return LoggerSeries(
        keys=LoggerKeys(id=id, file=f"loggers/{id}.csv", place=place, room=room, **keys),
        table=pd.DataFrame(values, index=index),
        step_s=step,
        gaps=gaps,
        assumed=(),
    )


def test_two_files_are_one_series_with_its_gap():
    """Ten days, three of silence, eight days: eighteen count, three days of hours are open."""
    later, first = read_out("second", "2026-01-14", 8), read_out("first", "2026-01-01", 10)
    (one,) = joined([later, first])
    assert one.keys.id == "first"
    assert one.files == ("loggers/first.csv", "loggers/second.csv")
    (gap,) = one.gaps
    assert (gap.start, gap.end) == (first.span[1], later.span[0])
    assert days_covered(one) == pytest.approx(18.0, abs=0.1)
    assert int(hourly(one)["temperature_degc"].isna().sum()) == 3 * 24


def test_what_was_read_out_twice_counts_once():
    """A logger that was not emptied holds its first days in the second file too; a third follows."""
    files = [
        read_out("first", "2026-01-01", 10),
        read_out("second", "2026-01-01", 15),
        read_out("third", "2026-01-16", 2),
    ]
    (one,) = joined(files)
    assert len(one.table) == 17 * 24
    assert one.table.index.is_unique
    assert one.gaps == ()
    assert one.files == tuple(f"loggers/{name}.csv" for name in ("first", "second", "third"))


@pytest.mark.parametrize(
    "other",
    [
        read_out("other", "2026-01-05", 10, shift=0.5),
        read_out("other", "2026-01-05 00:30", 10),
        read_out("other", "2026-01-14", 8, room="cellar"),
        read_out("other", "2026-01-14", 8, position="behind the wardrobe"),
        read_out("other", "2026-01-14", 8, freq="10min"),
    ],
    ids=["contradicts", "interleaves", "another room", "another position", "another step"],
)
def test_two_loggers_stay_two(other):
    first = read_out("first", "2026-01-01", 10)
    found = joined([first, other])
    assert [series.files for series in found] == [("loggers/first.csv",), ("loggers/other.csv",)]
    assert found == (first, other)


def test_on_a_surface_the_position_has_to_be_known():
    """Else the logger may have been moved; two that end together are two loggers."""
    for keys, count in (({}, 2), ({"position": "behind the wardrobe"}, 1)):
        pair = [
            read_out(id, start, 9, place="surface", **keys)
            for id, start in (("a", "2026-01-01"), ("b", "2026-01-12"))
        ]
        assert len(joined(pair)) == count
    assert len(joined([read_out("a", "2026-01-01", 9), read_out("b", "2026-01-01", 9)])) == 2
