import numpy as np
import pytest

from thermalkit.errors import OutOfDomain
from thermalkit.physics import mould
from thermalkit.physics.envelope import surface_temperature_from_factor_degc
from thermalkit.physics.moist_air import surface_humidity, vapour_pressure_pa
from thermalkit.physics.mould import (
    critical_humidity,
    greatest_index,
    growth_per_day,
    mould_class,
    mould_classes,
    mould_index,
    mould_map,
    weeks_to_microscopic_growth,
)
from thermalkit.physics.tables import UnknownName

PINE = mould_class("very sensitive")


def invented_climate(hours):
    """A heated room through an invented year: indoors, outdoors and vapour pressure."""
    h = np.arange(hours)
    outdoor = (
        8.0 - 8.0 * np.cos(h / 8760 * 2 * np.pi) + 3.0 * np.sin(h / 24 * 2 * np.pi) + 2.0 * np.sin(h / 90)
    )
    indoor = 20.0 + np.sin(h / 24 * 2 * np.pi)
    pressure = vapour_pressure_pa(outdoor, 0.85) + np.clip(20 - outdoor, 0, 20) * 27 * (
        1 + 0.3 * np.sin(h / 5)
    )
    return indoor, outdoor, pressure


@pytest.mark.published("critical_humidity", "weeks_to_microscopic_growth", "weeks_to_visible_growth")
def test_reproduces_worked_value(row):
    """The formulas for pine and spruce are met in every climate worked separately."""
    assert getattr(mould, row.function)(**row.inputs) == row.expected


@pytest.mark.published("greatest_index")
def test_greatest_index_of_a_class_reproduces_worked_value(row):
    """Where a constant climate leads in the end, for all four classes."""
    climate = (row.inputs["temperature_degc"], row.inputs["relative_humidity"])
    assert greatest_index(*climate, mould_class(row.inputs["klass"])) == row.expected


@pytest.mark.published("growth_above_one_1999")
def test_visible_growth_of_1999_is_faster_by_the_worked_factor(row):
    """The form of 1999 takes the pace above index one from its two times to growth."""
    climate = (row.inputs["temperature_degc"], row.inputs["relative_humidity"])
    found = growth_per_day(1.0, *climate, mould_class("pine sapwood 1999"))
    slowing = 1.0 - np.exp(2.3 * (1.0 - greatest_index(*climate, PINE)))
    assert found * 7.0 * weeks_to_microscopic_growth(*climate) / slowing == row.expected


@pytest.mark.published("mould_index_after_weeks")
def test_constant_climate_follows_its_closed_form(row):
    """Hourly steps stay on the closed form for four, twelve and fifty-two weeks."""
    hours = np.full(row.inputs["weeks"] * 168, float(row.inputs["temperature_degc"]))
    klass = mould_class(row.inputs["klass"])
    assert mould_index(hours, row.inputs["relative_humidity"], klass)[-1] == row.expected


@pytest.mark.published("weeks_to_index")
def test_constant_climate_reaches_an_index_in_the_worked_time(row):
    """The form of 1999 reaches 1 and 3 just when its own times to growth say so."""
    hours = np.full(80 * 168, float(row.inputs["temperature_degc"]))
    index = mould_index(hours, row.inputs["relative_humidity"], mould_class(row.inputs["klass"]))
    assert (np.argmax(index >= row.inputs["index"]) + 1) / 168 == row.expected


@pytest.mark.published("mould_index_after_drying")
def test_drying_takes_index_off_in_three_stages(row):
    """Six quick hours, eighteen without change, then half the pace, all times C_mat."""
    index = mould_index(np.full(720, 20.0), 0.5, PINE, decline=row.inputs["decline"], start=3.0)
    assert index[row.inputs["hours"] - 1] == row.expected


def test_a_wet_hour_starts_drying_anew():
    """Twice six quick hours with one wet hour between lose twice as much, by hand."""
    humidity = np.array([0.5] * 6 + [0.95] + [0.5] * 6)
    index = mould_index(np.full(13, 20.0), humidity, mould_class("resistant"), start=3.0)
    assert index[-1] == pytest.approx(3.0 - 12 * 0.032 / 24)


def test_index_never_falls_below_nothing():
    """Dry clean wood stays clean."""
    assert mould_index(np.full(500, 20.0), 0.4, PINE, start=0.01).min() == 0.0


@pytest.mark.parametrize("theta", [-5.0, 0.0, 50.5])
def test_frost_and_heat_count_as_dry(theta):
    """Outside 0 to 50 °C nothing grows, however humid."""
    assert growth_per_day(1.0, theta, 1.0, PINE) == 0.0
    assert greatest_index(theta, 1.0, PINE) == 0.0
    assert mould_index(np.full(6, theta), 1.0, PINE, start=1.0)[-1] == pytest.approx(1.0 - 0.008)


