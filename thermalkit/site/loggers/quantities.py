"""From the numbers of a logger's columns to the units used inside, range-checked."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass

import numpy as np

from thermalkit.errors import Problem
from thermalkit.language import Sentence, say
from thermalkit.measured import FloatArray
from thermalkit.physics.moist_air import COLDEST_DEGC, WARMEST_DEGC, saturation_pressure_pa
from thermalkit.site.loggers.headings import Column, unit_of
from thermalkit.site.loggers.moments import Ints
from thermalkit.site.model import LoggerKeys

MOST_PROBLEMS = 20  # of one column
MOST_HUMID_PERCENT = 105.0  # a sensor may read a little above saturation
_AIR_DEGC = (-60.0, 60.0)
_ABOVE_MEANS_DEGF = 45.0  # no air or surface of a building is that hot for half of a series
_HOT_PLACES = ("supply", "return", "outlet")
_FAULT_CODES = (-9999.0, -999.9, -999.0, 999.9, 9999.0)


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """A quantity: its column inside, the units it is written in (the first is ours), its range in ours."""

    name: str
    units: dict[str, Callable[[FloatArray], FloatArray]]
    low: float
    high: float


def _times(factor: float) -> Callable[[FloatArray], FloatArray]:
    return lambda values: values * factor


def _from_fahrenheit(values: FloatArray) -> FloatArray:
    return (values - 32.0) / 1.8


_TEMPERATURE = {"degC": _times(1.0), "degF": _from_fahrenheit}
KINDS = {
    "temperature": Kind(name="temperature_degc", units=_TEMPERATURE, low=-60.0, high=200.0),
    "dew_point": Kind(name="dew_point_degc", units=_TEMPERATURE, low=COLDEST_DEGC, high=WARMEST_DEGC),
    "relative_humidity": Kind(
        name="relative_humidity", units={"%": _times(1.0)}, low=0.0, high=MOST_HUMID_PERCENT
    ),
    "carbon_dioxide": Kind(name="co2_ppm", units={"ppm": _times(1.0)}, low=0.0, high=50_000.0),
    "rain": Kind(name="rain_mm", units={"mm": _times(1.0), "in": _times(25.4)}, low=0.0, high=500.0),
    "wind_speed": Kind(
        name="wind_speed_m_s",
        units={
            "m/s": _times(1.0),
            "km/h": _times(1 / 3.6),
            "mph": _times(0.44704),
            "kn": _times(1852 / 3600),
        },
        low=0.0,
        high=100.0,
    ),
    "cloud_cover": Kind(name="cloud_cover_percent", units={"%": _times(1.0)}, low=0.0, high=100.0),
    "heat_flux": Kind(name="heat_flux_w_m2", units={"W/m2": _times(1.0)}, low=-1000.0, high=1000.0),
    "radiation": Kind(name="radiation_w_m2", units={"W/m2": _times(1.0)}, low=-50.0, high=1600.0),
    "wind_direction": Kind(name="wind_from_deg", units={"deg": _times(1.0)}, low=0.0, high=360.0),
}


@dataclass(slots=True)
class Quantities:
    """Columns in the units used inside, with what was assumed and what is wrong with them."""

    values: dict[str, FloatArray]
    assumed: list[Sentence]
    problems: list[Problem]


def quantities_of(
    file: str, rows: Ints, numbers: dict[str, FloatArray], columns: dict[str, Column], keys: LoggerKeys
) -> Quantities:
    """Every column in its unit; the offsets of the site file are added last.

    Parameters
    ----------
    file : str
        Named in problems.
    rows : ndarray of int, shape (n,)
        Row of the file of each number.
    numbers : dict of ndarray, each of shape (n,)
        As written, NaN where empty, by what the column holds.
    columns : dict of Column
        Where they were found.
    keys : LoggerKeys
        Its offsets, unit and place.
    """
    result = Quantities({}, [], [])
    for role, raw in numbers.items():
        kind = KINDS[role]
        raw, faults = _without_fault_codes(raw)
        if faults:
            result.assumed.append(say("logger.assumed.faults", column=columns[role].heading, count=faults))
        unit, words = _unit(role, kind, columns[role], raw, keys)
        result.assumed += words
        values = raw * 100.0 if unit == "fraction" else kind.units[unit](raw)
        low, high = (
            _AIR_DEGC
            if role == "temperature" and keys.place in ("room", "outdoor")
            else (kind.low, kind.high)
        )
        result.problems += _outside(file, rows, raw, values, low, high, columns[role], unit)
        result.values[kind.name] = values
    _complete(file, rows, result, keys)
    return result


def _without_fault_codes(raw: FloatArray) -> tuple[FloatArray, int]:
    faulty = np.isin(raw, _FAULT_CODES)
    return np.where(faulty, np.nan, raw), int(np.count_nonzero(faulty))


def _unit(
    role: str, kind: Kind, column: Column, raw: FloatArray, keys: LoggerKeys
) -> tuple[str, list[Sentence]]:
    """The unit of a column, and how it is known where the heading does not say."""
    named = unit_of(column.said, kind.units)
    finite = raw[np.isfinite(raw)]
    if role == "relative_humidity":
        if len(finite) and finite.max() <= MOST_HUMID_PERCENT / 100.0:
            return "fraction", [say("logger.assumed.fraction", column=column.heading)]
        return "%", [] if named else [say("logger.assumed.percent", column=column.heading)]
    if role in ("temperature", "dew_point"):
        return _temperature_unit(role, named, column, finite, keys)
    if named or role in ("carbon_dioxide", "wind_direction"):
        return named or next(iter(kind.units)), []
    unit = next(iter(kind.units))
    return unit, [say("logger.assumed.unit", column=column.heading, unit=unit)]


def _temperature_unit(
    role: str, named: str, column: Column, finite: FloatArray, keys: LoggerKeys
) -> tuple[str, list[Sentence]]:
    if keys.temperature_unit:
        return keys.temperature_unit, [
            say("logger.assumed.unit-stated", column=column.heading, unit=keys.temperature_unit)
        ]
    if named:
        return named, []
    hot = role == "temperature" and keys.place not in _HOT_PLACES and len(finite)
    if hot and float(np.median(finite)) > _ABOVE_MEANS_DEGF:
        return "degF", [say("logger.assumed.unit-hot", column=column.heading, unit="degF")]
    return "degC", [say("logger.assumed.unit", column=column.heading, unit="degC")]


def _outside(
    file: str,
    rows: Ints,
    raw: FloatArray,
    values: FloatArray,
    low: float,
    high: float,
    column: Column,
    unit: str,
) -> Iterator[Problem]:
    """Readings that no such sensor gives, the first few one by one."""
    wrong = np.flatnonzero((values < low) | (values > high))
    for i in wrong[:MOST_PROBLEMS]:
        yield Problem(
            file=file,
            place=say("logger.place.cell", row=int(rows[i]), column=column.heading),
            read=f"{raw[i]:g} {unit}",
            allowed=say(
                "logger.allowed.range",
                low=f"{low:g}",
                high=f"{high:g}",
                unit="%" if unit == "fraction" else _ours(unit),
            ),
            fix=say("logger.fix.empty-cell") if i == wrong[0] else "",
        )
    if len(wrong) > MOST_PROBLEMS:
        yield Problem(
            file=file,
            place=column.heading,
            read=say("logger.read.more-rows", count=len(wrong) - MOST_PROBLEMS),
        )


def _ours(unit: str) -> str:
    return next(next(iter(kind.units)) for kind in KINDS.values() if unit in kind.units)


def _complete(file: str, rows: Ints, result: Quantities, keys: LoggerKeys) -> None:
    """Humidity as a fraction, from the dew point where it has no column; then the offsets."""
    values = result.values
    size = len(next(iter(values.values())))
    temperature = values.setdefault("temperature_degc", np.full(size, np.nan))
    dew_point = values.pop("dew_point_degc", None)
    if "relative_humidity" in values:
        humidity = values["relative_humidity"] / 100.0
    elif dew_point is not None and not result.problems:
        humidity = _from_dew_point(temperature, dew_point)
        result.assumed.append(say("logger.assumed.from-dew-point"))
        for i in np.flatnonzero(humidity > MOST_HUMID_PERCENT / 100.0)[:MOST_PROBLEMS]:
            place = say("logger.place.dew-point", row=int(rows[i]))
            allowed = say("logger.allowed.dew-point", degc=f"{temperature[i]:.2f}")
            result.problems.append(
                Problem(file=file, place=place, read=f"{dew_point[i]:.2f} °C", allowed=allowed)
            )
    else:
        humidity = np.full(size, np.nan)
    values["temperature_degc"] = temperature + keys.offset_k
    offset = keys.offset_percent_rh / 100.0
    values["relative_humidity"] = np.clip(humidity + offset, 0.0, 1.0)
    for count, words in (
        (np.count_nonzero(humidity > 1.0), "above"),
        (
            np.count_nonzero((humidity + offset > 1.0) & (humidity <= 1.0)),
            "above-by-offset",
        ),
        (np.count_nonzero(humidity + offset < 0.0), "below-by-offset"),
    ):
        if count:
            result.assumed.append(say(f"logger.assumed.humidity-{words}", count=int(count)))


def _from_dew_point(temperature: FloatArray, dew_point: FloatArray) -> FloatArray:
    within = (temperature >= COLDEST_DEGC) & (temperature <= WARMEST_DEGC)
    air = np.where(within, temperature, np.nan)
    return np.asarray(saturation_pressure_pa(dew_point) / saturation_pressure_pa(air), dtype=np.float64)
