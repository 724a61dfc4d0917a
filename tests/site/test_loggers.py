"""Time series in the dialects that loggers write, and what is wrong with them."""

from __future__ import annotations

import itertools
from datetime import UTC, datetime, timedelta

import numpy as np
import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from thermalkit.errors import ReadingError
from thermalkit.language import texts_in, words_in
from thermalkit.site import read_site
from thermalkit.site.loggers import read_logger, text
from thermalkit.site.loggers.series import Gap
from thermalkit.site.model import LoggerKeys

START = datetime(2026, 1, 28, 21, 0, tzinfo=UTC)


def keys(**more):
    return LoggerKeys.model_validate({"id": "a", "file": "loggers/a.csv", "place": "room", **more})


@pytest.fixture
def read(tmp_path):
    """What a text reads as."""

    def read_text(content, encoding="utf-8", **more):
        path = tmp_path / "a.csv"
        path.write_bytes(content if isinstance(content, bytes) else content.encode(encoding))
        return read_logger(path, keys(**more))

    return read_text


@pytest.fixture
def problems(read):
    """The problems of a text, by place."""

    def found(content, encoding="utf-8", **more):
        with pytest.raises(ReadingError) as caught:
            read(content, encoding, **more)
        assert all(problem.file == "loggers/a.csv" for problem in caught.value.problems)
        return {words_in(problem.place, "en"): str(problem) for problem in caught.value.problems}

    return found


def series(rows=60, step=timedelta(minutes=30), start=START):
    """Moments and invented readings, rounded to what a logger shows."""
    moments = [start + i * step for i in range(rows)]
    temperature = [round(18.0 + 3.0 * np.sin(i / 9.0), 2) for i in range(rows)]
    humidity = [round(55.0 + 20.0 * np.cos(i / 7.0), 1) for i in range(rows)]
    return moments, temperature, humidity


def table(
    moments,
    temperature,
    humidity,
    *,
    delimiter=";",
    decimal=",",
    moment="%Y-%m-%d %H:%M:%S",
    heading="Time;T;RH",
):
    """The text of a file; a tab in `moment` makes two columns of it."""

    def number(value):
        cell = f"{value:.2f}".replace(".", decimal)
        return f'"{cell}"' if decimal == delimiter else cell

    rows = [
        delimiter.join((*m.strftime(moment).split("\t"), number(t), number(h)))
        for m, t, h in zip(moments, temperature, humidity, strict=True)
    ]
    return "\n".join([heading.replace(";", delimiter), *rows]) + "\n"


def same(found, moments, temperature, humidity):
    """The table holds exactly these, the temperature within what Fahrenheit rounds away."""
    assert list(found.table.index) == [pd.Timestamp(m).tz_convert("UTC") for m in moments]
    assert found.table["temperature_degc"].to_numpy() == pytest.approx(temperature, abs=0.004)
    assert found.table["relative_humidity"].to_numpy() == pytest.approx(np.array(humidity) / 100.0, abs=1e-9)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "cp1252"])
@pytest.mark.parametrize(
    ("delimiter", "decimal"), [(",", "."), (",", ","), (";", ","), (";", "."), ("\t", ",")]
)
@pytest.mark.parametrize(
    "moment",
    [
        "%Y-%m-%dT%H:%M:%S",
        "%d/%m/%Y %H:%M",
        "%d.%m.%y\t%H:%M:%S",
        "%m/%d/%Y %I:%M:%S %p",
        "%d-%b-%Y\t%I:%M %p",
    ],
)
def test_every_dialect_is_read(read, encoding, delimiter, decimal, moment):
    """Encoding, delimiter, decimal sign and date make no difference to what is read."""
    values = series()
    head = "Datum;Uhrzeit" if "\t" in moment else "Datum/Uhrzeit"
    content = table(
        *values,
        delimiter=delimiter,
        decimal=decimal,
        moment=moment,
        heading=f"{head};Temperatur [°C];rel. Feuchte [%]",
    )
    found = read("Gerät 12\n\nOrt: Keller, Nähe Tür\n" + content.replace("\n", "\r\n"), encoding)
    same(found, *values)
    assert found.step_s == 1800.0
    assert found.gaps == ()
    assert found.span == (values[0][0], values[0][-1])


