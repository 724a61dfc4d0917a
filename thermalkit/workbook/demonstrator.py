"""A scene whose causes a class moves with sliders: the picture and its numbers answer at once.

A wall with a concrete post and a heating pipe beside it. Temperatures are superposed from a few solutions
made beforehand (thicknesses of insulation, one pipe), so that a slider costs no new solution.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from html import escape
from typing import Any

import ipywidgets as widgets
import numpy as np

from thermalkit.annex.pictures import labels
from thermalkit.annex.wording import Wording
from thermalkit.imaging.camera import Camera
from thermalkit.measured import FloatArray
from thermalkit.physics.moist_air import (
    critical_surface_temperature_degc,
    surface_humidity,
    vapour_pressure_pa,
)
from thermalkit.physics.radiation import apparent_temperature_degc
from thermalkit.physics.ventilation import moisture_excess_from_balance_pa
from thermalkit.scenes import Climate, FlatWall, Run, Scene
from thermalkit.scenes.buildups import CONCRETE, layer
from thermalkit.scenes.scene import Errors, plane_m, positions_m
from thermalkit.scenes.walls import Band, Film, section
from thermalkit.scenes.wet import face_of
from thermalkit.workbook.picture import Picture

INSULATION_MM = (0.0, 20.0, 40.0, 80.0, 120.0)
INDOOR_DEGC, OUTDOOR_DEGC, OUTDOOR_HUMIDITY = 20.0, 0.0, 0.85
ROOM_M3 = 40.0
_PIPE_SHARE = 0.06  # own choice: of the pipe's excess temperature that reaches the face
_MOULD = 0.80
_WIDE: dict[str, Any] = {
    "style": {"description_width": "24em"},
    "layout": {"width": "50em", "max_width": "100%"},
}
_SLIDERS = {  # value, low, high, step
    "emissivity": (0.93, 0.10, 0.99, 0.01),
    "reflected": (20.0, -10.0, 60.0, 1.0),
    "moisture": (2.5, 0.0, 10.0, 0.1),
    "ventilation": (0.5, 0.1, 3.0, 0.1),
    "insulation": (0.0, 0.0, 120.0, 5.0),
    "flow": (20.0, 20.0, 70.0, 1.0),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """What a setting leads to; arrays of shape (rows, columns)."""

    surface_degc: FloatArray
    apparent_degc: FloatArray
    room_humidity: float
    coldest_degc: float
    coldest_humidity: float
    critical_degc: float


def shown(
    *,
    emissivity: float,
    reflected: float,
    moisture: float,
    ventilation: float,
    insulation: float,
    flow: float,
) -> Shown:
    """The scene for one setting.

    Parameters
    ----------
    emissivity : float
        Of the wall, 0.1 to 0.99.
    reflected : float
        Reflected apparent temperature, °C.
    moisture : float
        Water given off in the room, kg a day.
    ventilation : float
        Air changes per hour.
    insulation : float
        Added outside, mm, 0 to 120.
    flow : float
        Of the heating pipe in the wall, °C; at room temperature it gives nothing.
    """
    factors, pipe = _solved()
    factor = np.array([np.interp(insulation, INSULATION_MM, column) for column in factors.T])
    surface = OUTDOOR_DEGC + factor[None, :] * (INDOOR_DEGC - OUTDOOR_DEGC) + pipe * (flow - INDOOR_DEGC)
    pressure = _room_pressure_pa(moisture, ventilation)
    coldest = float(surface.min())
    return Shown(
        surface_degc=surface,
        apparent_degc=apparent_temperature_degc(surface, emissivity, reflected),
        room_humidity=pressure / float(vapour_pressure_pa(INDOOR_DEGC, 1.0)),
        coldest_degc=coldest,
        coldest_humidity=float(surface_humidity(pressure, coldest)),
        critical_degc=float(
            critical_surface_temperature_degc(
                INDOOR_DEGC,
                max(0.01, pressure / float(vapour_pressure_pa(INDOOR_DEGC, 1.0))),
                surface_humidity=_MOULD,
            )
        ),
    )


def _room_pressure_pa(moisture_kg_per_day: float, air_change_per_h: float) -> float:
    """Vapour pressure of the room's air at balance, no higher than saturation."""
    outdoor = float(vapour_pressure_pa(OUTDOOR_DEGC, OUTDOOR_HUMIDITY))
    excess = float(
        moisture_excess_from_balance_pa(moisture_kg_per_day, air_change_per_h, ROOM_M3, INDOOR_DEGC)
    )
    return min(outdoor + excess, float(vapour_pressure_pa(INDOOR_DEGC, 1.0)))


