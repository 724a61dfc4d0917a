"""Makes this invented site anew: `python make.py`."""

from dataclasses import replace
from datetime import date, datetime, timedelta, timezone
from pathlib import Path

import numpy as np

from thermalkit.imaging.camera import Camera
from thermalkit.imaging.mark import Mark
from thermalkit.physics.moist_air import dew_point_degc
from thermalkit.scenes import Climate, FlatWall, Scene, seen, truth_at, write_site
from thermalkit.scenes.buildups import CONCRETE, layer
from thermalkit.scenes.heat import true_extra_w_k
from thermalkit.scenes.scene import Errors
from thermalkit.scenes.things import Thing
from thermalkit.scenes.walls import Band, Film

LOCAL_TIME = timezone(timedelta(hours=8))
OUTDOOR_HUMIDITY = 0.80
EVENING = Climate(
    indoor_degc=22.0,
    stratification_k_m=0.2,
    indoor_humidity=0.58,
    outdoor_mean_degc=32.0,
    outdoor_swing_k=1.5,
    warmest_hour=14.5,
    hour=20.5,
    sky="broken",
)
INSULATED = (
    layer("plasterboard", 0.0125, 0.25, 0.9),
    layer("insulation", 0.040, 0.040, 0.05),
    layer("block", 0.150, 0.60, 1.3),
    layer("render", 0.015, 0.87, 1.6),
)
CAMERA = Camera(
    rows=120,
    columns=160,
    field_of_view_deg=(42.0, 32.0),
    noise_k=0.05,
    offset_k=-0.8,
    vignetting_k=-0.1,
    drift_k=0.05,
    dead_pixels=1,
)
FREE = Film(open_m2k_w=0.14, sheltered_m2k_w=0.14)
SLAB = Scene(
    wall=FlatWall(
        layers=INSULATED,
        film=FREE,
        sheltered_at_m=0.0,
        band=Band(name="slab edge without insulation", material=CONCRETE, width_m=0.22, first=1, last=2),
        is_level=True,
    ),
    climate=EVENING,
    camera=CAMERA,
    errors=Errors(air_k=-0.1, humidity=0.01, outdoor_k=0.2, contact_k=-0.1),
    distance_m=2.4,
    origin=0.55,
    emissivity=0.93,
    reflected_degc=22.2,
    things=(Thing(name="curtain", box=(96, 120, 132, 160), share=0.8),),
)
BAY = replace(
    SLAB,
    wall=FlatWall(
        layers=INSULATED,
        film=FREE,
        sheltered_at_m=0.0,
        band=Band(
            name="bay without insulation",
            material=layer("air", 0.040, 0.22, 0.0012).material,
            width_m=0.60,
            first=1,
            last=1,
        ),
        is_level=False,
    ),
    camera=replace(CAMERA, offset_k=-0.6),
    distance_m=2.8,
    origin=0.45,
    things=(),
)
SLAB_EDGE = Mark(
    frame="slab-edge", id="slab edge", shape="patch", points=((56, 20), (56, 125), (75, 125), (75, 20))
)
EMPTY_BAY = Mark(
    frame="study-wall", id="bay", shape="patch", points=((10, 50), (10, 94), (110, 94), (110, 50))
)
ABOUT = {
    "site": {
        "name": "Harbour flat 11-04, Example Quay",
        "reference": "INV-2026-044",
        "surveyed_at": datetime(2026, 7, 22, 20, 20, tzinfo=LOCAL_TIME),
        "country": "SG",
        "question": "Why is this flat hard to cool, and where may it get damp? Asked by the owner.",
        "climate_mode": "cooling",
    },
    "surveyor": {
        "name": "Robin Placeholder",
        "qualification": "Building surveyor, thermography level 2 (invented)",
        "certificate": "INV-TH2-0311",
        "certificate_expires_on": date(2027, 11, 30),
    },
    "report": {"language": "en", "private": False},
    "limits": {"set": "general"},
    "climate": {
        "monthly_air_temperature_degc": [
            26.8,
            27.3,
            27.8,
            28.2,
            28.6,
            28.5,
            28.2,
            28.1,
            28.0,
            27.9,
            27.2,
            26.8,
        ],
        "monthly_relative_humidity_percent": [83, 81, 82, 83, 82, 81, 81, 81, 82, 83, 86, 86],
        "source": "invented, of the order of an equatorial coast",
    },
    "weather": {
        "relative_humidity_percent": 81.0,
        "wind_speed_m_s": 1.0,
        "hours_since_sun": 15.0,
        "hours_since_rain": 30.0,
        "hours_steady": 240.0,
    },
    "instruments": {
        "cam": {"serial": "INV-CAM-14", "calibrated_on": date(2026, 1, 20), "uniformity_k": 0.2},
        "hygro": {"serial": "INV-HYG-41", "calibrated_on": date(2026, 2, 1)},
        "outdoor": {"serial": "INV-HYG-42", "calibrated_on": date(2026, 2, 1), "accuracy_percent_rh": 3.0},
        "probe": {"serial": "INV-TMP-18", "calibrated_on": date(2026, 2, 1)},
    },
    "rooms": [
        {
            "id": "living",
            "name": "Living room",
            "climate_mode": "cooling",
            "floor_area_m2": 22.0,
            "open_flued_appliance": "no",
        },
        {
            "id": "study",
            "name": "Study",
            "climate_mode": "cooling",
            "floor_area_m2": 9.0,
            "air_temperature_degc": 21.9,
            "relative_humidity_percent": 59.0,
            "instrument": "hygro",
            "open_flued_appliance": "no",
        },
    ],
    "frames": [
        {"room": "living", "orientation": "N"},
        {"room": "study", "orientation": "N"},
    ],
    "looked_at": [
        {"room": "living", "element": "slab edge above the north wall", "looked": "yes"},
        {"room": "study", "element": "north wall between the battens", "looked": "yes"},
        {
            "room": "living",
            "element": "cavity behind the cooling unit",
            "looked": "not possible",
            "why": "unit fixed to the wall; for a cooling engineer",
        },
    ],
}
README = """\
# Cooled flat

An **invented** case: flat, people, readings, serial numbers and frames do not exist. The frames were
calculated from a conduction model of the walls and a model of a camera; the photos are drawings.

## What it is

A flat in a hot, humid climate, cooled day and night. A slab edge was left without insulation, and one bay of
the study's wall has none either. Both are warm stripes on the inner face.

## What it teaches

- In a cooled flat the same faults let heat in; what is wrong is warm.
- Two findings for each place: the room's own air stays dry on it, outdoor air that leaks in would not.
- The outdoor dew point was {dew:.1f} °C. Outdoor air wets any surface below it, wherever it gets in.
- The difference between indoors and outdoors is small, so the numbers are wide; they say so.

## True answer

| place | surface temperature | extra heat flow of the place |
|---|---|---|
| slab edge | {slab.surface_degc:.1f} °C | {slab_w_k:.2f} W/K |
| bay | {bay.surface_degc:.1f} °C | {bay_w_k:.2f} W/K |

All of it stands in `truth.toml`. `python make.py` makes the folder anew.
"""


def make(folder: Path) -> None:
    """Write the site into a folder."""
    rng = np.random.default_rng(20260722)
    slab = replace(seen(SLAB, rng, frame="slab-edge"), suspect=SLAB_EDGE)
    bay = replace(seen(BAY, rng, frame="study-wall"), suspect=EMPTY_BAY)
    readme = README.format(
        dew=float(dew_point_degc(EVENING.outdoor_degc, OUTDOOR_HUMIDITY)),
        slab=truth_at(slab, slab.suspect),
        bay=truth_at(bay, bay.suspect),
        slab_w_k=true_extra_w_k(slab),
        bay_w_k=true_extra_w_k(bay),
    )
    write_site(
        folder,
        [slab, bay],
        about=ABOUT,
        marks=(),
        readme=readme,
        truth={
            "source_of_water": "outdoor air, wherever it leaks in",
            "extra_heat_flow_w_k": {p.suspect.id: round(true_extra_w_k(p), 4) for p in (slab, bay)},
        },
        midnight=datetime(2026, 7, 22, tzinfo=LOCAL_TIME),
    )


if __name__ == "__main__":
    make(Path(__file__).parent)