NUMBER = st.decimals(min_value=-39, max_value=59, places=2).map(float)


@settings(max_examples=60, deadline=None)
@given(
    values=st.lists(
        st.tuples(NUMBER, st.decimals(min_value=2, max_value=100, places=1).map(float)),
        min_size=3,
        max_size=40,
    ),
    minutes=st.integers(1, 1500),
    style=st.sampled_from([(",", "."), (";", ","), ("\t", ","), (",", ",")]),
    moment=st.sampled_from(["%Y-%m-%d %H:%M:%S", "%d.%m.%Y\t%H:%M", "%Y/%m/%d %I:%M:%S %p"]),
    zone=st.sampled_from(["UTC", "+05:30", "Europe/London", "America/New_York"]),
)
def test_what_was_written_comes_back(tmp_path_factory, values, minutes, style, moment, zone):
    """Any series in any dialect is read as it was, in UTC."""
    temperature, humidity = zip(*values, strict=True)
    moments = [datetime(2026, 1, 10, tzinfo=UTC) + timedelta(minutes=minutes) * i for i in range(len(values))]
    offset = {"UTC": 0, "+05:30": 330, "Europe/London": 0, "America/New_York": -300}[zone]
    local = [m + timedelta(minutes=offset) for m in moments]
    heading = "Date;Time;Temp (C);RH (%)" if "\t" in moment else "Time;Temp (C);RH (%)"
    content = table(
        local, temperature, humidity, delimiter=style[0], decimal=style[1], moment=moment, heading=heading
    )
    path = tmp_path_factory.mktemp("logger") / "a.csv"
    path.write_text(content, encoding="utf-8")
    same(read_logger(path, keys(clock=zone)), moments, temperature, humidity)


@pytest.mark.parametrize(
    ("heading", "words"),
    [
        ("Time;Temp (°F);RH", None),
        ("Time;Temperature_F;RH", None),
        ("Time;Temp;RH", "Temp: in degF, since half of the values are above 45"),
    ],
)
def test_fahrenheit_from_heading_or_by_plausibility(read, heading, words):
    """20 °C is 68 °F; what the heading does not say is listed."""
    moments, _, humidity = series(3)
    found = read(table(moments, [68.0, 50.0, 68.0], humidity, heading=heading))
    assert found.table["temperature_degc"].tolist() == pytest.approx([20.0, 10.0, 20.0])
    assert (
        (words in texts_in(found.assumed, "en"))
        if words
        else not any("degF" in a for a in texts_in(found.assumed, "en"))
    )


def test_a_stated_unit_wins(read):
    """The surveyor knows a cold attic in Fahrenheit; a hot pipe stays in degrees Celsius."""
    content = table(*series(2)[:1], [41.0, 41.0], [50.0, 50.0])
    assert read(content, temperature_unit="degF").table["temperature_degc"].tolist() == pytest.approx(
        [5.0, 5.0]
    )
    pipe = table(*series(2)[:1], [61.0, 61.0], [50.0, 50.0], heading="Time;T;x")
    assert read(pipe, place="supply").table["temperature_degc"].tolist() == [61.0, 61.0]


@pytest.mark.parametrize(
    "heading",
    [
        "Timestamp;Air temperature (°C);Relative humidity (%);Dew point (°C)",
        "Horodatage;Température (°C);Humidité (%);Point de rosée (°C)",
        "Fecha y hora;Temperatura (°C);Humedad (%);Punto de rocío (°C)",
        "Data/ora;Temperatura (°C);Umidità (%);Punto di rugiada (°C)",
        "Tijd;Temperatuur (°C);Luchtvochtigheid (%);Dauwpunt (°C)",
        "Zeitstempel;Lufttemperatur (°C);Luftfeuchtigkeit (%);Taupunkt (°C)",
        "Aika;Lämpötila (°C);Kosteus (%);Kastepiste (°C)",
        "Tid;Temperatur (°C);Luftfuktighet (%);Daggpunkt (°C)",
    ],
)
def test_headings_of_several_languages(read, heading):
    """The dew point is not taken for the temperature."""
    found = read(heading + "\n2026-01-21 10:00;20,5;55,0;11,2\n")
    assert found.table.iloc[0].tolist() == [20.5, 0.55]


