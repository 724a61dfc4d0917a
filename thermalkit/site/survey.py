"""A site as everything inside sees it: checked, frozen, trusted."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from thermalkit.errors import Problem
from thermalkit.language import Sentence
from thermalkit.measured import FloatArray
from thermalkit.site.fields import Keys
from thermalkit.site.frames import StripScale
from thermalkit.site.hazard_classes import HazardRow
from thermalkit.site.loggers.series import LoggerSeries
from thermalkit.site.model import FrameKeys, InstrumentKeys, MarkKeys, ReadingRow, RoomKeys, SiteKeys
from thermalkit.site.sections import site_model

K = TypeVar("K", bound=Keys)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SurveyFrame:
    """One thermal frame with what was written down about it.

    `apparent_degc` has shape (rows, columns), cannot be written to, NaN where masked. `pixel_scale`
    is file pixels per detector pixel along one axis, 1 where the file was not enlarged. `strip` says
    what a coloured picture leaves open.
    """

    keys: FrameKeys
    camera: InstrumentKeys | None
    room: RoomKeys | None
    apparent_degc: FloatArray
    pixel_scale: float
    path: str
    photo: str | None
    strip: StripScale | None = None

    @property
    def emissivity(self) -> float | None:
        """Emissivity to correct by: 1 where the values are surface temperatures already."""
        return 1.0 if self.keys.values == "surface" else self.keys.emissivity


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Site:
    """One folder, checked once.

    `loggers` maps the id of every time series to what it holds, `files` the relative path of every
    file read to its SHA-256; `notes` says what was assumed; `hazard_classes` is the user's own table of
    classes. `earlier` is an earlier visit that stands in
    the folder `earlier`, its files listed here too; `earlier_problems` say why there is one that cannot be
    used.
    """

    folder: Path
    keys: SiteKeys
    frames: Mapping[str, SurveyFrame]
    readings: tuple[ReadingRow, ...]
    loggers: Mapping[str, LoggerSeries]
    files: Mapping[str, str]
    notes: tuple[Sentence, ...]
    hazard_classes: tuple[HazardRow, ...] = ()
    earlier: Site | None = None
    earlier_problems: tuple[Problem, ...] = ()

    def room(self, id: str) -> RoomKeys:
        """The room of that id; KeyError if there is none."""
        return {room.id: room for room in self.keys.rooms}[id]

    def is_cooled(self, room: RoomKeys | None) -> bool:
        """Whether a room, or else the building, is cooled: what is wrong there is warm."""
        own = room.climate_mode if room is not None else None
        return (own or self.keys.site.climate_mode) == "cooling"

    def instrument(self, id: str) -> InstrumentKeys:
        """The instrument of that id; KeyError if there is none."""
        return self.keys.instruments[id]

    def marks(self, frame: str) -> tuple[MarkKeys, ...]:
        """Marks of a frame that stand in the site file."""
        return tuple(mark for mark in self.keys.marks if mark.frame == frame)

    def section(self, model: type[K]) -> K | None:
        """The table of a section that only some kinds read; None where it was not written."""
        return next((value for _, value in self.keys if isinstance(value, model)), None)

    def sections(self, model: type[K]) -> tuple[K, ...]:
        """The entries of such a section that is written with double brackets."""
        lists = [value for _, value in self.keys if isinstance(value, tuple)]
        return tuple(item for items in lists for item in items if isinstance(item, model))

    @staticmethod
    def schema() -> dict[str, Any]:
        """JSON Schema of `site.toml`, for editors."""
        schema = site_model().model_json_schema()
        return {"$schema": "https://json-schema.org/draft/2020-12/schema", **schema, "title": "site.toml"}
