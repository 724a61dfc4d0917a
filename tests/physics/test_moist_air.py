import numpy as np
import psychrolib
import pytest
from CoolProp.CoolProp import HAPropsSI, PropsSI

from thermalkit.errors import OutOfDomain
from thermalkit.physics import moist_air
from thermalkit.physics.moist_air import (
    critical_surface_temperature_degc,
    dew_point_degc,
    humidity_ratio,
    humidity_ratio_at_wet_bulb,
    saturation_pressure_pa,
    saturation_temperature_degc,
    surface_humidity,
    vapour_concentration_kg_m3,
    vapour_pressure_pa,
    wet_bulb_degc,
    wet_surface_temperature_degc,
)

STANDARD_PA = 101_325.0


@pytest.fixture(autouse=True, scope="module")
def si_units():
    psychrolib.SetUnitSystem(psychrolib.SI)


@pytest.mark.published(
    "saturation_pressure_pa",
    "dew_point_degc",
    "critical_surface_temperature_degc",
    "wet_bulb_degc",
    "humidity_ratio_at_wet_bulb",
    "vapour_concentration_kg_m3",
    "vapour_pressure_over_water_pa",
    "wet_surface_temperature_degc",
)
def test_reproduces_printed_value(row):
    """Every printed value is met within the difference its source allows."""
    result = getattr(moist_air, row.function)(**row.inputs)
    assert result == row.expected


@pytest.mark.published("surface_humidity")
def test_surface_humidity_reproduces_printed_value(row):
    """Room air on a colder surface reaches the printed humidity, above 1 when it condenses."""
    pressure = vapour_pressure_pa(row.inputs["air_temperature_degc"], row.inputs["relative_humidity"])
    assert surface_humidity(pressure, row.inputs["surface_temperature_degc"]) == row.expected


@pytest.mark.parametrize("theta", np.arange(-20.0, 61.0, 5.0))
def test_saturation_pressure_agrees_with_psychrolib(theta):
    """Hyland and Wexler differ by less than 0.3 % over water and 0.6 % over ice."""
    allowed = 0.003 if theta >= 0 else 0.006
    assert saturation_pressure_pa(theta) == pytest.approx(psychrolib.GetSatVapPres(theta), rel=allowed)


@pytest.mark.parametrize("theta", np.arange(5.0, 61.0, 5.0))
def test_saturation_pressure_agrees_with_steam_tables(theta):
    """The saturation line of pure water (IAPWS, CoolProp) differs by less than 0.3 %."""
    steam = PropsSI("P", "T", theta + 273.15, "Q", 0, "Water")
    assert saturation_pressure_pa(theta) == pytest.approx(steam, rel=0.003)


@pytest.mark.parametrize(("theta", "allowed"), [(-40.0, 0.02), (-60.0, 0.06), (80.0, 0.006), (100.0, 0.008)])
def test_bias_far_from_room_temperature_is_as_stated(theta, allowed):
    """At the ends of the range Hyland and Wexler differ by a few percent at most."""
    assert saturation_pressure_pa(theta) == pytest.approx(psychrolib.GetSatVapPres(theta), rel=allowed)


@pytest.mark.parametrize("theta", [-5.0, 2.0, 15.0, 20.0, 25.0, 35.0])
@pytest.mark.parametrize("phi", [0.3, 0.5, 0.8])
def test_dew_point_agrees_with_psychrolib(theta, phi):
    """Two saturation formulas give the same dew point within 0.03 K, and frost point within 0.05 K."""
    allowed = 0.03 if theta > 0 else 0.05
    assert dew_point_degc(theta, phi) == pytest.approx(
        psychrolib.GetTDewPointFromRelHum(theta, phi), abs=allowed
    )


@pytest.mark.parametrize("theta", [2.0, 10.0, 20.0, 30.0, 45.0])
@pytest.mark.parametrize("phi", [0.2, 0.5, 0.9, 1.0])
def test_wet_bulb_agrees_with_two_libraries(theta, phi):
    """The wet bulb differs by less than 0.05 K from psychrolib, and from CoolProp above freezing."""
    wet = wet_bulb_degc(theta, phi)
    assert wet == pytest.approx(psychrolib.GetTWetBulbFromRelHum(theta, phi, STANDARD_PA), abs=0.05)
    if wet > 0:
        kelvin = HAPropsSI("B", "T", theta + 273.15, "R", phi, "P", STANDARD_PA)
        assert wet == pytest.approx(kelvin - 273.15, abs=0.05)


