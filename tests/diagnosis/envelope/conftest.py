"""Invented cases of the envelope."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.run import Answer, walk
from thermalkit.record.store import read_record, replay
from thermalkit.scenes import write_site
from thermalkit.site.folder import read_site

SITES = Path(__file__).parents[3] / "sample_sites"


@pytest.fixture
def case_of(tmp_path):
    """A case made from pictures, with more of the site file, and answers over the proposals."""

    def made(pictures, about=None, answers=None, files=None):
        folder = tmp_path / "site"
        write_site(folder, pictures, about=about or {}, marks=("suspect", "sound"), files=files)
        case = Case(site=read_site(folder))

        def answer(step, propose, inputs):
            return Answer(value=(answers or {}).get(step.name, propose()), state="decided")

        walk("envelope", case, answer)
        return case

    return made


@pytest.fixture(scope="session")
def worked():
    """The case of a sample site as its surveyor left it."""

    def case(name):
        site = read_site(SITES / name)
        found = Case(site=site)
        walk("envelope", found, replay(read_record(site.folder, "envelope")))
        return found

    return case


@pytest.fixture
def rng():
    return np.random.default_rng(2026)
