"""An invented site, read and investigated once."""

import importlib.util
from pathlib import Path

import pytest

from thermalkit.diagnosis.run import run
from thermalkit.record.store import replay
from thermalkit.site import read_site


def _load(name):
    spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name(f"{name}.py"))
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="session")
def invented():
    """The module that writes the invented site."""
    return _load("invented")


@pytest.fixture(scope="session")
def site(invented, tmp_path_factory):
    """The invented site as read."""
    return read_site(invented.write_site(tmp_path_factory.mktemp("site")))


@pytest.fixture(scope="session")
def record(invented, site):
    """Every step decided, the first after a change of mind."""
    return invented.entries("damp", site)


@pytest.fixture(scope="session")
def findings(site, record):
    """Findings of the complete record."""
    return run("damp", site, replay(record))
