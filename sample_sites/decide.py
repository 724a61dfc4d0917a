"""Decide the sample sites as their invented surveyors would, and write their records.

Their own answers stand in `decisions.json` of each site (and of its earlier visit): by kind and step a value,
None where the proposal is kept, and a reason. Run it after a change of a site or of an investigation's
questions: python sample_sites/decide.py [NAME ...]
"""

from __future__ import annotations

import json
import sys
from collections.abc import Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from thermalkit.diagnosis.decisions import Step
from thermalkit.diagnosis.run import Answer, Proposing, run
from thermalkit.record.store import Record, save_record, with_decision
from thermalkit.site.folder import read_site

HERE = Path(__file__).parent
MINUTES_BETWEEN = 2


def decide_all(names: list[str]) -> None:
    """Write the records of some sites, of all without names; earlier visits come first."""
    for path in sorted(HERE.rglob("decisions.json"), key=lambda path: (-len(path.parts), path)):
        if not names or path.relative_to(HERE).parts[0] in names:
            for kind, own in json.loads(path.read_text(encoding="utf-8")).items():
                decide(path.parent, kind, own)


def decide(folder: Path, kind: str, own: Mapping[str, Mapping[str, Any]]) -> None:
    """Write `record/<kind>.json`: every proposal kept, but for the surveyor's own answers."""
    site = read_site(folder)
    path = site.folder / "record" / f"{kind}.json"
    path.unlink(missing_ok=True)
    record = Record(path=path, kind=kind)
    at = site.keys.site.surveyed_at + timedelta(hours=3)
    by = site.keys.surveyor.name or ""

    def answer(step: Step, propose: Proposing, inputs: dict[str, Any]) -> Answer:
        nonlocal record, at
        proposal, said = propose(), own.get(step.name, {})
        value = _over(proposal, said.get("value"))
        at = _later(at)
        record = with_decision(
            record, step, value, proposed=proposal, inputs=inputs, by=by, at=at, reason=said.get("reason", "")
        )
        return Answer(value=value, state="decided")

    run(kind, site, answer)
    save_record(record)


def _over(proposal: Any, own: Any) -> Any:
    """The surveyor's own answer; answers to single questions are laid over the proposed ones."""
    if own is None:
        return proposal
    return {**proposal, **own} if isinstance(own, dict) else own


def _later(at: datetime) -> datetime:
    return at + timedelta(minutes=MINUTES_BETWEEN)


if __name__ == "__main__":
    decide_all(sys.argv[1:])
