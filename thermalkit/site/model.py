"""What may stand in `site.toml` and `readings.csv`; each key is documented here and nowhere else."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, Literal

from pydantic import Field

from thermalkit.site.fields import (
    AirInstrumentId,
    AirTemperature,
    Between,
    CameraId,
    Clock,
    Country,
    Day,
    Emissivity,
    FrameFile,
    FrameId,
    HumidityPercent,
    Id,
    InstrumentId,
    Keys,
    LoggerFile,
    Moment,
    Photo,
    RefersTo,
    RoomId,
    SurfaceTemperature,
    Text,
)

MOST_FRAMES = 500
MOST_ENTRIES = 2000

InstrumentKind = Literal[
    "thermal_camera",
    "thermohygrometer",
    "contact_thermometer",
    "moisture_meter",
    "clamp_meter",
    "heat_flux_plate",
    "logger",
    "carbon_dioxide_meter",
    "manometer",
    "anemometer",
]
_TOUCHING = ("contact_thermometer", "logger", "thermohygrometer", "thermal_camera")
ReferenceInstrumentId = Annotated[str, RefersTo("instruments", _TOUCHING)]
FarSide = Annotated[Id, RefersTo("rooms", words=("outdoors", "heated", "unheated"))]
Humidities = Annotated[tuple[HumidityPercent, ...], Field(min_length=12, max_length=12)]
Temperatures = Annotated[tuple[AirTemperature, ...], Field(min_length=12, max_length=12)]
Coordinate = Annotated[float, Between(-0.5, 100_000.0)]


class CaseKeys(Keys):
    """[site]: the building and the question."""

    name: Text = Field(description="Shown to the client.")
    surveyed_at: Moment = Field(description="Start of the walk, with offset: 2026-01-21T08:30:00+00:00.")
    reference: Text | None = Field(None, description="Your own number of the job.")
    country: Country | None = Field(
        None, description="Two capital letters of ISO 3166-1, such as GB; only proposes a set of limits."
    )
    question: Text | None = Field(None, description="What was asked, and by whom.")
    climate_mode: Literal["heating", "cooling"] = Field(
        "heating", description="Whether the building is kept warmer or cooler than outdoors."
    )


class SurveyorKeys(Keys):
    """[surveyor]: who answers for the findings."""

    name: Text | None = Field(None, description="Left out of the annex when report.private is true.")
    qualification: Text | None = Field(None, description="Training or profession.")
    certificate: Text | None = Field(None, description="Number or name of the certificate.")
    certificate_expires_on: Day | None = Field(None, description="Last day of validity: 2027-05-31.")


class ReportKeys(Keys):
    """[report]: how the annex is written."""

    language: Literal["en", "de"] = Field("en", description="Language of the annex.")
    private: bool = Field(False, description="true leaves out address and names.")


class LimitKeys(Keys):
    """[limits]: what the findings are judged by."""

    set: Text = Field(description="Name of a row of the table of limits, such as GB-dwelling.")


class ClimateKeys(Keys):
    """[climate]: outdoors over the years; without it the question is not assessed."""

    design_winter_temperature_degc: AirTemperature | None = Field(
        None, description="Outdoor temperature heating is designed for, in °C."
    )
    monthly_air_temperature_degc: Temperatures | None = Field(
        None, description="Twelve monthly means from January, in °C."
    )
    monthly_relative_humidity_percent: Humidities | None = Field(
        None, description="Twelve monthly means from January, in %."
    )
    source: Text | None = Field(None, description="Where these numbers come from.")


class WeatherKeys(Keys):
    """[weather]: outdoors, during the survey."""

    air_temperature_degc: AirTemperature | None = Field(None, description="Outdoor air in the shade, in °C.")
    mean_24h_air_temperature_degc: AirTemperature | None = Field(
        None, description="Mean of the 24 hours before, in °C; what a heavy wall still remembers."
    )
    relative_humidity_percent: HumidityPercent | None = Field(None, description="Outdoor air, in %.")
    wind_speed_m_s: Annotated[float, Between(0.0, 60.0)] | None = Field(
        None, description="At the building, in m/s."
    )
    sky: Literal["clear", "broken", "overcast"] | None = Field(None, description="Cloud cover.")
    hours_since_sun: Annotated[float, Between(0.0, 10_000.0)] | None = Field(
        None, description="Since the sun last shone on the surface looked at."
    )
    hours_since_rain: Annotated[float, Between(0.0, 10_000.0)] | None = Field(
        None, description="Since it last rained."
    )
    hours_steady: Annotated[float, Between(0.0, 10_000.0)] | None = Field(
        None, description="For how long indoor heating or cooling has been unchanged."
    )
    instrument: AirInstrumentId | None = Field(None, description="Key under [instruments].")


class InstrumentKeys(Keys):
    """[instruments.*]: accuracies are half-widths of a rectangular distribution."""

    kind: InstrumentKind = Field(description="What it is.")
    serial: Text | None = Field(None, description="Printed in the annex, since evidence needs it.")
    calibrated_on: Day | None = Field(None, description="Day of the last calibration: 2025-06-01.")
    columns: Annotated[int, Between(2, 10_000)] | None = Field(
        None, description="Columns of the detector itself, not of an enlarged file."
    )
    rows: Annotated[int, Between(2, 10_000)] | None = Field(None, description="Rows of the detector itself.")
    field_of_view_deg: (
        tuple[Annotated[float, Between(0.5, 179.0)], Annotated[float, Between(0.5, 179.0)]] | None
    ) = Field(None, description="Across and down, in degrees; with a distance it gives sizes.")
    accuracy_k: Annotated[float, Between(0.0, 50.0)] | None = Field(
        None, description="Accuracy in K; the larger of this and accuracy_percent counts."
    )
    accuracy_percent: Annotated[float, Between(0.0, 100.0)] | None = Field(
        None, description="Accuracy in % of the reading (of the reading in °C for temperatures)."
    )
    accuracy_percent_rh: Annotated[float, Between(0.0, 50.0)] | None = Field(
        None, description="Accuracy of relative humidity, in percentage points."
    )
    noise_k: Annotated[float, Between(0.0, 10.0)] | None = Field(
        None, description="Standard deviation from pixel to pixel at 30 °C, in K."
    )
    uniformity_k: Annotated[float, Between(0.0, 20.0)] | None = Field(
        None, description="How far two places of one frame may differ in error, half-width in K."
    )
    band_um: tuple[Annotated[float, Between(1.5, 30.0)], Annotated[float, Between(1.5, 30.0)]] | None = Field(
        None, description="Wavelengths seen, from and to, in µm."
    )


class RoomKeys(Keys):
    """[[rooms]]: one room and its air during the survey."""

    id: Id = Field(description="Short name used in this file.")
    name: Text | None = Field(None, description="Shown to the client.")
    use: Text | None = Field(None, description="What the room is used for.")
    climate_mode: Literal["heating", "cooling"] | None = Field(
        None, description="Only where it differs from the building's."
    )
    floor_area_m2: Annotated[float, Between(0.1, 1e6)] | None = Field(None, description="Floor area, in m².")
    volume_m3: Annotated[float, Between(0.1, 1e7)] | None = Field(None, description="Air volume, in m³.")
    air_temperature_degc: AirTemperature | None = Field(None, description="Air in mid-room, in °C.")
    relative_humidity_percent: HumidityPercent | None = Field(None, description="Air in mid-room, in %.")
    instrument: AirInstrumentId | None = Field(None, description="Key under [instruments].")
    open_flued_appliance: Literal["yes", "no", "unknown"] = Field(
        "unknown", description="An open fire, stove or flued appliance taking air from the room."
    )

    @property
    def label(self) -> str:
        """Name for the client, or the id where none was given."""
        return self.name or self.id


class StripKeys(Keys):
    """strip of [[frames]]: the temperature strip of a coloured picture, in pixels [row, column]."""

    ends: tuple[tuple[Coordinate, Coordinate], tuple[Coordinate, Coordinate]] = Field(
        description="First and last pixel of the strip, the cold end first."
    )
    cold_degc: SurfaceTemperature = Field(description="Temperature written at the cold end, in °C.")
    warm_degc: SurfaceTemperature = Field(description="Temperature written at the warm end, in °C.")
    rounded_to_k: Annotated[float, Between(0.0, 10.0)] = Field(
        1.0, description="Step in which both are written: 1 for whole degrees."
    )
    area: tuple[tuple[Coordinate, Coordinate], tuple[Coordinate, Coordinate]] = Field(
        description="Upper left and lower right pixel of the frame within the picture."
    )


class FrameKeys(Keys):
    """[[frames]]: one thermal frame and how it was taken."""

    id: Id = Field(description="Short name used in this file.")
    file: FrameFile = Field(description="Path inside the folder, such as thermal/corner.tiff.")
    subject: Literal["wall", "opening", "ceiling", "floor", "radiator", "cabinet", "pipe"] = Field(
        description="What is looked at."
    )
    values: Literal["apparent", "camera-corrected", "surface"] = Field(
        description="apparent: as if emissivity 1. camera-corrected: the camera applied an emissivity; "
        "it is undone first. surface: already surface temperatures, taken as they are."
    )
    instrument: CameraId | None = Field(None, description="The camera's key under [instruments].")
    room: RoomId | None = Field(None, description="The room's id.")
    orientation: Literal["N", "NE", "E", "SE", "S", "SW", "W", "NW"] | None = Field(
        None, description="Which way the outside of the surface faces."
    )
    far_side: FarSide = Field(
        "outdoors",
        description="What lies behind the surface: outdoors, heated, unheated or the id of a room. No "
        "temperature factor is given unless it is outdoors.",
    )
    taken_at: Moment | None = Field(None, description="With offset: 2026-01-21T08:41:00+00:00.")
    uncovered_at: Moment | None = Field(None, description="When furniture was moved away from the surface.")
    scale: Annotated[float, Between(-1000.0, 1000.0)] = Field(
        1.0, description="Integer files: temperature in °C = stored number * scale + offset."
    )
    offset: Annotated[float, Between(-10_000.0, 10_000.0)] = Field(0.0, description="See scale.")
    strip: StripKeys | None = Field(
        None, description="For a coloured .png or .jpg: where its temperature strip is, and its ends."
    )
    camera_emissivity: Emissivity | None = Field(None, description="Emissivity the camera was set to.")
    camera_reflected_temperature_degc: SurfaceTemperature | None = Field(
        None, description="Reflected temperature the camera was set to, in °C."
    )
    emissivity: Emissivity | None = Field(None, description="Emissivity of the surface looked at.")
    reflected_temperature_degc: SurfaceTemperature | None = Field(
        None, description="Reflected apparent temperature measured on site, in °C."
    )
    distance_m: Annotated[float, Between(0.05, 500.0)] | None = Field(
        None, description="Camera to surface, in m."
    )
    photo: Photo | None = Field(None, description="Path inside the folder, such as photos/corner.jpg.")


class ReferenceKeys(Keys):
    """[[references]]: a second reading that narrows a frame from about ±2 K to about ±0.4 K."""

    frame: FrameId = Field(description="The frame's id.")
    mark: Id | None = Field(None, description="The mark on that frame where the reading was taken.")
    kind: Literal["contact", "shaded_board", "foil"] = Field(
        description="contact: thermometer on the surface. shaded_board: a board of known temperature. "
        "foil: crumpled foil that shows the reflected temperature."
    )
    temperature_degc: SurfaceTemperature = Field(description="What was read, in °C.")
    instrument: ReferenceInstrumentId | None = Field(None, description="Key under [instruments].")
    taken_at: Moment | None = Field(None, description="With offset.")


class LoggerColumns(Keys):
    """Column headings of a logger file, as they stand there."""

    time: Text | None = Field(None, description="Heading of the time column, which may hold the date too.")
    date: Text | None = Field(None, description="Heading of the date column, where time has its own.")
    temperature: Text | None = Field(None, description="Heading of the temperature column.")
    relative_humidity: Text | None = Field(None, description="Heading of the humidity column.")
    carbon_dioxide: Text | None = Field(None, description="Heading of the carbon dioxide column, in ppm.")
    heat_flux: Text | None = Field(None, description="Heading of a heat flux plate's column, in W/m².")
    rain: Text | None = Field(None, description="Heading of the column of rain since the row before.")
    wind_speed: Text | None = Field(None, description="Heading of the wind speed column.")
    wind_direction: Text | None = Field(
        None, description="Heading of the column of where the wind comes from, in degrees from north."
    )


class LoggerKeys(Keys):
    """[[loggers]]: one time series."""

    id: Id = Field(description="Short name used in this file.")
    file: LoggerFile = Field(description="Path inside the folder, such as loggers/cellar.csv.")
    place: Literal["room", "outdoor", "surface", "supply", "return", "outlet"] = Field(
        description="What the sensor measures: air of a room, outdoor air, a surface, or a pipe or opening."
    )
    room: RoomId | None = Field(None, description="The room's id.")
    instrument: InstrumentId | None = Field(None, description="Key under [instruments].")
    position: Text | None = Field(None, description="Where in the room: height, distance to the wall.")
    clock: Clock = Field("UTC", description="Zone such as Europe/London, or a fixed offset such as +01:00.")
    date_order: Literal["day-first", "month-first"] | None = Field(
        None, description="How dates such as 01/02/2021 are written; told from the file where it can be."
    )
    temperature_unit: Literal["degC", "degF"] | None = Field(
        None, description="Where the heading names none; otherwise told by what is plausible."
    )
    columns: LoggerColumns | None = Field(None, description="Headings; proposed from the file otherwise.")
    offset_k: Annotated[float, Between(-10.0, 10.0)] = Field(
        0.0, description="To be added, from a side-by-side hour, in K."
    )
    offset_percent_rh: Annotated[float, Between(-30.0, 30.0)] = Field(
        0.0, description="To be added, in percentage points."
    )


class LookedAtKeys(Keys):
    """[[looked_at]]: what was examined, and what was not and why."""

    room: RoomId | None = Field(None, description="The room's id.")
    element: Text = Field(description="Part of the building, such as eaves.")
    looked: Literal["yes", "no", "not possible"] = Field(description="Whether it was examined.")
    why: Text | None = Field(None, description="Reason, where it was not.")


class MarkKeys(Keys):
    """[[marks]]: a place drawn on a frame; counts as confirmed."""

    frame: FrameId = Field(description="The frame's id.")
    id: Id = Field(description="Short name, unique on the frame.")
    shape: Literal["pin", "patch", "trace"] = Field(
        description="pin: one point. patch: closed outline. trace: open line."
    )
    points: Annotated[tuple[tuple[Coordinate, Coordinate], ...], Field(min_length=1, max_length=2000)] = (
        Field(description="[row, column] of pixel centres, counted from 0 at the upper left.")
    )
    role: Id = Field("suspect", description="suspect, sound, reflector, scale or what the case needs.")


class SiteKeys(Keys):
    """Everything in `site.toml`; tables of single kinds are added from the sections found."""

    format: Literal[1] = Field(description="Version of this layout; 1.")
    site: CaseKeys = Field(description="The building and the question.")
    surveyor: SurveyorKeys = Field(SurveyorKeys(), description="Who answers for the findings.")
    report: ReportKeys = Field(ReportKeys(), description="How the annex is written.")
    limits: LimitKeys | None = Field(None, description="What the findings are judged by.")
    climate: ClimateKeys | None = Field(None, description="Outdoors over the years.")
    weather: WeatherKeys = Field(WeatherKeys(), description="Outdoors, during the survey.")
    instruments: Annotated[dict[Id, InstrumentKeys], Field(max_length=200)] = Field(
        {}, description="Instruments by a short name of your own."
    )
    rooms: Annotated[tuple[RoomKeys, ...], Field(max_length=500)] = Field((), description="Rooms.")
    frames: Annotated[tuple[FrameKeys, ...], Field(max_length=MOST_FRAMES)] = Field(
        (), description="Thermal frames."
    )
    references: Annotated[tuple[ReferenceKeys, ...], Field(max_length=MOST_ENTRIES)] = Field(
        (), description="Second readings on frames."
    )
    loggers: Annotated[tuple[LoggerKeys, ...], Field(max_length=200)] = Field((), description="Time series.")
    looked_at: Annotated[tuple[LookedAtKeys, ...], Field(max_length=MOST_ENTRIES)] = Field(
        (), description="What was examined and what was not."
    )
    marks: Annotated[tuple[MarkKeys, ...], Field(max_length=MOST_ENTRIES)] = Field(
        (), description="Places drawn on frames."
    )


@dataclass(frozen=True, slots=True)
class Quantity:
    """What may be written in readings.csv: its unit, its range and what measures it (empty: anything)."""

    unit: str
    values: Between
    kinds: tuple[str, ...] = ()


_THERMOMETERS = ("contact_thermometer", "thermohygrometer", "logger", "thermal_camera")
QUANTITIES = {
    "air temperature": Quantity("degC", Between(-60.0, 60.0), ("thermohygrometer", "logger")),
    "relative humidity": Quantity("%", Between(1.0, 100.0), ("thermohygrometer", "logger")),
    "surface temperature": Quantity("degC", Between(-60.0, 200.0), _THERMOMETERS),
    "wood moisture": Quantity("%", Between(0.0, 200.0), ("moisture_meter",)),
    "masonry moisture": Quantity("% by mass", Between(0.0, 100.0), ("moisture_meter",)),
    "relative meter reading": Quantity("digits", Between(0.0, 10_000.0), ("moisture_meter",)),
    "carbon dioxide": Quantity("ppm", Between(300.0, 50_000.0), ("carbon_dioxide_meter", "logger")),
    "pressure difference": Quantity("Pa", Between(-500.0, 500.0), ("manometer", "logger")),
    "flow temperature": Quantity("degC", Between(-20.0, 130.0), _THERMOMETERS),
    "return temperature": Quantity("degC", Between(-20.0, 130.0), _THERMOMETERS),
    "wind speed": Quantity("m/s", Between(0.0, 60.0), ("anemometer",)),
}
QuantityName = Literal[
    "air temperature",
    "relative humidity",
    "surface temperature",
    "wood moisture",
    "masonry moisture",
    "relative meter reading",
    "carbon dioxide",
    "pressure difference",
    "flow temperature",
    "return temperature",
    "wind speed",
]


class ReadingRow(Keys):
    """One row of readings.csv; field names are the column headings."""

    place: Text = Field(description="Where: a room's id, a frame's id or words of your own.")
    taken_at: Moment | None = Field(None, description="With offset: 2026-01-21T08:41:00+00:00.")
    quantity: QuantityName = Field(description="What was measured.")
    value: Annotated[float, Between(-1e6, 1e6)] = Field(description="The number read.")
    unit: Literal["degC", "%", "% by mass", "digits", "ppm", "Pa", "m/s"] = Field(
        description="The unit that belongs to the quantity."
    )
    instrument: InstrumentId | None = Field(None, description="Key under [instruments] of site.toml.")
    depth_mm: Annotated[float, Between(0.0, 5000.0)] | None = Field(None, description="Into the material.")
    height_mm: Annotated[float, Between(-50_000.0, 1e6)] | None = Field(
        None, description="Above the floor; below it is negative."
    )
