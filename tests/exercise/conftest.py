"""One small class for all tests of this folder, made once a run."""

from __future__ import annotations

import pytest

from thermalkit.exercise.key import read_key
from thermalkit.exercise.make import make_class
from thermalkit.exercise.plan import TRUTHS, ClassKeys

SEED = "5d0c8a1f7be2943660f1d2c3b4a59687"
PLAN = ClassKeys(name="Trial class", number=len(TRUTHS), difficulty="medium")


@pytest.fixture(scope="session")
def made(tmp_path_factory):
    """A class of six, one case of each truth."""
    return make_class(PLAN, tmp_path_factory.mktemp("class") / "made", SEED)


@pytest.fixture(scope="session")
def key(made):
    return read_key(made.key)