def test_units_below_the_headings_and_other_columns(read):
    """A second row of units counts; minima, absolute humidity and counters are not read."""
    found = read(
        "No;Time;Temp;Temp min;RH;Absolute humidity;CO2;Event\n;;[°F];[°F];[%];[g/m3];[ppm];\n"
        "1;2026-01-21 10:00;68;60;50;9;640;\n2;2026-01-21 10:10;68;60;50;9;;start\n"
    )
    assert found.table.iloc[0].tolist() == pytest.approx([20.0, 0.5, 640.0])
    assert np.isnan(found.table["co2_ppm"].iloc[1])
    assert any(a.startswith("columns not read:") and '"Temp min"' in a for a in texts_in(found.assumed, "en"))


def test_weather_columns_and_their_units(read):
    """36 km/h is 10 m/s, an inch 25.4 mm, by definition."""
    found = read(
        "time,temp C,wind speed (km/h),wind direction,rain (in)\n2026-01-21 10:00,5,36,350,1\n",
        place="outdoor",
    )
    row = found.table.iloc[0]
    assert (row["wind_speed_m_s"], row["wind_from_deg"], row["rain_mm"]) == pytest.approx((10.0, 350.0, 25.4))


def test_stated_headings_win(read):
    """Which of two sensors counts, and a time of an unknown name, are the surveyor's to say."""
    content = "t,T,Probe,Feuchte\n2026-01-21 10:00,20.5,3.5,55\n"
    found = read(content, columns={"time": "t", "temperature": "Probe"})
    assert found.table.iloc[0].tolist() == pytest.approx([3.5, 0.55])


def test_humidity_from_the_dew_point(read):
    """20 °C with a dew point of 9.3 °C is 50 % (psychrometric tables, from memory)."""
    found = read("Time,Temp (C),Dew point (C)\n2026-01-21 10:00,20,9.3\n")
    assert found.table["relative_humidity"].iloc[0] == pytest.approx(0.50, abs=0.005)
    assert "relative humidity: from temperature and dew point" in texts_in(found.assumed, "en")


def test_offsets_are_added_and_humidity_is_held_within_its_range(read):
    """Up to 105 % counts as saturated, and is listed."""
    found = read(
        table(*series(3)[:1], [20.0, 20.0, 20.0], [104.0, 99.0, 2.0]), offset_k=-0.4, offset_percent_rh=-3.0
    )
    assert found.table["temperature_degc"].tolist() == pytest.approx([19.6] * 3)
    assert found.table["relative_humidity"].tolist() == pytest.approx([1.0, 0.96, 0.0])
    assert "relative humidity: 1 values above 100 % set to 100 %" in texts_in(found.assumed, "en")
    assert "relative humidity: 1 values below 0 % by the offset set to 0 %" in texts_in(found.assumed, "en")


def test_humidity_as_a_fraction(read):
    """No room is at 0.5 %."""
    found = read("Time,T (C),RH\n2026-01-21 10:00,20,0.50\n2026-01-21 11:00,20,0.55\n")
    assert found.table["relative_humidity"].tolist() == [0.50, 0.55]
    assert "RH: a fraction, since no value is above 1" in texts_in(found.assumed, "en")


def test_gaps_repeats_and_disorder(read):
    """What is missing stays missing, what is there twice counts once, and all of it is said."""
    moments, temperature, humidity = series(30)
    order = [*range(10), 12, 11, 12, *range(20, 30)]
    found = read(table(*([column[i] for i in order] for column in (moments, temperature, humidity))))
    kept = sorted(set(order))
    same(found, *([column[i] for i in kept] for column in (moments, temperature, humidity)))
    assert found.gaps == (Gap(start=moments[12], end=moments[20]),)
    assert "1 row of a time that was there already left out" in texts_in(found.assumed, "en")
    assert "rows out of order in 1 places: sorted" in texts_in(found.assumed, "en")


