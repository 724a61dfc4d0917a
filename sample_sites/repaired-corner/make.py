"""Makes this invented site anew, the earlier visit inside it included: `python make.py`."""

from dataclasses import replace
from datetime import UTC, date, datetime
from pathlib import Path

import numpy as np

from thermalkit.imaging.camera import Camera
from thermalkit.scenes import Climate, FlatWall, Options, OuterCorner, Scene, seen, truth_at, write_site
from thermalkit.scenes.buildups import CONCRETE, layer
from thermalkit.scenes.scene import Errors
from thermalkit.scenes.things import Thing
from thermalkit.scenes.walls import Band, Film

BRICK = (layer("plaster", 0.013, 0.57, 1.1), layer("brick", 0.330, 0.77, 1.4))
INSULATED = (*BRICK, layer("insulation", 0.140, 0.035, 0.03), layer("render", 0.008, 0.87, 1.6))
FILM = Film(open_m2k_w=0.14, sheltered_m2k_w=0.22, reach_m=0.25)
BEFORE = Scene(
    wall=OuterCorner(layers=BRICK, film=FILM, post=CONCRETE),
    climate=Climate(
        indoor_degc=18.2,
        stratification_k_m=0.3,
        indoor_humidity=0.61,
        outdoor_mean_degc=-1.5,
        outdoor_swing_k=1.6,
        warmest_hour=14.8,
        hour=8.6,
    ),
    camera=Camera(
        rows=120,
        columns=160,
        field_of_view_deg=(42.0, 32.1),
        noise_k=0.05,
        offset_k=-1.2,
        vignetting_k=-0.15,
        drift_k=0.08,
        dead_pixels=1,
    ),
    errors=Errors(air_k=0.3, humidity=0.015, outdoor_k=-0.2, contact_k=-0.2),
    distance_m=2.0,
    origin=0.46,
    angle_deg=44.0,
    emissivity=0.94,
    reflected_degc=18.0,
    things=(
        Thing(name="skirting", box=(112, 120, 0, 160), share=0.25),
        Thing(name="metal plate", box=(98, 104, 131, 137), emissivity=0.2),
        Thing(name="metal plate", box=(16, 20, 126, 130), emissivity=0.2),
        Thing(name="metal plate", box=(96, 101, 24, 29), emissivity=0.2),
        Thing(name="lamp", box=(20, 32, 20, 30), share=0.7),
    ),
)
AFTER = replace(
    BEFORE,
    wall=OuterCorner(layers=INSULATED, film=FILM, post=CONCRETE),
    climate=Climate(
        indoor_degc=20.3,
        stratification_k_m=0.3,
        indoor_humidity=0.50,
        outdoor_mean_degc=4.2,
        outdoor_swing_k=2.4,
        warmest_hour=14.4,
        hour=9.3,
        sky="broken",
    ),
    camera=replace(BEFORE.camera, offset_k=0.9, drift_k=-0.05),
    errors=replace(BEFORE.errors, contact_k=0.25),
    distance_m=2.2,
    origin=0.5,
    reflected_degc=20.4,
    things=(
        Thing(name="skirting", box=(107, 120, 0, 160), share=0.25),
        Thing(name="metal plate", box=(95, 100, 132, 138), emissivity=0.2),
        Thing(name="metal plate", box=(20, 24, 128, 131), emissivity=0.2),
        Thing(name="metal plate", box=(93, 97, 35, 39), emissivity=0.2),
        Thing(name="lamp", box=(24, 35, 31, 40), share=0.7),
    ),
)
NORTH_BEFORE = replace(
    BEFORE,
    wall=FlatWall(layers=BRICK, film=Film(open_m2k_w=0.14, sheltered_m2k_w=0.14), sheltered_at_m=0.0),
    camera=replace(BEFORE.camera, offset_k=-1.0),
    things=(Thing(name="skirting", box=(112, 120, 0, 160), share=0.25),),
)
LINTEL = Band(name="concrete lintel", material=CONCRETE, width_m=0.25, first=1, last=1)
LINTEL_AFTER = replace(
    AFTER,
    wall=FlatWall(layers=INSULATED, film=FILM, sheltered_at_m=-0.4, band=LINTEL, is_level=True),
    camera=replace(AFTER.camera, offset_k=1.0),
    things=(),
)
# What was there on both days, as clicked in both frames, so that one can be laid over the other.
FIXED_POINTS = {
    "lamp": ((20, 20), (24, 31)),
    "hook": ((16, 126), (20, 128)),
    "socket-right": ((98, 131), (95, 132)),
    "socket-left": ((96, 24), (93, 35)),
    "corner-foot": ((112, 74), (107, 80)),
}