def test_condensing_surface_grows_as_at_saturation():
    """More than 100 % means water on the surface; the formulas end at 100 %."""
    assert growth_per_day(0.0, 15.0, 1.3, PINE) == growth_per_day(0.0, 15.0, 1.0, PINE)


def test_less_sensitive_class_starts_at_its_own_humidity():
    """At 20 °C concrete asks for 85 %, wood for 80 %; at 5 °C both ask for the same."""
    assert critical_humidity(20.0, lowest_humidity=0.85) == pytest.approx(0.85)
    assert critical_humidity(5.0, lowest_humidity=0.85) == critical_humidity(5.0)
    assert growth_per_day(0.0, 20.0, 0.83, mould_class("medium resistant")) == 0.0
    assert growth_per_day(0.0, 20.0, 0.83, PINE) > 0.0


def test_many_places_step_as_each_alone():
    """A table of hours and places equals its columns one by one, and NaN stays in its own."""
    rng = np.random.default_rng(4)
    theta, phi = rng.uniform(-5, 30, (400, 3)), rng.uniform(0.6, 1.1, (400, 3))
    theta[200, 1] = np.nan
    together = mould_index(theta, phi, PINE, start=[0.0, 1.0, 2.0])
    for place, start in enumerate([0.0, 1.0, 2.0]):
        alone = mould_index(theta[:, place], phi[:, place], PINE, start=start)
        np.testing.assert_array_equal(together[:, place], alone)
    assert np.isnan(together[:, 1]).tolist() == [False] * 200 + [True] * 200
    assert np.isfinite(together[:, [0, 2]]).all()


@pytest.mark.slow
def test_map_equals_pixels_stepped_one_by_one():
    """Every pixel lies within 0.01 of its own stepping, the masked one stays masked."""
    climate = invented_climate(8760)
    factor = np.random.default_rng(7).uniform(0.35, 0.95, (20, 15))
    factor[3, 4] = np.nan
    indoor, outdoor, pressure = (each[:, None] for each in climate)
    surface = surface_temperature_from_factor_degc(factor.ravel(), indoor, outdoor)
    direct = mould_index(surface, surface_humidity(pressure, surface), PINE).max(axis=0).reshape(factor.shape)
    found = mould_map(factor, *climate, PINE)
    assert np.nanmax(direct) > 3.0
    np.testing.assert_allclose(found, direct, atol=0.01, rtol=0.0)
    assert np.isnan(found[3, 4])


def test_map_of_one_factor_or_none():
    """A uniform frame has one index, an empty one none."""
    climate = invented_climate(1000)
    assert np.unique(mould_map(np.full((4, 5), 0.5), *climate, PINE)).size == 1
    assert np.isnan(mould_map(np.full((4, 5), np.nan), *climate, PINE)).all()


def test_gap_in_the_climate_leaves_the_map_unknown():
    """An index after an unknown hour is unknown for every pixel."""
    indoor, outdoor, pressure = invented_climate(300)
    outdoor[100] = np.nan
    assert np.isnan(mould_map(np.array([0.4, 0.8]), indoor, outdoor, pressure, PINE)).all()


@pytest.mark.parametrize("klass", mould_classes().values(), ids=lambda k: k.name)
def test_class_row_lies_in_its_range(klass):
    """Row by row: pace, greatest index and lowest humidity as a mould model can have them."""
    assert 0.0 < klass.growth_below_one <= 1.0
    assert klass.growth_above_one is None or 0.0 < klass.growth_above_one <= 2.0
    assert 2.0 <= klass.a + klass.b - klass.c <= 6.0
    assert klass.lowest_humidity in {0.80, 0.85}
    assert klass.source
    assert klass.confidence in {"published", "from memory"}
    assert klass.examples


def test_unknown_class_names_near_ones():
    """A misspelt class is not guessed."""
    with pytest.raises(UnknownName, match='"sensitiv"; near: "sensitive"'):
        mould_class("sensitiv")


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: critical_humidity(-3.0), "temperature_degc = -3 is outside 0 to 50"),
        (lambda: weeks_to_microscopic_growth(20.0, 85.0), r"relative_humidity = 85 is outside 0\.5 to 1"),
        (lambda: mould_index([20.0], [85.0], PINE), "relative_humidity = 85 is outside 0 to 10"),
        (lambda: mould_index([20.0], [0.9], PINE, decline=-1), "decline = -1 is outside"),
        (lambda: growth_per_day(7.0, 20.0, 0.9, PINE), "index = 7 is outside 0 to 6"),
        (lambda: mould_map([70.0], [20.0], [0.0], [1000.0], PINE), "factor = 70 is outside"),
    ],
)
def test_number_outside_its_range_is_named(call, message):
    """Percent, frost in the formulas and impossible indices are refused by name."""
    with pytest.raises(OutOfDomain, match=message):
        call()