def test_repeats_that_differ_are_said(read):
    """The first counts."""
    found = read("Time,T (C)\n2026-01-21 10:00,20\n2026-01-21 10:00,21\n2026-01-21 10:10,22\n")
    assert found.table["temperature_degc"].tolist() == [20.0, 22.0]
    assert any("at 1 times they differ, and the first counts" in a for a in texts_in(found.assumed, "en"))


def test_newest_row_first(read):
    """A file upside down is turned round."""
    values = series(20)
    found = read(table(*(column[::-1] for column in values)))
    same(found, *values)
    assert "newest row first" in texts_in(found.assumed, "en")


def test_faults_are_left_out(read):
    """An empty cell, a word of the logger and a code of its maker leave NaN; an empty row goes."""
    found = read(
        "Time;T (°C);RH\n2026-01-21 10:00;;55\n2026-01-21 10:10;Error;55\n2026-01-21 10:20;-999;55\n"
        "2026-01-21 10:30;;\n2026-01-21 10:40\n2026-01-21 10:50;20;50\n"
        "Time;T (°C);RH\n2026-01-21 11:00;20;50\nEnd\n"
    )
    assert len(found.table) == 5
    assert found.table["temperature_degc"].notna().sum() == 2
    assert "T (°C): 1 fault codes such as -999 left out" in texts_in(found.assumed, "en")
    assert "1 row with fewer cells than headings: what is missing is empty" in texts_in(found.assumed, "en")
    assert "1 row after the last reading left out" in texts_in(found.assumed, "en")


def test_midnight_without_a_time_of_day(read):
    """Some exports leave it away."""
    found = read("Time,T (C)\n2026-01-21,20\n2026-01-21 01:00:00,21\n")
    assert found.table.index[0] == pd.Timestamp("2026-01-21T00:00Z")
    assert "1 row without a time of day: midnight" in texts_in(found.assumed, "en")


def test_twelve_oclock(read):
    """12 am is midnight, 12 pm is noon, 24:00 is the next midnight."""
    found = read("Time,T (C)\n2026-01-21 12:30 am,20\n2026-01-21 12:30 p.m.,21\n2026-01-21 11:00 PM,21\n")
    assert [t.strftime("%H:%M") for t in found.table.index] == ["00:30", "12:30", "23:00"]
    assert read("Time,T (C)\n2026-01-21 24:00,20\n").span[0] == datetime(2026, 1, 22, tzinfo=UTC)


@pytest.mark.parametrize(
    ("rows", "stated", "day"),
    [
        (["13/02/2021"], None, (2021, 2, 13)),
        (["02/13/2021"], None, (2021, 2, 13)),
        (["01/02/2021", "02/02/2021"], None, (2021, 2, 1)),
        (["01/02/2021", "01/03/2021"], None, (2021, 1, 2)),
        (["01.02.2021"], None, (2021, 2, 1)),
        (["05/05/2021"], None, (2021, 5, 5)),
        (["01/02/2021"], "day-first", (2021, 2, 1)),
        (["01/02/2021"], "month-first", (2021, 1, 2)),
        (["1/2/21", "13/2/21"], None, (2021, 2, 1)),
        (["21. Dez 2021"], None, (2021, 12, 21)),
        (["2021/2/1"], None, (2021, 2, 1)),
    ],
)
def test_order_of_day_and_month(read, rows, stated, day):
    """Proven by a number above 12, by days that follow each other, by dots, or stated."""
    found = read("Time,T (C)\n" + "".join(f"{row} 10:00,20\n" for row in rows), date_order=stated)
    assert found.span[0] == datetime(*day, 10, 0, tzinfo=UTC)


