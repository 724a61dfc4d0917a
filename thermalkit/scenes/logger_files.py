"""Files of invented loggers, each in one of the many ways in which loggers write."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta

import numpy as np

from thermalkit.measured import FloatArray


@dataclass(frozen=True, slots=True, kw_only=True)
class Dialect:
    """How a file is written.

    `headings` are those of the moment and of every column by its name; `preamble` stands above them.
    """

    headings: Mapping[str, str]
    moment: str = "%Y-%m-%d %H:%M"
    delimiter: str = ","
    decimal: str = "."
    preamble: tuple[str, ...] = ()
    encoding: str = "utf-8"
    line_end: str = "\n"
    digits: int = 1


ISO = Dialect(headings={"moment": "Time", "temperature": "Temperature (degC)", "humidity": "RH (%)"})
GERMAN = Dialect(
    headings={"moment": "Datum/Uhrzeit", "temperature": "Temperatur [°C]", "humidity": "rel. Feuchte [%]"},
    moment="%d.%m.%Y %H:%M:%S",
    delimiter=";",
    decimal=",",
    preamble=("Messreihe;erfunden", "Intervall;60 min", ""),
    encoding="cp1252",
    line_end="\r\n",
)
TWELVE_HOURS = Dialect(
    headings={"moment": "Date/Time", "temperature": "Temp, °F", "humidity": "RH, %"},
    moment="%m/%d/%Y %I:%M:%S %p",
    delimiter="\t",
    preamble=("Invented series",),
    encoding="utf-16",
    line_end="\r\n",
)


def logger_bytes(
    start: datetime, step_h: float, columns: Mapping[str, FloatArray], dialect: Dialect
) -> bytes:
    """Text of a logger's file.

    Parameters
    ----------
    start : datetime
        First entry, by the logger's own clock.
    step_h : float
        From one entry to the next.
    columns : mapping of str to ndarray of shape (n,)
        Temperature in °C (written in °F where the heading says so), humidity in percent and so on; names
        as in the dialect's headings; NaN leaves a cell empty.
    dialect : Dialect
    """
    names = list(columns)
    rows = [dialect.delimiter.join(dialect.headings[name] for name in ("moment", *names))]
    series = [_as_written(dialect.headings[name], columns[name]) for name in names]
    for i, values in enumerate(zip(*series, strict=True)):
        at = start + timedelta(seconds=round(3600.0 * step_h * i))
        cells = [_cell(value, dialect) for value in values]
        rows.append(dialect.delimiter.join([at.strftime(dialect.moment), *cells]))
    return dialect.line_end.join((*dialect.preamble, *rows, "")).encode(dialect.encoding)


def read_by(values: FloatArray, rng: np.random.Generator, *, noise: float, error: float = 0.0) -> FloatArray:
    """What a sensor shows: its error, the same throughout, and noise from reading to reading."""
    return values + error + rng.normal(0.0, noise, values.shape)


def _as_written(heading: str, values: FloatArray) -> FloatArray:
    return values * 1.8 + 32.0 if "°F" in heading else values


def _cell(value: float, dialect: Dialect) -> str:
    if np.isnan(value):
        return ""
    return f"{round(float(value), dialect.digits) + 0.0:.{dialect.digits}f}".replace(".", dialect.decimal)
