"""Kinds of values a site file holds, each with its allowed range and what it refers to."""

from __future__ import annotations

import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import PurePosixPath
from typing import Annotated

from annotated_types import GroupedMetadata
from pydantic import AfterValidator, AwareDatetime, BaseModel, BeforeValidator, ConfigDict, Field
from pydantic_core import PydanticCustomError

from thermalkit.site.zones import zone_of

LONGEST_TEXT = 2000
LONGEST_ID = 64
LONGEST_PATH = 255
YEARS = (1970, 2199)  # a camera without a battery begins at 1970 or later
_BIDIRECTIONAL = frozenset("\u061c\u200e\u200f\u202a\u202b\u202c\u202d\u202e\u2066\u2067\u2068\u2069")


class Keys(BaseModel):
    """A table of the site file; attribute names are the file's keys."""

    model_config = ConfigDict(frozen=True, extra="forbid", allow_inf_nan=False)


@dataclass(frozen=True, slots=True)
class RefersTo:
    """Marks a field as the id of an entry in another table; `kinds` narrows the instruments.

    `words` may stand there instead of an id.
    """

    table: str
    kinds: tuple[str, ...] = ()
    words: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FileInFolder:
    """Marks a field as a file of the site folder, by what it is used for."""

    use: str
    endings: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Between(GroupedMetadata):
    """A finite number from `low` to `high`; yes/no values are refused."""

    low: float
    high: float

    def __iter__(self) -> Iterator[object]:
        """Checks in the order in which they run; the last one is for the JSON Schema."""
        yield Field(ge=self.low, le=self.high)
        yield BeforeValidator(self.checked)

    def checked(self, value: object) -> float:
        """The value as a number, or an error that carries the range."""
        number = _as_number(value)
        if number is None:
            raise PydanticCustomError("number_wanted", "a number", {"low": self.low, "high": self.high})
        if not self.low <= number <= self.high:
            context = {"low": self.low, "high": self.high, "value": number}
            raise PydanticCustomError("number_outside", "outside", context)
        return number


def _as_number(value: object) -> float | None:
    """The value as a float (too large becomes infinite), or None when it is no number."""
    if isinstance(value, bool) or not isinstance(value, (int, float, str)):
        return None
    try:
        number = float(value)
    except OverflowError:
        return float("inf")
    except ValueError:
        return None
    return number


def _clean(text: str) -> str:
    for c in text:
        if (unicodedata.category(c) in {"Cc", "Cs"} and c != "\n") or c in _BIDIRECTIONAL:
            raise PydanticCustomError("text_control", "control character", {})
    return text


def _clean_id(text: str) -> str:
    if not text.isprintable() or text != text.strip() or set(text) & set("/\\") or text in {".", ".."}:
        raise PydanticCustomError("id_form", "id", {})
    return text


def _relative_path(text: str) -> str:
    """Refuse whatever could point outside the folder, on any system."""
    parts = PurePosixPath(text).parts
    if not text.isprintable() or "\\" in text or ":" in text or text.startswith("/") or ".." in parts:
        raise PydanticCustomError("path_form", "path", {})
    if not parts or text != str(PurePosixPath(*parts)):
        raise PydanticCustomError("path_form", "path", {})
    return text


def _known_country(text: str) -> str:
    from babel import Locale

    if text not in Locale("en").territories:
        raise PydanticCustomError("country_unknown", "country", {})
    return text


def _known_clock(text: str) -> str:
    try:
        zone_of(text)
    except ValueError:
        raise PydanticCustomError("clock_unknown", "clock", {}) from None
    return text


def _no_plain_number(value: object) -> object:
    """Refuse what would be read as seconds since 1970, in quotes too."""
    if isinstance(value, bool) or _as_number(value) is not None:
        raise PydanticCustomError("time_wanted", "a date", {})
    return value


def _with_time(value: object) -> object:
    if isinstance(value, date) and not isinstance(value, datetime):
        raise PydanticCustomError("time_wanted", "a date with time", {})
    return _no_plain_number(value)


def _in_our_time(value: datetime) -> datetime:
    """Refuse years that no clock means, so that days may be counted from any moment."""
    first, last = YEARS
    if not first <= value.year <= last:
        raise PydanticCustomError("number_outside", "year", {"low": first, "high": last, "value": value.year})
    return value


Text = Annotated[str, Field(min_length=1, max_length=LONGEST_TEXT), AfterValidator(_clean)]
Id = Annotated[str, Field(min_length=1, max_length=LONGEST_ID), AfterValidator(_clean_id)]
Country = Annotated[str, Field(pattern="^[A-Z]{2}$"), AfterValidator(_known_country)]
Clock = Annotated[str, Field(min_length=1, max_length=64), AfterValidator(_known_clock)]
Path = Annotated[str, Field(min_length=1, max_length=LONGEST_PATH), AfterValidator(_relative_path)]
Moment = Annotated[AwareDatetime, BeforeValidator(_with_time), AfterValidator(_in_our_time)]
Day = Annotated[date, BeforeValidator(_no_plain_number)]

FrameFile = Annotated[
    Path, FileInFolder("frame", (".csv", ".tsv", ".npy", ".tif", ".tiff", ".png", ".jpg", ".jpeg"))
]
Photo = Annotated[Path, FileInFolder("photo", (".jpg", ".jpeg", ".png"))]
LoggerFile = Annotated[Path, FileInFolder("logger", (".csv", ".tsv", ".txt"))]

RoomId = Annotated[str, RefersTo("rooms")]
FrameId = Annotated[str, RefersTo("frames")]
InstrumentId = Annotated[str, RefersTo("instruments")]
CameraId = Annotated[str, RefersTo("instruments", ("thermal_camera",))]
AirInstrumentId = Annotated[str, RefersTo("instruments", ("thermohygrometer", "logger"))]

AirTemperature = Annotated[float, Between(-60.0, 60.0)]
SurfaceTemperature = Annotated[float, Between(-60.0, 200.0)]
HumidityPercent = Annotated[float, Between(1.0, 100.0)]
Emissivity = Annotated[float, Between(0.01, 1.0)]
