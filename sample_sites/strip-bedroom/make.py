"""Makes this invented site anew: `python make.py`."""

from datetime import UTC, date, datetime
from io import BytesIO
from pathlib import Path

import numpy as np
import plotly.colors
from PIL import Image, ImageDraw

from thermalkit.imaging.camera import Camera
from thermalkit.measured import FloatArray
from thermalkit.scenes import Climate, Options, OuterCorner, Scene, seen, truth_at, write_site
from thermalkit.scenes.buildups import layer
from thermalkit.scenes.scene import Errors
from thermalkit.scenes.things import Thing
from thermalkit.scenes.walls import Film

BRICK = (layer("plaster", 0.013, 0.57, 1.1), layer("brick", 0.365, 0.70, 1.4))
CORNER = Scene(
    wall=OuterCorner(layers=BRICK, film=Film(open_m2k_w=0.14, sheltered_m2k_w=0.22, reach_m=0.25)),
    climate=Climate(
        indoor_degc=18.6,
        stratification_k_m=0.3,
        indoor_humidity=0.57,
        outdoor_mean_degc=-1.0,
        outdoor_swing_k=1.4,
        warmest_hour=14.8,
        hour=8.8,
    ),
    camera=Camera(
        rows=60,
        columns=80,
        field_of_view_deg=(42.0, 32.1),
        noise_k=0.1,
        offset_k=1.4,
        vignetting_k=-0.2,
        drift_k=0.1,
    ),
    errors=Errors(air_k=-0.2, humidity=0.01, outdoor_k=0.2, contact_k=0.15),
    distance_m=1.9,
    origin=0.45,
    angle_deg=45.0,
    emissivity=0.94,
    reflected_degc=18.4,
    things=(Thing(name="skirting", box=(56, 60, 0, 80), share=0.25),),
)
ENLARGED = 4  # what the camera saves is larger than its detector
MARGIN_PX, STRIP_PX, LENGTH_PX = 10, 12, 220
ROWS, COLUMNS = 60 * ENLARGED, 80 * ENLARGED
TOP, LEFT = MARGIN_PX + (ROWS - LENGTH_PX) // 2, COLUMNS + 30

Points = tuple[tuple[float, float], ...]

README = """\
# Strip bedroom

An **invented** case: house, people, readings, serial numbers and frames do not exist. The frame was
calculated from a conduction model of the wall and a model of a camera; the photo is a drawing.

## What it is

A north bedroom of 365 mm brick with a musty outer corner. The surveyor had a low-cost camera with a detector
of 80 x 60 pixels, which saves nothing but a coloured JPEG: four times enlarged, with a strip beside it, a
cross in the middle and a badge in a corner. The strip's ends are written in whole degrees.

## What it teaches

- Temperatures come back from colours, once the strip is marked and its ends are typed. The ends were
  {cold:.2f} °C and {warm:.2f} °C; the camera wrote {cold_shown:.0f} and {warm_shown:.0f}. Half a degree of
  rounding is part of every interval.
- Cross, badge and text are no temperatures and are masked.
- The picture is judged by the detector's pixels, not by the enlarged ones: a place needs several of those.
- A contact reading on sound wall takes up the camera's {offset:+.1f} K and much of the rounding with it.

## True answer

| place | surface temperature | humidity of the air at the surface | temperature factor at 0.25 m²K/W |
|---|---|---|---|
| corner, coldest spot | {corner.surface_degc:.1f} °C | {corner_percent:.0f} % | {corner.factor:.2f} |
| sound wall beside it | {beside.surface_degc:.1f} °C | {beside_percent:.0f} % | {beside.factor:.2f} |

All of it stands in `truth.toml`. `python make.py` makes the folder anew.
"""


