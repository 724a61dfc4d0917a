import numpy as np
import pytest
from scipy.stats import linregress

from thermalkit.errors import OutOfDomain
from thermalkit.physics import ventilation
from thermalkit.physics.moist_air import saturation_pressure_pa, vapour_pressure_pa
from thermalkit.physics.tables import UnknownName
from thermalkit.physics.ventilation import (
    air_change_from_decay,
    humidity_class_of_excess,
    moisture_excess_from_balance_pa,
    moisture_source,
    moisture_sources,
    released_moisture_kg_per_day,
    required_air_change_per_hour,
)


@pytest.mark.published("moisture_excess_from_balance_pa", "humidity_class_of_excess")
def test_reproduces_worked_value(row):
    """The balance and the classes are met where they were worked separately."""
    assert getattr(ventilation, row.function)(**row.inputs) == row.expected


@pytest.mark.published("room_humidity_from_balance")
def test_room_reaches_the_worked_humidity(row):
    """Outdoor pressure plus excess, over saturation at room temperature."""
    given = dict(row.inputs)
    outdoor = vapour_pressure_pa(given.pop("outdoor_degc"), given.pop("outdoor_relative_humidity"))
    indoor = outdoor + moisture_excess_from_balance_pa(**given)
    assert indoor / saturation_pressure_pa(given["indoor_degc"]) == row.expected


@pytest.mark.published("required_air_change_per_hour")
def test_surface_asks_for_the_worked_air_change(row):
    """The air change that holds 80 % at the coldest place."""
    given = dict(row.inputs)
    outdoor = vapour_pressure_pa(given["outdoor_degc"], given.pop("outdoor_relative_humidity"))
    assert required_air_change_per_hour(**given, outdoor_vapour_pressure_pa=outdoor) == row.expected


def test_released_moisture_undoes_the_balance():
    """From source to excess and back, dry and drying rooms alike."""
    kg = np.array([0.0, 3.0, 10.0])
    excess = moisture_excess_from_balance_pa(kg, 0.4, 120.0, 18.0)
    assert released_moisture_kg_per_day(excess, 0.4, 120.0, 18.0) == pytest.approx(kg, abs=1e-12)
    assert released_moisture_kg_per_day(-50.0, 0.4, 120.0, 18.0) < 0.0


def test_outdoor_air_too_moist_for_the_surface_never_suffices():
    """A surface near the outdoor dew point is not dried by any amount of that air."""
    needed = required_air_change_per_hour(5.0, 200.0, [0.5, 0.9], 20.0, 15.0, 1600.0)
    assert needed[0] == np.inf
    assert 0.0 < needed[1] < np.inf


def test_class_is_not_told_in_warm_weather():
    """The bands meet at 20 °C; from 15 °C on, and without a reading, there is no answer."""
    told = humidity_class_of_excess([200.0, 200.0, np.nan, 200.0], [14.9, 15.0, 0.0, np.nan])
    assert np.isnan(told).tolist() == [False, True, True, True]


def test_decay_equals_a_library_regression():
    """Slope and its standard error are those of SciPy's regression of the logarithms."""
    hours = np.linspace(0.0, 3.0, 37)
    noise = np.random.default_rng(6).normal(0.0, 12.0, hours.size)
    gas = 420.0 + 1400.0 * np.exp(-0.55 * hours) + noise
    line = linregress(hours, np.log(gas - 420.0))
    found = air_change_from_decay(hours, gas, 420.0)
    assert found.per_hour == pytest.approx(-line.slope, rel=1e-12)
    assert found.standard_uncertainty == pytest.approx(line.stderr, rel=1e-12)
    assert abs(found.per_hour - 0.55) < 3 * found.standard_uncertainty


def test_exact_decay_has_no_uncertainty():
    """A tracer that halves every two hours changes the air ln 2 / 2 times an hour, by hand."""
    found = air_change_from_decay([0.0, 2.0, 4.0, 6.0], [1200.0, 800.0, 600.0, 500.0], 400.0)
    assert found.per_hour == pytest.approx(np.log(2.0) / 2.0)
    assert found.standard_uncertainty == pytest.approx(0.0, abs=1e-9)


def test_decay_leaves_out_what_tells_nothing():
    """Readings at or below outdoors and gaps are left out; two left tell nothing."""
    hours = [0.0, 1.0, 2.0, 3.0, 4.0, 6.0]
    gas = [1200.0, np.nan, 800.0, 400.0, 600.0, 390.0]
    assert air_change_from_decay(hours, gas, 400.0).per_hour == pytest.approx(np.log(2.0) / 2.0)
    assert np.isnan(air_change_from_decay(hours[:4], gas[:4], 400.0).per_hour)
    assert np.isnan(air_change_from_decay([1.0, 1.0, 1.0], gas[:3], 400.0).standard_uncertainty)


@pytest.mark.parametrize("row", moisture_sources().values(), ids=lambda row: row.name)
def test_source_row_lies_in_its_range(row):
    """Row by row: a range in order, nothing beyond a running shower, and where it is from."""
    assert 0.0 < row.low_g_per_hour < row.high_g_per_hour <= 3000.0
    assert row.per in {"person", "household", "shower", "plant"}
    assert row.confidence in {"published", "from memory"}
    assert ("from memory" in row.source) == (row.confidence == "from memory")


def test_households_give_off_more_with_each_person():
    """BS 5250 (from memory): 3.5 to 9 kg a day alone, 7 to 16 kg for six."""
    homes = [moisture_source(f"household of {n}") for n in range(1, 7)]
    high = [home.high_g_per_hour for home in homes]
    assert high == sorted(high)
    assert homes[0].low_g_per_hour * 0.024 == pytest.approx(3.5, abs=0.02)
    assert homes[5].high_g_per_hour * 0.024 == pytest.approx(16.0, abs=0.02)


def test_unknown_source_names_near_ones():
    """A misspelt source is not guessed."""
    with pytest.raises(UnknownName, match='near: "person asleep"'):
        moisture_source("person sleeping")


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: moisture_excess_from_balance_pa(10.0, 0.0, 250.0, 20.0), "air_changes_per_hour = 0"),
        (lambda: moisture_excess_from_balance_pa(10.0, 0.5, 0.0, 20.0), "volume_m3 = 0"),
        (lambda: moisture_excess_from_balance_pa(-1.0, 0.5, 250.0, 20.0), "released_kg_per_day = -1"),
        (lambda: air_change_from_decay([0, 1, 2], [9e5, 8e5, 7e5], 400.0), "concentration_ppm = 900000"),
        (lambda: humidity_class_of_excess(9000.0, 0.0), "measured_excess_pa = 9000"),
    ],
)
def test_number_outside_its_range_is_named(call, message):
    """Nothing to breathe, nothing to fill and impossible gases are refused by name."""
    with pytest.raises(OutOfDomain, match=message):
        call()
