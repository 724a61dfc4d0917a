"""Time series as loggers write them, read into one form: UTC, °C, humidity as a fraction."""

from thermalkit.site.loggers.joining import joined
from thermalkit.site.loggers.reader import read_logger
from thermalkit.site.loggers.series import (
    Gap,
    LoggerSeries,
    SideBySide,
    days_covered,
    hourly,
    is_long_enough,
    side_by_side_offset,
)

__all__ = [
    "Gap",
    "LoggerSeries",
    "SideBySide",
    "days_covered",
    "hourly",
    "is_long_enough",
    "joined",
    "read_logger",
    "side_by_side_offset",
]
