import numpy as np
import pytest
from scipy.constants import Boltzmann, c, h
from scipy.integrate import quad

from thermalkit.errors import OutOfDomain
from thermalkit.physics import radiation
from thermalkit.physics.radiation import (
    apparent_temperature_degc,
    band_exitance_w_m2,
    band_temperature_degc,
    blackbody_fraction,
    emissivity,
    frame_surface_temperature_degc,
    surface_temperature_degc,
    temperature_exponent,
)

BANDS = [(7.5, 14.0), (8.0, 14.0), (3.0, 5.0), (1.5, 25.0)]


def planck_integral_w_m2(temperature_degc, band_um):
    """Planck's law integrated numerically, without the series."""

    def spectral(wavelength_m):
        x = h * c / (wavelength_m * Boltzmann * (temperature_degc + 273.15))
        return 2.0 * np.pi * h * c**2 / wavelength_m**5 / np.expm1(x)

    low, high = (end * 1e-6 for end in band_um)
    return quad(spectral, low, high, epsrel=1e-10, epsabs=0.0, limit=200)[0]


@pytest.mark.published(
    "blackbody_fraction",
    "apparent_temperature_degc",
    "surface_temperature_degc",
    "emissivity",
)
def test_reproduces_printed_value(row):
    """Every printed value is met within the difference its source allows."""
    result = getattr(radiation, row.function)(**row.inputs)
    assert result == row.expected


@pytest.mark.published("band_exitance_w_m2", "temperature_exponent")
def test_band_reproduces_printed_value(row):
    """Exitance and exponent of two common bands are met from -20 to 100 °C."""
    band = (row.inputs["band_low_um"], row.inputs["band_high_um"])
    result = getattr(radiation, row.function)(row.inputs["temperature_degc"], band)
    assert result == row.expected


@pytest.mark.published("emissivity_setting_error")
def test_wrong_emissivity_setting_shifts_the_reading_as_printed(row):
    """A camera set a little off reads off by the printed amount, with the sign of the surroundings."""
    reflected = row.inputs["reflected_temperature_degc"]
    seen = apparent_temperature_degc(
        row.inputs["surface_temperature_degc"], row.inputs["emissivity"], reflected
    )
    read = surface_temperature_degc(seen, row.inputs["emissivity"] + row.inputs["setting_error"], reflected)
    assert read - row.inputs["surface_temperature_degc"] == row.expected


@pytest.mark.parametrize("band", BANDS, ids=str)
@pytest.mark.parametrize("theta", [-120.0, -20.0, 20.0, 300.0, 1000.0])
def test_exitance_equals_numerical_integration(theta, band):
    """The series agrees with SciPy's integration of Planck's law and CODATA constants."""
    assert band_exitance_w_m2(theta, band) == pytest.approx(planck_integral_w_m2(theta, band), rel=1e-8)


def test_whole_spectrum_follows_stefan_and_boltzmann():
    """At λT of 200 000 µm K all but 0.002 % lies below, the rest after the Rayleigh-Jeans tail."""
    tail = 15.0 / np.pi**4 * (14_387.768775 / 200_000.0) ** 3 / 3.0
    assert 1.0 - blackbody_fraction(200_000.0) == pytest.approx(tail, rel=0.03)


@pytest.mark.parametrize("band", BANDS, ids=str)
def test_band_temperature_undoes_exitance(band):
    """From temperature to radiation and back, ends of the range included."""
    theta = np.linspace(-120.0, 1000.0, 5001)
    assert band_temperature_degc(band_exitance_w_m2(theta, band), band) == pytest.approx(theta, abs=1e-8)


@pytest.mark.parametrize("band", BANDS, ids=str)
def test_surface_temperature_undoes_apparent_temperature(band):
    """Forward and inverse agree to a microkelvin for ten thousand draws of every setting."""
    rng = np.random.default_rng(5)
    theta, reflected, path = rng.uniform(-40.0, 200.0, (3, 10_000))
    settings = {
        "emissivity": rng.uniform(0.3, 1.0, 10_000),
        "reflected_temperature_degc": reflected,
        "transmittance": rng.uniform(0.8, 1.0, 10_000),
        "path_temperature_degc": path,
        "band_um": band,
    }
    seen = apparent_temperature_degc(theta, **settings)
    assert surface_temperature_degc(seen, **settings) == pytest.approx(theta, abs=1e-6)