def about(cold_degc: float, warm_degc: float, sound: Points) -> dict[str, object]:
    """Tables of `site.toml` that no picture gives."""
    strip = {
        "ends": [[float(TOP + LENGTH_PX - 1), LEFT + 6.0], [float(TOP), LEFT + 6.0]],
        "cold_degc": round(cold_degc),
        "warm_degc": round(warm_degc),
        "rounded_to_k": 1.0,
        "area": [[float(MARGIN_PX)] * 2, [MARGIN_PX + ROWS - 1.0, MARGIN_PX + COLUMNS - 1.0]],
    }
    return {
        "site": {
            "name": "Semi-detached house, 8 Invented Lane",
            "reference": "INV-2026-031",
            "surveyed_at": datetime(2026, 1, 28, 8, 30, tzinfo=UTC),
            "country": "GB",
            "question": "Is the musty corner of the north bedroom damp from the air? Asked by the tenant.",
            "climate_mode": "heating",
        },
        "surveyor": {"name": "Sam Sample", "qualification": "Building surveyor (invented)"},
        "report": {"language": "en", "private": False},
        "limits": {"set": "GB-dwelling"},
        "weather": {
            "relative_humidity_percent": 87.0,
            "wind_speed_m_s": 1.0,
            "hours_since_sun": 17.0,
            "hours_since_rain": 40.0,
            "hours_steady": 24.0,
        },
        "instruments": {
            "cam": {"serial": "INV-CAM-9", "calibrated_on": date(2025, 8, 4), "uniformity_k": 0.3},
            "hygro": {"serial": "INV-HYG-5", "calibrated_on": date(2025, 9, 15)},
            "outdoor": {"serial": "INV-HYG-6", "calibrated_on": date(2025, 9, 15)},
            "probe": {"serial": "INV-TMP-8", "calibrated_on": date(2025, 4, 10)},
        },
        "rooms": [{"id": "bedroom", "name": "North bedroom", "use": "bedroom", "climate_mode": "heating"}],
        "frames": [
            {
                "file": "thermal/corner.jpg",
                "room": "bedroom",
                "orientation": "N",
                "scale": 1.0,
                "offset": 0.0,
                "strip": strip,
            }
        ],
        "marks": [{"points": [[ENLARGED * (at + 0.5) - 0.5 for at in point] for point in sound]}],
        "looked_at": [{"room": "bedroom", "element": "outer corner, floor to ceiling", "looked": "yes"}],
    }


def screen(apparent_degc: FloatArray, ends_degc: tuple[float, float]) -> bytes:
    """What the camera saves: the frame in colours of an open map, the strip, a cross and a badge."""
    stops = np.array([plotly.colors.hex_to_rgb(stop) for stop in plotly.colors.sequential.Inferno], float)
    places = np.linspace(0.0, 255.0, len(stops))
    table = np.rint([[np.interp(n, places, channel) for channel in stops.T] for n in range(256)])
    cold, warm = ends_degc
    large = Image.fromarray(apparent_degc.astype(np.float32)).resize(
        (COLUMNS, ROWS), Image.Resampling.BILINEAR
    )
    shade = np.clip(np.rint((np.asarray(large) - cold) / (warm - cold) * 255), 0, 255).astype(int)
    drawn = np.full((ROWS + 2 * MARGIN_PX, COLUMNS + 80, 3), 20, np.uint8)
    drawn[MARGIN_PX : MARGIN_PX + ROWS, MARGIN_PX : MARGIN_PX + COLUMNS] = table[shade]
    strip = table[np.rint(np.linspace(255, 0, LENGTH_PX)).astype(int)]
    drawn[TOP : TOP + LENGTH_PX, LEFT : LEFT + STRIP_PX] = strip[:, None]
    picture = Image.fromarray(drawn)
    pen = ImageDraw.Draw(picture)
    row, column = MARGIN_PX + ROWS // 2, MARGIN_PX + COLUMNS // 2
    pen.line((column - 9, row, column + 9, row), fill=(255, 255, 255))
    pen.line((column, row - 9, column, row + 9), fill=(255, 255, 255))
    pen.rectangle((16, ROWS - 14, 76, ROWS + 2), fill=(0, 120, 60))
    pen.text((20, ROWS - 12), "INVENTED", fill=(255, 255, 255))
    for at, end in ((TOP, warm), (TOP + LENGTH_PX - 12, cold)):
        pen.text((LEFT + STRIP_PX + 6, at), f"{end:.0f}", fill=(255, 255, 255))
    stream = BytesIO()
    picture.save(stream, "JPEG", quality=85, subsampling="4:2:0")
    return stream.getvalue()


def make(folder: Path) -> None:
    """Write the site into a folder."""
    corner = seen(CORNER, np.random.default_rng(20260128), Options(), frame="corner")
    cold, warm = (float(end) for end in (corner.apparent_degc.min(), corner.apparent_degc.max()))
    spot, beside = truth_at(corner, corner.suspect), truth_at(corner, corner.sound)
    readme = README.format(
        cold=cold,
        warm=warm,
        cold_shown=round(cold),
        warm_shown=round(warm),
        offset=CORNER.camera.offset_k,
        corner=spot,
        corner_percent=100.0 * spot.humidity,
        beside=beside,
        beside_percent=100.0 * beside.humidity,
    )
    write_site(
        folder,
        [corner],
        about=about(cold, warm, corner.sound.points),
        marks=(),
        files={"thermal/corner.jpg": screen(corner.apparent_degc, (cold, warm))},
        truth={"strip": {"cold_degc": round(cold, 3), "warm_degc": round(warm, 3), "enlarged": ENLARGED}},
        readme=readme,
    )
    (folder / "thermal" / "corner.tiff").unlink()  # this camera saves no numbers


if __name__ == "__main__":
    make(Path(__file__).parent)