def about(visit: datetime, cured: bool) -> dict[str, object]:
    """Tables of `site.toml`: the same house, surveyor and instruments on both visits."""
    built_of = [("gypsum plaster", 13.0), ("solid brick", 330.0)]
    built_of += [("mineral wool, outside", 140.0), ("render", 8.0)] if cured else []
    frame = {"room": "bedroom", "orientation": "NE", "emissivity": 0.93}
    other = {"room": "bedroom", "orientation": "N", "taken_at": visit.replace(minute=50)}
    return {
        "site": {
            "name": "End house, 3 Sample Close",
            "reference": f"INV-{visit.year}-017",
            "surveyed_at": visit,
            "country": "GB",
            "question": "Did the new outside insulation cure the mouldy corner? Asked by the owner."
            if cured
            else "Why is there mould in the outer corner of the bedroom? Asked by the owner.",
            "climate_mode": "heating",
        },
        "surveyor": {
            "name": "Sam Sample",
            "qualification": "Building surveyor, thermography level 2 (invented)",
        },
        "report": {"language": "en", "private": False},
        "limits": {"set": "GB-dwelling"},
        "weather": {
            "relative_humidity_percent": 84.0,
            "wind_speed_m_s": 1.1,
            "hours_since_sun": 16.0,
            "hours_since_rain": 36.0,
            "hours_steady": 24.0,
        },
        "instruments": {
            "cam": {"serial": "INV-CAM-5", "calibrated_on": date(2025, 6, 2), "uniformity_k": 0.2},
            "hygro": {"serial": "INV-HYG-3", "calibrated_on": date(2025, 9, 15)},
            "outdoor": {"serial": "INV-HYG-4", "calibrated_on": date(2025, 9, 15)},
            "probe": {"serial": "INV-TMP-6", "calibrated_on": date(2025, 4, 10)},
        },
        "rooms": [{"id": "bedroom", "name": "Bedroom", "use": "bedroom", "climate_mode": "heating"}],
        "frames": [frame, other],
        "marks": [
            {},
            *(
                {
                    "frame": "corner",
                    "id": id,
                    "shape": "pin",
                    "points": [list(places[cured])],
                    "role": "fixed-point",
                }
                for id, places in FIXED_POINTS.items()
            ),
        ],
        "looked_at": [{"room": "bedroom", "element": "outer corner, floor to ceiling", "looked": "yes"}],
        "elements": [
            {
                "id": "outer-wall",
                "room": "bedroom",
                "kind": "wall",
                "construction": "solid brick, insulated outside in 2026" if cured else "solid brick",
                "layers": [{"material": name, "thickness_mm": mm} for name, mm in built_of],
                "orientation": "NE",
            }
        ],
    }


README = """\
# Repaired corner

An **invented** case: house, people, readings, serial numbers and frames do not exist. The frames were
calculated from a conduction model of the wall and a model of a camera; the photos are drawings.

## What it is

An end house of solid brick with a concrete post in its outer corner, mouldy in January 2026. In the summer
140 mm of mineral wool were put on the outside. A year later the same surveyor comes again with the same
instruments, in milder weather. The earlier visit stands in `earlier/`, where
`thermalkit new --again` puts it.

## What it teaches

- Degrees cannot be compared: on the second day it was 6 K warmer outdoors and 2 K warmer in the room. The
  temperature factor can, whatever the weather.
- The change is known better than two intervals held side by side would let expect: the hygrometer, the
  outdoor thermometer, the surface film in the corner and the paint on it were the same on both days.
- The camera read {before:+.1f} K wrong on the first day and {after:+.1f} K on the second. Nothing of
  that cancels; the contact readings take care of it.
- Five fixed points (lamp, hook, sockets, foot of the corner) were clicked in both frames, taken from places
  20 cm apart: so one picture can be laid over the other.
- The north wall was looked at on the first visit only, the lintel on the second only: of neither can a change
  be shown.

## True answer

| place | temperature factor before | after | change |
|---|---|---|---|
| corner, coldest spot | {spots[0]:.2f} | {spots[1]:.2f} | {spots[2]:+.2f} |
| sound wall beside it | {beside[0]:.2f} | {beside[1]:.2f} | {beside[2]:+.2f} |

All of it stands in `truth.toml` of both folders. `python make.py` makes both anew.
"""
EARLIER_README = """\
# Repaired corner, the earlier visit

**Invented**, as the folder it stands in; its `README.md` says what this is.
"""


def make(folder: Path) -> None:
    """Write the site and its earlier visit into a folder."""
    rng = np.random.default_rng(20270119)
    before = [
        seen(BEFORE, rng, Options(), frame="corner"),
        seen(NORTH_BEFORE, rng, Options(contact=False), frame="north-wall"),
    ]
    after = [
        seen(AFTER, rng, Options(), frame="corner"),
        seen(LINTEL_AFTER, rng, Options(contact=False), frame="lintel"),
    ]
    factors = [
        [truth_at(visit[0], getattr(visit[0], role)).factor for visit in (before, after)]
        for role in ("suspect", "sound")
    ]
    spots, beside = ([*pair, pair[1] - pair[0]] for pair in factors)
    readme = README.format(
        before=BEFORE.camera.offset_k, after=AFTER.camera.offset_k, spots=spots, beside=beside
    )
    first, second = datetime(2026, 1, 21, 8, 20, tzinfo=UTC), datetime(2027, 1, 19, 9, 0, tzinfo=UTC)
    write_site(
        folder / "earlier",
        before,
        about=about(first, cured=False),
        marks=(),
        readme=EARLIER_README,
        midnight=first.replace(hour=0, minute=0),
    )
    write_site(
        folder,
        after,
        about=about(second, cured=True),
        marks=(),
        readme=readme,
        midnight=second.replace(hour=0, minute=0),
    )


if __name__ == "__main__":
    make(Path(__file__).parent)
