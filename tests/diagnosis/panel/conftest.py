"""Invented rows of circuits with marks, as a case."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.run import accept, walk
from thermalkit.imaging.camera import Camera
from thermalkit.measured import Draws
from thermalkit.scenes.cabinet_cases import SIZES, random_cabinet
from thermalkit.scenes.cabinet_site import shown, write_cabinets
from thermalkit.site.folder import read_site

CAMERA = Camera(rows=240, columns=180, field_of_view_deg=(24.0, 32.0), noise_k=0.05)


@pytest.fixture
def cabinet_case(tmp_path):
    """A case with one row of poles, every proposal taken; `circuits` and `cabinets` change what was noted."""

    def made(fault="connection", *, seed=17, size=SIZES[3], circuits=None, cabinets=None, cabinet=None):
        rng = np.random.default_rng([2026, seed])
        row = cabinet or random_cabinet(rng, fault, camera=CAMERA, size=size)
        found = shown(row, rng)
        count = len([pole for pole in row.poles if not pole.id.startswith("K")])
        about = {"circuits": [dict(circuits or {}) for _ in range(count)], "cabinets": [dict(cabinets or {})]}
        write_cabinets(tmp_path, [found], about=about)
        case = Case(site=read_site(tmp_path), draws=Draws(2000))
        walk("panel", case, accept)
        return case, row

    return made


def without(cabinet, fault="none"):
    """The same cabinet called by another fault."""
    return replace(cabinet, fault=fault)
