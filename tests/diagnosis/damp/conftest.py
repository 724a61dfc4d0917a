"""An invented room with loggers."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.places import Place
from thermalkit.imaging.mark import Mark
from thermalkit.site.folder import read_site
from thermalkit.site.loggers.series import LoggerSeries
from thermalkit.site.model import LoggerKeys

COLD = Mark(
    frame="corner",
    id="cold",
    shape="patch",
    points=((40.0, 12.0), (40.0, 60.0), (88.0, 60.0)),
    role="suspect",
)


def logged(id, place, temperature_degc, humidity=None, *, room=None, start="2026-01-01", **more):
    """A series of hours, as a logger's file would have been read."""
    index = pd.date_range(start, periods=len(temperature_degc), freq="1h", tz="UTC")
    columns = {"temperature_degc": temperature_degc} | more
    if humidity is not None:
        columns["relative_humidity"] = humidity
    keys = LoggerKeys(id=id, file=f"loggers/{id}.csv", place=place, room=room)
    table = pd.DataFrame(columns, index=index)
    return LoggerSeries(keys=keys, table=table, step_s=3600.0, gaps=(), assumed=())


@pytest.fixture
def room_case(sample_site):
    """A case of the sample room with these loggers; other keys replace those of its file."""
    plain = read_site(sample_site("cold-corner"))

    def made(*loggers, mark=COLD, room=None, **keys):
        rooms = tuple(item.model_copy(update=room or {}) for item in plain.keys.rooms)
        frames = {id: replace(frame, room=rooms[0]) for id, frame in plain.frames.items()}
        site = replace(
            plain,
            frames=frames,
            keys=plain.keys.model_copy(update={"rooms": rooms} | keys),
            loggers={series.keys.id: series for series in loggers},
        )
        decided = {"frames": ("corner",), "limit": "GB-dwelling", "suspect": (mark,), "sound": ()}
        return Case(site=site, decided=decided)

    return made


def place_with(factor=None, half_width=0.02, surface_degc=12.0, mark=COLD, size=10_000):
    """A place whose temperature factor lies within a half-width."""
    quantiles = (np.random.default_rng(5).permutation(size) + 0.5) / size
    draws = None if factor is None else factor + half_width * (2.0 * quantiles - 1.0)
    return Place(
        mark=mark,
        surface_degc=np.full(size, surface_degc),
        factor_as_found=draws,
        factor=draws,
        humidity_percent=None,
        humidity_at_conditions_percent=None,
    )


@pytest.fixture
def series_of():
    return logged


@pytest.fixture
def place_of():
    return place_with
