"""Site folders of invented cabinets, with their truth beside them."""

from __future__ import annotations

import io
from collections.abc import Mapping, Sequence
from dataclasses import asdict, dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from thermalkit.errors import WritingError
from thermalkit.language import say
from thermalkit.scenes.cabinet_cases import CLAMP_SHARE
from thermalkit.scenes.cabinet_pictures import (
    DEVICE_ABOVE_M,
    TERMINAL_M,
    Cabinet,
    CabinetFrame,
    frames_of,
    has_circuit,
    middle_m,
)
from thermalkit.scenes.scene import AIR_ACCURACY_K, CAMERA_ACCURACY_K, CAMERA_ACCURACY_PERCENT
from thermalkit.scenes.toml_text import toml_text
from thermalkit.scenes.write import OFFSET, SCALE, laid_over, stored_tiff

MORNING = datetime(2026, 2, 3, 9, 0, tzinfo=UTC)
_HEAD = "# Invented: calculated from a model, nobody's cabinet.\n\n"
_README = """\
# Invented cabinets

Building, people, readings and frames of this folder are invented: calculated from a model of conductors,
devices and joints, and of a camera. The photos are drawings. `truth.toml` holds what is true.
"""
_LONGEST_PX = 300


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Shown:
    """A cabinet with its frames and what the surveyor's meters read; one entry per circuit."""

    id: str
    cabinet: Cabinet
    frames: tuple[CabinetFrame, ...]
    read_a: tuple[float, ...]
    air_degc: float
    emissivity: float


def shown(cabinet: Cabinet, rng: np.random.Generator, id: str = "row") -> Shown:
    """Take the frames of a cabinet and read its currents and its air."""
    clamp = rng.uniform(-CLAMP_SHARE, CLAMP_SHARE)
    read_a = tuple(
        round(float(pole.current_a * (1.0 + clamp + rng.uniform(-0.005, 0.005))), 1) for pole in cabinet.poles
    )
    return Shown(
        id=id,
        cabinet=cabinet,
        frames=frames_of(cabinet, rng, id),
        read_a=read_a,
        air_degc=round(float(cabinet.air.temperature_degc + rng.uniform(-0.5, 0.5)), 1),
        emissivity=round(float(np.clip(cabinet.emissivity + rng.uniform(-0.02, 0.02), 0.9, 0.96)), 2),
    )


def write_cabinets(
    folder: Path,
    rows: Sequence[Shown],
    *,
    about: Mapping[str, Any] | None = None,
    with_marks: bool = True,
    readme: str = _README,
    truth: Mapping[str, Any] | None = None,
    start: datetime = MORNING,
) -> None:
    """Write one site folder with a row of poles for each cabinet.

    Parameters
    ----------
    folder : Path
        Made if it is not there; files of the same names are replaced.
    rows : sequence of Shown
    about : mapping, optional
        Tables of `site.toml` laid over those that follow, key by key and entry by entry.
    with_marks : bool
        Whether terminals, conductors and devices are marked in the file.
    readme : str
        Text of `README.md`; says that the site is invented.
    truth : mapping, optional
        Laid over the tables of `truth.toml`.
    start : datetime
        Of the visit.

    Raises
    ------
    WritingError
        The folder cannot be written.
    """
    tables = laid_over(site_tables(rows, with_marks, start), about or {})
    contents = {
        "site.toml": (_HEAD + toml_text(tables)).encode(),
        "truth.toml": toml_text(laid_over(truth_tables(rows), truth or {})).encode(),
        "README.md": readme.encode(),
    }
    for row in rows:
        for frame in row.frames:
            contents[f"thermal/{frame.id}.tiff"] = stored_tiff(frame.apparent_degc)
            contents[f"photos/{frame.id}.jpg"] = drawn_row(row)
    try:
        for name, content in contents.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            part = path.with_name(f"{path.name}.part")
            part.write_bytes(content)
            part.replace(path)
    except OSError as error:
        raise WritingError(
            say("error.not-written", path=str(folder), reason=error.strerror or str(error))
        ) from error


def site_tables(rows: Sequence[Shown], with_marks: bool, start: datetime) -> dict[str, Any]:
    """What the surveyor wrote down."""
    first = rows[0].cabinet
    marks = [mark.as_json() for row in rows for frame in row.frames for mark in frame.marks]
    return {
        "format": 1,
        "site": {"name": "Invented works", "surveyed_at": start},
        "instruments": _instruments(first),
        "rooms": [{"id": "room", "name": "Plant room", "air_temperature_degc": round(first.room_degc, 1)}],
        "cabinets": [_cabinet(row) for row in rows],
        "circuits": [item for row in rows for item in _circuits(row)],
        "frames": [
            _frame(row, frame, start + timedelta(minutes=3 * i + 5))
            for i, row in enumerate(rows)
            for frame in row.frames
        ],
        "marks": marks if with_marks else [],
    }