@pytest.mark.parametrize(
    ("rows", "stated", "place", "words"),
    [
        (["01/02/2021"], None, "row 2, time", "state date_order"),
        (["01/02/2021", "05/09/2021"], None, "row 2, time", "could be either"),
        (["13/02/2021", "02/13/2021"], None, "time", "day first in row 2, month first in row 3"),
        (["13/02/2021"], "month-first", "row 2, time", "a day that does not exist"),
        (["2021-02-30"], None, "row 2, time", "a day that does not exist"),
        (["1970-01-01", "1970-01-02"], None, "row 2, time", "and in 1 more rows"),
        (["20-12-18"], None, "row 2, time", "years of four digits"),
        (["20/12/18", "20/12/20"], None, "row 2, time", "years of four digits"),
    ],
)
def test_dates_that_cannot_be_told(problems, rows, stated, place, words):
    """Nothing is guessed, and the way out is named."""
    content = "Time,T (C)\n" + "".join(f"{row} 10:00,20\n" for row in rows)
    found = problems(content, date_order=stated)
    assert list(found) == [place]
    assert words in found[place]


HEAD = "Time;T (°C);RH (%)\n"
ROW = "2026-01-21 10:00;20;50\n"


@pytest.mark.parametrize(
    ("content", "place", "words"),
    [
        ("", "", "empty"),
        (" \n\n", "", "empty"),
        (b"\x89PNG\r\n\x1a\n\x00\x00", "", "not text"),
        (b"\xff\xfe\x00", "", "not text"),
        ("nothing here\n", "", "no date in the first"),
        ("a;b\n2026-01-21 10:00;20\n", "row 2", 'headings above the first reading: "a", "b"'),
        ("2026-01-21 10:00;20\n", "row 1", "headings above the first reading: nothing"),
        (HEAD, "row 1", "no readings below"),
        (HEAD + "yesterday;20;50\n", "row 2, time", "Allowed: a date and a time"),
        (HEAD + ROW + "2026-01-21;x;50\n", "row 3, T (°C)", '"x"'),
        (HEAD + ROW + "21st of May;20;50\n", "row 3, time", '"21st of May"'),
        (HEAD + ROW + "Download 2\n" + ROW, "row 3, time", '"Download 2"'),
        (HEAD + ROW + "2026-01-21 10:75;20;50\n" + ROW, "row 3, time", '"2026-01-21 10:75"'),
        (HEAD + ROW + "21-01-202 10:10;20;50\n", "row 3, time", "21-01-202"),
        (HEAD + ROW + "2026-01-21 10:10+15:00;20;50\n", "row 3, time", "+15:00"),
        (HEAD + ROW + "2026-01-21 13:00 pm;20;50\n" + ROW, "row 3, time", "13:00 pm"),
        (HEAD + "2026-01-21 10:00;20;106\n", "row 2, RH (%)", "Allowed: 0 to 105 %"),
        (HEAD + "2026-01-21 10:00;20;-1\n", "row 2, RH (%)", "Allowed: 0 to 105 %"),
        (HEAD + "2026-01-21 10:00;99;50\n", "row 2, T (°C)", "Allowed: -60 to 60 degC"),
        (HEAD + "2026-01-21 10:00;;\n", "", "no readings"),
        (HEAD + "2026-01-21 10:00;1,5;50.5\n", "decimal sign", "a comma in row 2 and a point in row 2"),
        ("Time;T;T\n2026-01-21 10:00;1;2\n", "row 1", "2 columns for temperature"),
        (
            "Time UTC;Time local;T\n" + "2026-01-21 10:00;" * 2 + "2\n",
            "row 2",
            "several columns for the time",
        ),
        ("Time,T,RH\n2026-01-21 10:00,20,5,55,3\n", "row 2", "export with semicolons"),
        ("Time,T,RH,a,b\n2026-01-21 10:00,20,5,55,3\n", "", "no humidity above 9"),
        ("Time,T,Dew point\n2026-01-21 10:00,10,15\n", "row 2, dew point", "at most the temperature"),
        (HEAD + ROW + "21 Jan 2026 10:10 am;20;50\n", "row 2, time", "neither am nor pm"),
        (HEAD + ROW + "2026-01-21T10:10Z;20;50\n", "row 2, time", "no offset from UTC"),
    ],
)
def test_one_thing_wrong(problems, content, place, words):
    """Each kind of fault is named at its row, once."""
    found = problems(content)
    assert list(found) == [place]
    assert words in found[place]


