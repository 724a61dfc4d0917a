"""[[cabinets]] and [[circuits]]: switchgear as found, and what each circuit carried.

Of a round of many cabinets both may stand in spreadsheets, `cabinets.csv` and `circuits.csv`.
"""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from thermalkit.site.fields import AirTemperature, Between, Day, Id, Keys, RefersTo, RoomId, Text

Known = Literal["yes", "no", "unknown"]
Current = Annotated[float, Between(0.0, 10_000.0)]
Rated = Annotated[float, Between(0.1, 10_000.0)]
Minutes = Annotated[float, Between(0.0, 1e6)]
CabinetId = Annotated[str, RefersTo("cabinets")]
ClampId = Annotated[str, RefersTo("instruments", ("clamp_meter", "logger"))]
AirId = Annotated[str, RefersTo("instruments", ("thermohygrometer", "contact_thermometer", "logger"))]


class CabinetKeys(Keys):
    """[[cabinets]]: one enclosure and how it was looked into."""

    id: Id = Field(description="Short name used in this file.")
    name: Text | None = Field(None, description="Shown to the client.")
    room: RoomId | None = Field(None, description="The room's id.")
    air_temperature_degc: AirTemperature | None = Field(
        None, description="Air inside the cabinet, in °C; the room's is taken where it is missing."
    )
    instrument: AirId | None = Field(None, description="What read the air: key under [instruments].")
    seen: Literal["directly", "infrared window", "opaque cover"] = Field(
        "directly",
        description="Whether the parts were seen themselves, through a window, or a cover instead.",
    )
    window_transmission: Annotated[float, Between(0.1, 1.0)] | None = Field(
        None, description="Of the infrared window in the camera's band, as its maker states it."
    )
    fan: Known = Field("unknown", description="A fan moves the air inside.")
    minutes_since_opened: Minutes | None = Field(None, description="From opening the door to the frame.")
    remarks: Text | None = Field(None, description="Smell, discolouration, dust, noise, what was not seen.")

    @property
    def label(self) -> str:
        """Name for the client, or the id where none was given."""
        return self.name or self.id


class CircuitKeys(Keys):
    """[[circuits]]: one conductor of a circuit, with its device."""

    id: Id = Field(description="Short name; a mark that is called so, or begins with it, belongs to it.")
    cabinet: CabinetId = Field(description="The cabinet's id.")
    name: Text | None = Field(None, description="What it feeds; shown to the client.")
    device: Text | None = Field(
        None, description="Kind of device in words: miniature breaker, fuse, contactor."
    )
    group: Id | None = Field(None, description="The same word for all conductors of one multi-phase circuit.")
    phase: Literal["L1", "L2", "L3", "N", "DC+", "DC-"] | None = Field(None, description="Phase or neutral.")
    rated_current_a: Rated | None = Field(None, description="Rating of the device as set, in A.")
    measured_current_a: Current | None = Field(None, description="During the frame, in A.")
    true_rms: Known = Field("unknown", description="The meter shows the true effective value.")
    instrument: ClampId | None = Field(None, description="The clamp meter's key under [instruments].")
    expected_peak_current_a: Current | None = Field(None, description="Highest in service, in A.")
    minutes_since_load_changed: Minutes | None = Field(None, description="How long this load has lasted.")
    conductor_mm2: Annotated[float, Between(0.1, 2000.0)] | None = Field(
        None, description="Cross-section of the conductor, in mm²."
    )
    conductor_material: Literal["copper", "aluminium"] = Field(
        "copper", description="Metal of the conductor."
    )
    insulation: Literal["PVC", "XLPE or EPR", "rubber 60", "rubber 85", "mineral", "bare", "unknown"] = Field(
        "unknown", description="Of the conductor; PVC is taken where it is not known."
    )
    plating: Literal["bare", "tinned", "silver", "nickel", "unknown"] = Field(
        "unknown", description="Of the terminal."
    )
    terminal_surface: Literal[
        "insulated", "taped", "painted", "oxidised metal", "bright metal", "unknown"
    ] = Field("unknown", description="What the camera saw where the terminal is marked.")
    repaired_on: Day | None = Field(None, description="Day of the last repair of this connection.")
    remarks: Text | None = Field(None, description="What was seen or heard.")

    @property
    def label(self) -> str:
        """Name for the client with its short name and phase."""
        words = (self.id, self.phase if self.phase and self.phase not in self.id else None, self.name)
        return " ".join(word for word in words if word)


TABLES = {"cabinets": CabinetKeys, "circuits": CircuitKeys}
READ_BY = "panel"
REPEATED = ("cabinets", "circuits")
ASKED_BY = "panel"
OWN = ("phase", "measured_current_a")
SPREADSHEETS = ("cabinets", "circuits")
STAYS = {
    "cabinets": ("id", "name", "room", "instrument", "seen", "window_transmission", "fan"),
    "circuits": (
        *("id", "cabinet", "name", "device", "group", "phase", "rated_current_a", "true_rms", "instrument"),
        *("expected_peak_current_a", "conductor_mm2", "conductor_material", "insulation", "plating"),
        "terminal_surface",
    ),
}