def _instruments(cabinet: Cabinet) -> dict[str, Any]:
    camera = cabinet.camera
    return {
        "cam": {
            "kind": "thermal_camera",
            "columns": camera.columns,
            "rows": camera.rows,
            "field_of_view_deg": [round(angle, 1) for angle in camera.field_of_view_deg],
            "accuracy_k": CAMERA_ACCURACY_K,
            "accuracy_percent": CAMERA_ACCURACY_PERCENT,
            "noise_k": round(camera.noise_k, 2),
            "band_um": list(camera.band_um),
        },
        "clamp": {"kind": "clamp_meter", "accuracy_percent": 100.0 * CLAMP_SHARE},
        "air": {"kind": "thermohygrometer", "accuracy_k": AIR_ACCURACY_K},
    }


def _cabinet(row: Shown) -> dict[str, Any]:
    return {
        "id": row.id,
        "room": "room",
        "air_temperature_degc": row.air_degc,
        "instrument": "air",
        "seen": "directly",
        "fan": "yes" if row.cabinet.fan else "no",
    }


def _circuits(row: Shown) -> list[dict[str, Any]]:
    return [
        {
            "id": pole.id,
            "cabinet": row.id,
            "group": pole.group,
            "phase": pole.phase,
            "rated_current_a": pole.rated_a,
            "measured_current_a": read,
            "true_rms": "yes",
            "instrument": "clamp",
            "minutes_since_load_changed": 120.0,
            "conductor_mm2": pole.area_mm2,
            "insulation": "PVC",
            "terminal_surface": "bright metal" if row.cabinet.bright else "insulated",
        }
        for pole, read in zip(row.cabinet.poles, row.read_a, strict=True)
        if has_circuit(pole)
    ]


def _frame(row: Shown, frame: CabinetFrame, taken_at: datetime) -> dict[str, Any]:
    return {
        "id": frame.id,
        "file": f"thermal/{frame.id}.tiff",
        "instrument": "cam",
        "room": "room",
        "subject": "cabinet",
        "values": "apparent",
        "taken_at": taken_at,
        "scale": SCALE,
        "offset": OFFSET,
        "emissivity": row.emissivity,
        "reflected_temperature_degc": round(row.cabinet.reflected_degc, 1),
        "distance_m": round(row.cabinet.distance_m, 2),
        "photo": f"photos/{frame.id}.jpg",
    }


def truth_tables(rows: Sequence[Shown]) -> dict[str, Any]:
    """What is true: the fault of each row, and the surface at every mark of its first frame."""
    return {
        "invented": True,
        "rows": [
            {
                "id": row.id,
                "fault": row.cabinet.fault,
                "circuit": None if row.cabinet.suspect is None else row.cabinet.poles[row.cabinet.suspect].id,
                "poles": [_rounded(asdict(pole)) for pole in row.cabinet.poles],
            }
            for row in rows
        ],
        "marks": [
            {"frame": mark.frame, "id": mark.id, "surface_degc": round(row.frames[0].truth_at(mark), 2)}
            for row in rows
            for mark in row.frames[0].marks
        ],
    }


def _rounded(values: Mapping[str, Any]) -> dict[str, Any]:
    return {key: float(f"{v:.5g}") if isinstance(v, float) else v for key, v in values.items()}


def drawn_row(row: Shown, caption: str = "DRAWING - invented, not a photo") -> bytes:
    """JPEG of the same view in plain colours, captioned as a drawing."""
    from PIL import Image, ImageDraw

    cabinet = row.cabinet
    rows, columns = cabinet.shape
    wide_px = round(_LONGEST_PX * min(columns / rows, 1.0))
    scale = wide_px / columns / cabinet.side_m
    image = Image.new("RGB", (wide_px, round(wide_px * rows / columns)), (205, 208, 206))
    pen = ImageDraw.Draw(image)
    rail_m = DEVICE_ABOVE_M + cabinet.device_m / 2.0
    pen.rectangle((0, (rail_m - 0.0175) * scale, wide_px, (rail_m + 0.0175) * scale), fill=(176, 180, 184))
    colours = {"L1": (120, 82, 45), "L2": (35, 35, 35), "L3": (128, 128, 128), "N": (70, 130, 180)}
    for i, pole in enumerate(cabinet.poles):
        middle, half = middle_m(cabinet, i) * scale, 0.48 * cabinet.pitch_m * scale
        wire = pole.wire.outer_diameter_m * scale / 2.0
        top, ends = DEVICE_ABOVE_M * scale, cabinet.terminal_top_m * scale
        below = (cabinet.terminal_top_m + TERMINAL_M) * scale
        if has_circuit(pole):
            pen.rectangle(
                (middle - wire, below, middle + wire, image.size[1]),
                fill=colours.get(pole.phase, (90, 90, 90)),
            )
        pen.rectangle((middle - half, top, middle + half, ends), fill=(236, 236, 232), outline=(90, 90, 90))
        fill = (190, 192, 196) if cabinet.bright else (214, 214, 208)
        pen.rectangle((middle - half, ends, middle + half, below), fill=fill, outline=(90, 90, 90))
        pen.text((middle - half + 2, top + 3), pole.id, fill=(40, 40, 40))
    pen.rectangle((0, image.size[1] - 16, wide_px, image.size[1]), fill=(250, 250, 250))
    pen.text((4, image.size[1] - 14), caption, fill=(70, 70, 70))
    stream = io.BytesIO()
    image.save(stream, "JPEG", quality=70)
    return stream.getvalue()
