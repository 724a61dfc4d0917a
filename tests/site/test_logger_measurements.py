"""Real measurements of a wall and an attic, read as they were published.

TRH database and Finnish Meteorological Institute, CC BY 4.0; they are not part of this project.
Row counts are those of the files; first and last rows are as printed in them.
"""

from __future__ import annotations

import gzip
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest

from thermalkit.language import texts_in
from thermalkit.site.loggers import days_covered, hourly, is_long_enough, read_logger
from thermalkit.site.model import LoggerKeys

DATA = next(
    (found for up in Path(__file__).parents if (found := up / "shared" / "data").is_dir()),
    Path("shared/data"),
)
pytestmark = pytest.mark.skipif(
    not DATA.is_dir(), reason="the published measurements are not beside the checkout"
)
HELSINKI_WINTER = timezone(timedelta(hours=2))
WALL = ("2020-12-18 15:15", "2021-05-15 23:55", 21365, 600.0)
ATTIC = ("2010-11-15 00:00", "2012-07-09 00:00", 14449, 3600.0)
FILES = {
    "trh_wall/indoor": (*WALL, 17.43, 0.3687),
    "trh_wall/outdoor": (*WALL, 0.80, 0.97),
    "trh_wall/air_gap": (*WALL, 19.07, 0.3067),
    "trh_wall/insulation_windbarrier_joint": (*WALL, 17.36, 0.3885),
    "trh_wall/bottom_corner_stud_windbarrier": (*WALL, 18.87, 0.3744),
    "trh_attic/indoor": (*ATTIC, 22.30, 0.3875),
    "trh_attic/outdoor": (*ATTIC, 3.10, 1.0),
    "trh_attic/roofmiddle_insulationtop": (*ATTIC, 3.06, 0.9253),
    "trh_attic/roofmiddle_airtop": ("2010-11-15 00:00", "2012-06-16 00:00", 13897, 3600.0, 1.85, 0.993),
    "trh_attic/roofnorth_insulationtop": ("2010-11-15 00:00", "2012-05-19 00:00", 13225, 3600.0, 2.46, 0.91),
}


@pytest.fixture
def read(tmp_path):
    """One of the published files."""

    def read_published(name):
        path = tmp_path / "a.csv"
        path.write_bytes(gzip.decompress((DATA / f"{name}.csv.gz").read_bytes()))
        raw = {"id": "a", "file": "a.csv", "place": "outdoor" if "outdoor" in name else "surface"}
        return read_logger(path, LoggerKeys.model_validate(raw))

    return read_published


def moment(text):
    return datetime.fromisoformat(text).replace(tzinfo=HELSINKI_WINTER)


@pytest.mark.parametrize("name", FILES)
def test_published_series_are_read_as_they_are(read, name):
    """Every row, at its moment, with the values printed in the first one."""
    first, last, rows, step_s, temperature, humidity = FILES[name]
    found = read(name)
    assert found.span == (moment(first), moment(last))
    assert (len(found.table), found.step_s, found.gaps) == (rows, step_s, ())
    assert found.table.iloc[0][["temperature_degc", "relative_humidity"]].tolist() == pytest.approx(
        [temperature, humidity], abs=1e-9
    )
    assert "clock: UTC+02:00, from the heading" in texts_in(found.assumed, "en")
    assert is_long_enough(found)
    assert days_covered(found) == pytest.approx(rows * step_s / 86_400)


def test_weather_comes_with_rain_and_wind(read):
    """First row as printed: 2.60 m/s from 170°, 0.60 mm; radiation is not read and said so."""
    found = read("trh_attic/outdoor")
    weather = found.table.iloc[0][["wind_speed_m_s", "wind_from_deg", "rain_mm"]]
    assert weather.tolist() == [2.6, 170.0, 0.6]
    assert 'columns not read: "Rdif", "Rglob"' in texts_in(found.assumed, "en")


def test_the_first_hour_of_the_wall_is_its_sensors_settling(read):
    """All four fall by more than 7 K and rise by 3 K again, whatever they measure; nothing is cut."""
    for name in [name for name in FILES if name.startswith("trh_wall") and "outdoor" not in name]:
        hour = read(name).table["temperature_degc"].iloc[:7].to_numpy()
        assert hour[0] - hour.min() > 7.0, name
        assert hour[-1] - hour.min() > 3.0, name


def test_hours_of_a_ten_minute_series(read):
    """The first hour holds 15:15 to 15:55, five rows of six, which is enough; no hour is empty."""
    found = read("trh_wall/indoor")
    hours = hourly(found)
    assert hours.index[0] == moment("2020-12-18 15:00")
    assert hours.notna().all(axis=None)
    assert hours["temperature_degc"].iloc[0] == pytest.approx(found.table["temperature_degc"].iloc[:5].mean())