def _scene(insulation_mm: float) -> Scene:
    layers = (layer("plaster", 0.015, 0.57, 1.1), layer("brick", 0.24, 0.70, 1.4))
    added = (layer("insulation", insulation_mm / 1000.0, 0.035, 0.05),) if insulation_mm else ()
    post = Band(name="concrete", material=CONCRETE, width_m=0.24, first=1, last=1)
    film = Film(open_m2k_w=0.13, sheltered_m2k_w=0.13)
    return Scene(
        wall=FlatWall(layers=(*layers, *added), film=film, sheltered_at_m=0.0, band=post),
        climate=Climate(
            indoor_degc=INDOOR_DEGC, indoor_humidity=0.5, outdoor_mean_degc=OUTDOOR_DEGC, outdoor_swing_k=0.0
        ),
        camera=Camera(rows=90, columns=120, field_of_view_deg=(42.0, 32.0)),
        errors=Errors(),
        origin=0.35,
    )


@cache
def _solved() -> tuple[FloatArray, FloatArray]:
    """Temperature factors along the wall for each thickness, and the pipe's share at each pixel."""
    factors = []
    for thickness_mm in INSULATION_MM:
        scene = _scene(thickness_mm)
        along_m, _ = positions_m(scene)
        factors.append(section(scene.wall, along_m).factor_at_films[0])
    bare = _scene(0.0)
    across_m, up_m = plane_m(bare)
    width_m, height_m = float(across_m.max()), float(up_m.max())
    points = ((0.75 * width_m, height_m), (0.75 * width_m, 0.4 * height_m), (width_m, 0.4 * height_m))
    rise = face_of(bare).rise_k(Run(points_m=points, width_m=0.022).share(across_m, up_m), 0.03)
    return np.array(factors), _PIPE_SHARE * rise / float(rise.max())


def open_demonstrator(*, language: str = "en") -> Demonstrator:
    """Sliders and the picture they move, for a class to look at together."""
    return Demonstrator(Wording(language))


class Demonstrator:
    """Six sliders, the picture a camera set to 1.00 shows, and three numbers."""

    def __init__(self, words: Wording) -> None:
        self.words = words
        self.sliders = {
            name: widgets.FloatSlider(
                description=words.say(f"demonstrator.{name}"),
                value=value,
                min=low,
                max=high,
                step=step,
                readout_format=".2f" if step < 0.1 else ".1f" if step < 1.0 else ".0f",
                **_WIDE,
            )
            for name, (value, low, high, step) in _SLIDERS.items()
        }
        found = self.result()
        self.picture = Picture(
            found.apparent_degc,
            label=words.say("demonstrator.picture"),
            labels=labels(words.language),
            locale=words.language,
            read_only=True,
            bar={"low": 6.0, "high": 24.0},
            lines=self._lines(found),
        )
        self.told = widgets.HTML()
        caution = widgets.HTML(f"<p>{escape(words.say('demonstrator.what'))}</p>")
        self.widget = widgets.VBox([caution, *self.sliders.values(), self.told, self.picture])
        for slider in self.sliders.values():
            slider.observe(self.redraw, "value")
        self._tell(found)

    def result(self) -> Shown:
        """What the sliders lead to."""
        return shown(**{name: slider.value for name, slider in self.sliders.items()})

    def redraw(self, _change: object = None) -> None:
        """Show what the sliders say now."""
        found = self.result()
        with self.picture.hold_sync():
            self.picture.show_frame(found.apparent_degc)
            self.picture.lines = self._lines(found)
        self._tell(found)

    def _lines(self, found: Shown) -> list[dict[str, Any]]:
        return [{"temperature_degc": found.critical_degc, "label": self.words.say("demonstrator.critical")}]

    def _tell(self, found: Shown) -> None:
        number = self.words.number
        text = self.words.say(
            "demonstrator.told",
            room=number(100.0 * found.room_humidity, 0, "%"),
            coldest=number(found.coldest_degc, 1, "degC"),
            shown=number(float(found.apparent_degc.min()), 1, "degC"),
            humidity=number(100.0 * min(found.coldest_humidity, 1.0), 0, "%"),
        )
        self.told.value = f"<p role='status'>{escape(text)}</p>"

    def __repr__(self) -> str:
        return "Demonstrator()"

    def _repr_mimebundle_(self, **kwargs: Any) -> dict[str, Any]:
        """What a notebook shows: the widgets, with a text that is the same in every run."""
        return {**self.widget._repr_mimebundle_(**kwargs), "text/plain": repr(self)}