@pytest.mark.parametrize(("theta", "phi"), [(-20.0, 0.2), (-10.0, 0.5), (-5.0, 0.8), (3.0, 0.2)])
def test_iced_bulb_agrees_with_psychrolib(theta, phi):
    """Below freezing the humidity ratio at the returned bulb is the one psychrolib gives for it."""
    wet = wet_bulb_degc(theta, phi)
    assert wet < 0.0
    printed = psychrolib.GetHumRatioFromTWetBulb(theta, wet, STANDARD_PA)
    assert humidity_ratio_at_wet_bulb(theta, wet) == pytest.approx(printed, abs=1.5e-5)


def test_wet_bulb_depends_on_pressure_as_psychrolib_says():
    """At 1500 m the bulb is colder, by as much as psychrolib gives."""
    printed = psychrolib.GetTWetBulbFromRelHum(25.0, 0.4, 84_500.0)
    assert wet_bulb_degc(25.0, 0.4, pressure_pa=84_500.0) == pytest.approx(printed, abs=0.03)


def test_humidity_ratio_agrees_with_psychrolib():
    """The mixing formula is the same, so nothing but rounding may differ."""
    assert humidity_ratio(1168.5) == pytest.approx(
        psychrolib.GetHumRatioFromVapPres(1168.5, STANDARD_PA), rel=1e-5
    )


def test_saturation_temperature_undoes_saturation_pressure():
    """Forward and inverse share one formula, over ice and over water."""
    theta = np.linspace(-60.0, 100.0, 641)
    assert saturation_temperature_degc(saturation_pressure_pa(theta)) == pytest.approx(theta, abs=1e-9)


def test_wet_bulb_undoes_the_psychrometer():
    """From wet bulb to humidity ratio and back."""
    theta, phi = np.meshgrid(np.linspace(-20, 50, 15), [0.1, 0.5, 0.9])
    ratio = humidity_ratio_at_wet_bulb(theta, wet_bulb_degc(theta, phi))
    carried = humidity_ratio(vapour_pressure_pa(theta, phi))
    water = np.abs(wet_bulb_degc(theta, phi)) > 1e-3
    assert ratio[water] == pytest.approx(carried[water], abs=1e-9)


def test_saturated_air_stays_at_its_temperature():
    """At 100 % the wet bulb, the dew point and an evaporating surface are as warm as the air."""
    theta = np.linspace(1.0, 40.0, 14)
    assert wet_bulb_degc(theta, 1.0) == pytest.approx(theta, abs=1e-5)
    assert dew_point_degc(theta, 1.0) == pytest.approx(theta, abs=1e-9)
    wet = wet_surface_temperature_degc(theta, 1.0, convective_w_m2k=2.5, radiative_w_m2k=5.0)
    assert wet == pytest.approx(theta, abs=1e-5)


def test_wet_surface_sees_cold_radiant_surroundings():
    """Surroundings 2 K colder pull a wet surface down, by less than their share of the films."""
    same = wet_surface_temperature_degc(20.0, 0.5, convective_w_m2k=2.5, radiative_w_m2k=5.0)
    colder = wet_surface_temperature_degc(
        20.0, 0.5, convective_w_m2k=2.5, radiative_w_m2k=5.0, radiant_temperature_degc=18.0
    )
    assert 0.0 < same - colder < 2.0 * 5.0 / 7.5


def test_arguments_broadcast_and_masked_pixels_stay_masked():
    """A column of temperatures and a row of humidities make a table; NaN stays NaN."""
    theta = np.array([[20.0], [np.nan], [25.0]])
    for function in (vapour_pressure_pa, dew_point_degc, critical_surface_temperature_degc, wet_bulb_degc):
        table = function(theta, [0.4, 0.5])
        assert table.shape == (3, 2)
        assert np.isnan(table[1]).all()
        assert np.isfinite(table[[0, 2]]).all()


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: dew_point_degc(20.0, 50.0), r"relative_humidity = 50 is outside 0\.01 to 1"),
        (lambda: saturation_pressure_pa(120.0), "temperature_degc = 120 is outside -60 to 100"),
        (lambda: saturation_temperature_degc(0.0), r"vapour_pressure_pa = 0 is outside 0\.01 to 105000"),
        (lambda: vapour_concentration_kg_m3(1000.0, 293.15), "air_temperature_degc = 293.15"),
        (lambda: humidity_ratio(1000.0, pressure_pa=1013.25), "pressure_pa = 1013.25"),
        (lambda: critical_surface_temperature_degc(20, 0.5, surface_humidity=80), "surface_humidity = 80"),
    ],
)
def test_number_in_the_wrong_unit_is_named(call, message):
    """Percent, kelvin and hectopascal are refused by name."""
    with pytest.raises(OutOfDomain, match=message):
        call()
