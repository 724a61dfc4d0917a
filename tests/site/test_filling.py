"""What was typed becomes a value of the file, or gets a message beside it."""

from datetime import UTC, date, datetime, timedelta, timezone

import pytest

from thermalkit.site.asking import asked_tables
from thermalkit.site.filling import beside, text_of, understood, value_of

TABLES = {table.table: table for table in asked_tables()}
FIELDS = {f"{table.table}.{field.key}": field for table in TABLES.values() for field in table.fields}
CET = timezone(timedelta(hours=1))
DAY = date(2026, 1, 21)


@pytest.mark.parametrize(
    ("key", "typed", "value"),
    [
        ("weather.air_temperature_degc", "1,5", 1.5),
        ("weather.air_temperature_degc", "−3", -3),
        ("weather.air_temperature_degc", "mild", "mild"),
        ("instruments.columns", "320", 320),
        ("instruments.columns", "320.5", "320.5"),
        ("instruments.field_of_view_deg", "25, 19", [25, 19]),
        ("instruments.field_of_view_deg", "25,5; 19,2", [25.5, 19.2]),
        ("instruments.field_of_view_deg", "25,19", [25, 19]),
        ("surveyor.certificate_expires_on", "31.5.2027", date(2027, 5, 31)),
        ("surveyor.certificate_expires_on", "soon", "soon"),
        ("site.surveyed_at", "21.01.2026 08:30", datetime(2026, 1, 21, 8, 30, tzinfo=CET)),
        ("site.surveyed_at", "21.1.2026 8:30", datetime(2026, 1, 21, 8, 30, tzinfo=CET)),
        ("frames.taken_at", "8:42", datetime(2026, 1, 21, 8, 42, tzinfo=CET)),
        ("frames.taken_at", "08:42:10", datetime(2026, 1, 21, 8, 42, 10, tzinfo=CET)),
        ("frames.taken_at", "8:42 pm", "8:42 pm"),
        ("instruments.accuracy_k", "±2", 2),
        ("frames.distance_m", "2,1 m", 2.1),
        ("frames.distance_m", "2.1 mm", "2.1 mm"),
        ("weather.hours_steady", "24 h", 24),
        ("rooms.relative_humidity_percent", "63.2%", 63.2),
        ("site.surveyed_at", "2026-01-21T08:30Z", datetime(2026, 1, 21, 8, 30, tzinfo=UTC)),
        ("site.surveyed_at", "2026-01-21", "2026-01-21"),
        ("report.private", "yes", True),
        ("samples.nitrate", "low", "low"),
        ("samples.nitrate", "0,4", 0.4),
        (
            "elements.layers",
            "lime plaster 15; brick 330 mm",
            [{"material": "lime plaster", "thickness_mm": 15}, {"material": "brick", "thickness_mm": 330}],
        ),
        ("elements.layers", "brick", "brick"),
    ],
)
def test_typed_words_are_read_as_they_are_meant(key, typed, value):
    """Decimal commas, German days and times by the clock of the walk are understood."""
    assert value_of(FIELDS[key], typed, CET, DAY) == value


def test_a_time_alone_needs_the_day_of_the_walk():
    """Nobody's computer guesses on which day a frame was taken."""
    assert value_of(FIELDS["frames.taken_at"], "8:42", CET) == "8:42"


@pytest.mark.parametrize("value", [1.5, 0.1, 12, True, "a b", [25.0, 19.5], date(2027, 5, 31)])
def test_a_value_survives_being_shown(value):
    """A form that is opened and saved changes nothing."""
    form = {
        float: "weather.air_temperature_degc",
        int: "instruments.columns",
        bool: "report.private",
        str: "site.name",
    }
    key = {list: "instruments.field_of_view_deg", date: "surveyor.certificate_expires_on", **form}[
        type(value)
    ]
    assert value_of(FIELDS[key], text_of(value)) == value


def test_what_is_wrong_is_told_beside_the_field_and_the_rest_is_kept():
    """The model's own range and advice; a good field beside it is not lost."""
    values, wrong = understood(
        TABLES["rooms"], {"id": "cellar", "air_temperature_degc": "12,5", "relative_humidity_percent": "0.78"}
    )
    assert values == {"id": "cellar", "air_temperature_degc": 12.5}
    assert {key: beside(problem, "en") for key, problem in wrong.items()} == {
        "relative_humidity_percent": "Allowed: 1 to 100. 0.78 looks like a fraction; did you mean 78?"
    }
    assert beside(wrong["relative_humidity_percent"], "de") == (
        "Erlaubt: 1 bis 100. 0.78 sieht nach einem Bruchteil aus; war 78 gemeint?"
    )


def test_a_needed_field_says_so():
    """Required keys are named, with what they mean."""
    values, wrong = understood(TABLES["site"], {"country": "UK"})
    assert values == {}
    assert set(wrong) == {"name", "surveyed_at", "country"}
    assert beside(wrong["name"], "en") == "Needed. Shown to the client."
    assert beside(wrong["name"], "de") == "Nötig. So sieht es der Auftraggeber."
    assert 'Did you mean "GB"?' in beside(wrong["country"], "en")
