"""A decision to save."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from thermalkit.diagnosis.decisions import Step, Words
from thermalkit.record.store import read_record, save_record, with_decision

STEP = Step(name="remark", kind="damp", control=Words(), propose=lambda case: "")


@pytest.fixture
def decide():
    """A record with one more remark; nothing is written."""

    def decided(record, value="dry", **more):
        given = {"proposed": "", "inputs": {}, "by": "surveyor", "at": datetime(2026, 1, 21, tzinfo=UTC)}
        return with_decision(record, STEP, value, **{**given, **more})

    return decided


@pytest.fixture
def saved(decide):
    """Save one more remark in a site folder."""
    return lambda folder, value="dry": save_record(decide(read_record(folder, "damp"), value))
