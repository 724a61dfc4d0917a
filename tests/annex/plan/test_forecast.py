"""Usable hours, on forecasts made by hand; limits are those of survey rules (EN 13187, from memory)."""

from datetime import date

import pytest

from thermalkit.annex.plan.forecast import read_forecast, usable_days
from thermalkit.diagnosis.damp.needs import ENVELOPE

NEED = ENVELOPE.weather


@pytest.fixture
def days(tmp_path):
    """Three days from rows of (hour from the start) -> extra cells, indoors 20 °C."""

    def made(temperature=lambda h: 2.0, head="", extra=lambda h: "", step=1):
        rows = "".join(
            f"2026-01-{20 + h // 24:02} {h % 24:02}:00,{temperature(h)}{extra(h)}\n"
            for h in range(0, 72, step)
        )
        path = tmp_path / "forecast.csv"
        path.write_text(f"time,temperature{head}\n{rows}", "utf-8")
        return usable_days(read_forecast(path), NEED, 20.0)

    return made


def test_the_first_day_is_not_judged(days):
    """Its day before is unknown but for the last hour."""
    first, second, third = days()
    assert first.day == date(2026, 1, 20)
    assert first.against == {"unknown": 23}
    assert (second.spans, third.spans) == (((0, 24),), ((0, 24),))


def test_ten_kelvin_are_needed_now_and_on_the_mean_of_a_day(days):
    """At 9.9 °C nothing is against, at 10.1 °C everything; a cold hour after a warm day is none."""
    assert days(lambda h: 9.9)[2].spans == ((0, 24),)
    assert days(lambda h: 10.1)[2].against == {"difference": 24}
    assert days(lambda h: 12.0 if h < 48 else 5.0)[2].spans[0][0] > 0


def test_a_drop_of_more_than_ten_kelvin_is_too_unsteady(days):
    """For the 24 hours in which the warmer hour still counts."""
    dropped = days(lambda h: 8.0 if h < 36 else -3.0)
    assert dropped[1].spans == ((0, 12),)
    assert dropped[2].against == {"steady": 11}


def test_wind_counts_only_in_its_hour(days):
    """5 m/s is still allowed."""
    windy = days(head=",wind (m/s)", extra=lambda h: f",{6 if h == 30 else 5}")
    assert windy[1].spans == ((0, 6), (7, 24))


def test_rain_counts_for_a_day(days):
    """Half a millimetre at noon of the second day."""
    wet = days(head=",rain (mm)", extra=lambda h: f",{0.5 if h == 36 else 0}")
    assert wet[1].spans == ((0, 12),)
    assert wet[2].spans == ((12, 24),)


@pytest.mark.parametrize(
    ("head", "sunny", "dull"), [(",radiation (W/m2)", 300, 20), (",cloud cover (%)", 10, 100)]
)
def test_sun_counts_for_half_a_day(days, head, sunny, dull):
    """Sun from noon to three: hours are usable until then, and from twelve hours after its last hour."""
    seen = days(head=head, extra=lambda h: f",{sunny if 36 <= h < 39 else dull}")
    assert seen[1].spans == ((0, 12),)
    assert seen[2].spans == ((2, 24),)


def test_a_clear_night_is_no_sun(days):
    """Cloud cover matters by day only."""
    night = days(head=",cloud cover (%)", extra=lambda h: f",{100 if 7 <= h % 24 < 20 else 0}")
    assert night[2].spans == ((0, 24),)


def test_three_hourly_forecasts_are_filled_in(days):
    """As many services write them."""
    assert days(step=3)[1].spans == ((0, 24),)