def test_rows_between_two_downloads(problems):
    """Each row without a time is named, once readings follow."""
    assert list(problems(HEAD + ROW + "Download 2\nBattery low\n" + ROW)) == ["row 3, time", "row 4, time"]


def test_a_heading_that_is_not_there(problems):
    """The nearest one is proposed."""
    found = problems(HEAD + ROW, columns={"relative_humidity": "RH(%)"})
    assert 'Did you mean "RH (%)"?' in found["row 1"]


def test_a_clock_of_twelve_hours_without_am_and_pm(problems):
    """Every time of day comes twice."""
    moments, temperature, humidity = series(48)
    content = table(moments, temperature, humidity, moment="%Y-%m-%d %I:%M")
    assert "a 12-hour clock without am and pm" in problems(content)["time"]


def test_every_bad_row_is_named_up_to_a_bound(problems):
    """A sensor off its cable for a month does not fill the screen."""
    rows = "".join(
        f"2026-01-21 {h:02d}:{m:02d};20;150\n" for h, m in itertools.product(range(4), range(0, 60, 10))
    )
    found = problems(HEAD + rows)
    assert len(found) == 21
    assert "and 4 more rows" in found["RH (%)"]
    assert len(problems(HEAD + "2026-01-21 10:00;x;150\n" * 50)) == 20


@pytest.mark.parametrize(
    ("content", "words"),
    [
        (HEAD + "x" * (text.LONGEST_LINE + 1), "characters"),
        ("x\n" * (text.MOST_ROWS + 1000), "too many rows"),
        (";".join(["T"] * 3000) + "\n" + ROW, "headings above the first reading"),
        ('"' * 9001 + "\n" + HEAD[:3], "no date in the first"),
        ("Time;T\n" * 6000, "no time|no readings|Allowed: a date"),
    ],
)
def test_hostile_files(tmp_path, content, words):
    """Size is bounded before anything is made of it."""
    path = tmp_path / "a.csv"
    path.write_text(content, encoding="utf-8")
    with pytest.raises(ReadingError, match=words):
        read_logger(path, keys())


PIECES = [
    "Time",
    "Date",
    "T",
    "RH",
    "(°C)",
    ";",
    ",",
    "\t",
    "\n",
    '"',
    "2026-01-21",
    "01/02/21",
    "10:00",
    "pm",
]
PIECES += [
    "12.11.2025 ",
    " 01:30",
    "0000-00-00 00:00",
    "9999-99-99T99:99+99:99",
    "20,5",
    "1e308",
    "-",
    "\x1b",
    "Z",
    " ",
]


@settings(max_examples=300, deadline=None)
@given(parts=st.lists(st.sampled_from(PIECES), max_size=60), clock=st.sampled_from(["UTC", "Europe/London"]))
def test_any_text_is_read_or_refused(tmp_path_factory, parts, clock):
    """No file raises anything but problems."""
    path = tmp_path_factory.getbasetemp() / "any.csv"
    path.write_text(HEAD + ROW + "".join(parts) if len(parts) % 2 else "".join(parts), encoding="utf-8")
    try:
        found = read_logger(path, keys(clock=clock))
    except ReadingError:
        return
    assert found.table.index.is_monotonic_increasing


@settings(max_examples=100, deadline=None)
@given(content=st.binary(max_size=400))
def test_any_bytes_are_read_or_refused(tmp_path_factory, content):
    """Nor do bytes that are no text."""
    path = tmp_path_factory.getbasetemp() / "any.csv"
    path.write_bytes(content)
    with pytest.raises(ReadingError):
        read_logger(path, keys())


