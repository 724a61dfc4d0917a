"""Portfolios of invented sites, small enough to be judged in seconds."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from thermalkit.scenes import Options, random_scene, seen, write_site

TYPES = (("solid brick", 1905), ("cavity brick", 1955), ("panel", 1972))


def write_portfolio(folder: Path, count: int, seed: int = 1) -> Path:
    """Invented sites `a/000`, `b/001`, ... of three types of building."""
    for number in range(count):
        rng = np.random.default_rng([seed, number])
        construction, built = TYPES[number % 3]
        scene = random_scene(rng)
        write_site(
            folder / "abc"[number % 3] / f"{number:04d}",
            [seen(scene, rng, Options(contact=number % 2 == 0))],
            about={"building": {"construction": construction, "built_in": built}},
        )
    return folder


@pytest.fixture(scope="session")
def portfolio(tmp_path_factory):
    """Nine sites, one of them broken; not to be changed."""
    folder = write_portfolio(tmp_path_factory.mktemp("stock"), 9)
    (folder / "a" / "0003" / "site.toml").write_text("format = 1\n[site\n")
    return folder