def test_camera_correction_is_undone_by_the_forward_function():
    """Values shown with emissivity 0.95 go back to the printed apparent temperature."""
    assert apparent_temperature_degc(46.797, 0.95, 20.0) == pytest.approx(45.598, abs=0.002)


def test_reflection_stronger_than_what_was_seen_is_impossible():
    """Half of 25 °C alone shows more than -20 °C; nothing warmer than 1000 °C is offered either."""
    assert np.isnan(surface_temperature_degc(-20.0, 0.5, 25.0))
    assert np.isnan(surface_temperature_degc(900.0, 0.05, 20.0))
    assert np.isnan(band_temperature_degc([0.0, -1.0, np.nan, 1e9])).all()


def test_emissivity_without_contrast_is_unknown():
    """A surface as warm as its surroundings tells nothing, also among others that do."""
    found = emissivity([20.0, 60.0], [20.0, 55.0], 20.0)
    assert np.isnan(found[0])
    assert found[1] == pytest.approx(0.856, abs=0.0005)


def test_arguments_broadcast():
    """A scalar pixel with draws of the settings gives draws; a column with them gives a table."""
    draws = np.linspace(0.90, 0.96, 7)
    assert surface_temperature_degc(12.0, draws, 20.0).shape == (7,)
    assert surface_temperature_degc([[12.0], [np.nan]], draws, np.linspace(19, 21, 7)).shape == (2, 7)
    assert np.isnan(surface_temperature_degc([12.0, np.nan], 0.95, 20.0)).tolist() == [False, True]


@pytest.mark.parametrize(
    ("eps", "reflected", "path"),
    [(1.0, 20.0, None), (0.93, 21.0, None), (0.5, 20.0, None), (0.5, -40.0, None), (0.6, 150.0, 15.0)],
)
def test_frame_equals_exact_inverse_within_a_millikelvin(eps, reflected, path):
    """A frame from -20 to 150 °C, masked and impossible pixels included."""
    frame = np.linspace(-20.0, 150.0, 480 * 640).reshape(480, 640)
    frame[100, 7:9] = np.nan
    settings = {"transmittance": 1.0 if path is None else 0.95, "path_temperature_degc": path}
    exact = surface_temperature_degc(frame, eps, reflected, **settings)
    found = frame_surface_temperature_degc(frame, eps, reflected, **settings)
    assert np.array_equal(np.isnan(found), np.isnan(exact))
    assert np.nanmax(np.abs(found - exact)) < 1e-3


def test_frame_of_one_value_or_none_is_corrected_too():
    """A uniform frame, a fully masked one and an impossible one go through without warning."""
    uniform = frame_surface_temperature_degc(np.full((3, 4), 48.672, dtype=np.float32), 0.95, 20.0)
    assert uniform == pytest.approx(np.full((3, 4), 50.0), abs=0.003)
    assert np.isnan(frame_surface_temperature_degc(np.full((3, 4), np.nan), 0.95, 20.0)).all()
    assert np.isnan(frame_surface_temperature_degc(np.full((3, 4), -20.0), 0.5, 25.0)).all()


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: surface_temperature_degc(20.0, 95.0, 20.0), r"emissivity = 95 is outside 0\.01 to 1"),
        (lambda: frame_surface_temperature_degc([[293.15, 2931.5]], 0.95, 20.0), "= 2931.5 is outside"),
        (lambda: band_exitance_w_m2(20.0, (14.0, 7.5)), "band_um high end = 7.5 is outside 14.1 to 25"),
        (lambda: temperature_exponent(20.0, (0.5, 5.0)), "band_um low end = 0.5 is outside"),
        (lambda: blackbody_fraction(10.0), "wavelength_temperature_um_kelvin = 10 is outside"),
    ],
)
def test_number_outside_its_range_is_named(call, message):
    """Percent, raw counts and a reversed band are refused by name."""
    with pytest.raises(OutOfDomain, match=message):
        call()


def test_absorbing_path_needs_a_temperature():
    """A path that lets 95 % through radiates, so its temperature is asked for."""
    with pytest.raises(ValueError, match="path_temperature_degc is missing"):
        apparent_temperature_degc(20.0, 0.95, 20.0, transmittance=0.95)