def test_more_rows_than_allowed(monkeypatch, problems):
    """The bound counts readings."""
    monkeypatch.setattr("thermalkit.site.loggers.reader.MOST_ROWS", 2)
    assert "too many rows" in problems(HEAD + ROW * 3)["row 4"]


def test_missing_and_large_files(tmp_path, monkeypatch):
    """Both are problems of the file as the site names it."""
    with pytest.raises(ReadingError, match=r"loggers/a\.csv: missing"):
        read_logger(tmp_path / "b.csv", keys())
    (tmp_path / "b.csv").write_text(HEAD + ROW)
    monkeypatch.setattr("thermalkit.site.loggers.reader.LARGEST_LOGGER", 10)
    with pytest.raises(ReadingError, match="at most"):
        read_logger(tmp_path / "b.csv", keys())


LOGGER = '[[loggers]]\nid = "air"\nfile = "loggers/air.csv"\nplace = "room"\nroom = "cellar"\n'


def test_a_site_reads_its_loggers(folder):
    """Series, fingerprint and assumptions stand in the site."""
    (folder.path / "loggers" / "air.csv").write_text(HEAD + ROW, encoding="utf-8")
    folder.append(LOGGER)
    site = read_site(folder.path)
    assert site.loggers["air"].table["relative_humidity"].tolist() == [0.5]
    assert len(site.files["loggers/air.csv"]) == 64
    assert "loggers/air.csv: clock: UTC, since none was stated" in texts_in(site.notes, "en")


def test_problems_of_loggers_join_all_others(folder):
    """One run lists what is wrong with the clock, the series and the rest of the folder."""
    (folder.path / "loggers" / "air.csv").write_text(HEAD + ROW.replace("50", "500"), encoding="utf-8")
    folder.append(LOGGER + 'clock = "Europe/Londn"\n')
    folder.replace("emissivity = 0.93", "emissivity = 93")
    with pytest.raises(ReadingError) as caught:
        read_site(folder.path)
    places = [(p.file, words_in(p.place, "en")) for p in caught.value.problems]
    assert places == [
        ("site.toml", 'frames[0].emissivity ("corner")'),
        ("site.toml", 'loggers[0].clock ("air")'),
        ("loggers/air.csv", "row 2, RH (%)"),
    ]


def test_all_loggers_together_are_bounded(folder, monkeypatch):
    """Many files of moderate size are as heavy as one large one."""
    monkeypatch.setattr("thermalkit.site.folder.MOST_LOGGED_ROWS", 0)
    (folder.path / "loggers" / "air.csv").write_text(HEAD + ROW, encoding="utf-8")
    folder.append(LOGGER)
    with pytest.raises(ReadingError, match="too many rows in all loggers"):
        read_site(folder.path)


@pytest.mark.parametrize(
    ("content", "said"),
    [
        ("", "loggers/a.csv: leer Exportieren Sie sie noch einmal aus dem Datenlogger."),
        (
            "Zeit;T (°C)\n2026-01-01 10:00;warm\n",
            'Zeile 2, T (°C): "warm" Erlaubt: eine Zahl; leer, wo keine ist.',
        ),
        ("Zeit;T (°C)\n2026-01-01 10:00;300\n", "Erlaubt: -60 bis 60 degC. Leeren Sie das Feld"),
        ("Zeit;T (°C)\n2026-02-30 10:00;20\n", "Zeile 2, Zeit: ein Tag, den es nicht gibt, oder vor"),
        (
            "Zeit;Farbe\n2026-02-03 10:00;rot\n",
            "Geben Sie sie unter [[loggers]] in site.toml an: columns = { time",
        ),
        ("Zeit;T;T\n2026-02-03 10:00;20;21\n", "Geben Sie an, welche: columns = { temperature ="),
    ],
)
def test_a_german_surveyor_is_told_in_german(read, content, said):
    """What was read, what is allowed and what helps, of a logger's file."""
    with pytest.raises(ReadingError) as caught:
        read(content)
    assert said in " ".join(caught.value.told("de").split())
