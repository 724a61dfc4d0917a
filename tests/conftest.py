"""Sites that tests work on."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest

SLOW_FOLDERS = {
    *("annex", "benchmarks", "damp", "envelope", "exercise", "heating", "hostile", "notebooks", "panel"),
    *("portfolio", "scenes", "workbook"),
}
SAMPLE_SITES = Path(__file__).parents[1] / "sample_sites"


def pytest_collection_modifyitems(items):
    """What drives a browser, runs a whole case or measures speed is left out of the quick subset."""
    for item in items:
        parts = item.path.relative_to(Path(__file__).parents[1]).parts
        if item.get_closest_marker("browser") or SLOW_FOLDERS & set(parts):
            item.add_marker(pytest.mark.slow)


@pytest.fixture
def sample_site(tmp_path):
    """A copy of a sample site by name, free to be changed."""

    def copy(name: str = "cold-corner") -> Path:
        folder = tmp_path / name
        shutil.copytree(SAMPLE_SITES / name, folder, ignore=shutil.ignore_patterns("annex", "__pycache__"))
        return folder

    return copy


@pytest.fixture
def open_site(sample_site):
    """A sample site without any decision."""
    folder = sample_site("cold-corner")
    shutil.rmtree(folder / "record", ignore_errors=True)
    return folder
