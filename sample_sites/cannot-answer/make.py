"""Makes this invented site anew: `python make.py`."""

from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import numpy as np

from thermalkit.imaging.camera import Camera
from thermalkit.scenes import Climate, FlatWall, Options, Scene, Spot, Stain, seen, truth_at, write_site
from thermalkit.scenes.buildups import layer
from thermalkit.scenes.scene import Errors
from thermalkit.scenes.things import Thing
from thermalkit.scenes.walls import Film

SUMMER_TIME = timezone(timedelta(hours=2))
SCENE = Scene(
    wall=FlatWall(
        layers=(layer("plaster", 0.015, 0.57, 1.1), layer("brick", 0.300, 0.70, 1.4)),
        film=Film(open_m2k_w=0.13, sheltered_m2k_w=0.20, reach_m=0.3),
        sheltered_at_m=-0.7,
    ),
    climate=Climate(
        indoor_degc=21.0,
        stratification_k_m=0.3,
        indoor_humidity=0.58,
        outdoor_mean_degc=15.2,
        outdoor_swing_k=5.5,
        warmest_hour=15.0,
        hour=12.4,
        sky="clear",
    ),
    camera=Camera(
        rows=240,
        columns=320,
        field_of_view_deg=(35.0, 26.6),
        noise_k=0.07,
        offset_k=1.4,
        vignetting_k=-0.2,
        drift_k=0.15,
        dead_pixels=1,
    ),
    errors=Errors(air_k=0.3, humidity=0.0, outdoor_k=-0.2, contact_k=0.1),
    distance_m=2.2,
    emissivity=0.93,
    reflected_degc=21.4,
    things=(Thing(name="skirting", box=(228, 240, 0, 320), share=0.2),),
    stains=(
        Stain(
            name="grey place in the corner of the room",
            shape=Spot(centre_m=(0.25, 0.35), radius_m=0.18, raggedness=0.3, softness_m=0.05, seed=2),
            wetness=0.0,
        ),
    ),
)
ABOUT = {
    "site": {
        "name": "Reihenhaus Platzhalterring 12",
        "reference": "ERF-2026-016",
        "surveyed_at": datetime(2026, 5, 12, 12, 10, tzinfo=SUMMER_TIME),
        "country": "DE",
        "question": "Ist die Südwand des Kinderzimmers feucht, und woher? Gefragt vom Verwalter.",
        "climate_mode": "heating",
    },
    "surveyor": {
        "name": "Erika Erfunden",
        "qualification": "Sachverständige für Schäden an Gebäuden (erfunden)",
        "certificate": "ERF-0815",
        "certificate_expires_on": date(2027, 12, 31),
    },
    "report": {"language": "de", "private": False},
    "limits": {"set": "DE-dwelling"},
    "weather": {
        "mean_24h_air_temperature_degc": None,
        "wind_speed_m_s": 2.8,
        "hours_since_sun": 1.0,
        "hours_since_rain": 130.0,
        "hours_steady": 2.0,
    },
    "instruments": {
        "cam": {"serial": "ERF-KAM-2", "calibrated_on": date(2025, 3, 4), "uniformity_k": 0.2},
        "hygro": {
            "serial": "ERF-HYG-1",
            "calibrated_on": date(2025, 10, 1),
            "accuracy_percent_rh": None,
        },
        "outdoor": {"serial": "ERF-HYG-2", "calibrated_on": date(2025, 10, 1)},
    },
    "rooms": [
        {
            "id": "kinderzimmer",
            "name": "Kinderzimmer",
            "use": "Kinderzimmer",
            "climate_mode": "heating",
            "floor_area_m2": 11.0,
            "volume_m3": 27.0,
            "relative_humidity_percent": None,
        }
    ],
    "frames": [{"room": "kinderzimmer", "orientation": "S"}],
    "moisture": {
        "occupants": 4,
        "remarks": "Feuchteanzeige des Geräts ausgefallen; Fenster bis 10 Uhr offen",
    },
    "looked_at": [
        {"room": "kinderzimmer", "element": "Südwand, linke Hälfte", "looked": "yes"},
        {
            "room": "kinderzimmer",
            "element": "Südwand hinter dem Schrank",
            "looked": "not possible",
            "why": "Schrank festgeschraubt",
        },
        {"element": "Dachrinne", "looked": "no", "why": "keine Leiter dabei"},
    ],
}
README = """\
# Cannot answer

An **invented** case: house, people, readings, serial numbers and frames do not exist. The frame was
calculated from a conduction model of the wall and a model of a camera; the photo is a drawing.

## What it is

A south wall, looked at around noon in May: {difference:.1f} K between indoors and outdoors, sun on the
wall an hour ago, the windows just closed, a hygrometer that shows no humidity, no contact reading on the
wall. The report is asked for in German.

## What it teaches

- A survey that cannot answer says so, and says what would be needed: heating season, 10 K and more, no sun
  for half a day, humidity, a contact reading.
- The picture is as colourful as any: its coldest place is {spot.surface_degc:.1f} °C, the wall beside it
  {sound.surface_degc:.1f} °C. That means nothing here.
- Not knowing is an answer a client can act on; a guess is not.

## True answer

Nothing wets the wall; the grey is dust. Nobody could know it from this visit. All of it stands in
`truth.toml`. `python make.py` makes the folder anew.
"""


def make(folder: Path) -> None:
    """Write the site into a folder."""
    options = Options(daily_mean=False, contact=False, reflected=False)
    picture = seen(SCENE, np.random.default_rng(20260512), options, frame="suedwand")
    readme = README.format(
        spot=truth_at(picture, picture.suspect),
        sound=truth_at(picture, picture.sound),
        difference=picture.written.air_temperature_degc - picture.written.outdoor_degc,
    )
    midnight = datetime(2026, 5, 12, tzinfo=SUMMER_TIME)
    truth = {"source_id": "nothing"}
    write_site(folder, [picture], about=ABOUT, marks=(), truth=truth, readme=readme, midnight=midnight)


if __name__ == "__main__":
    make(Path(__file__).parent)
