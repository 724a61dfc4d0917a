"""Decide the sample sites as their invented surveyors would, and write their records.

Run it after a change of a site or of an investigation's questions: python sample_sites/decide.py
"""

from __future__ import annotations

from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from thermalkit.diagnosis.decisions import Step
from thermalkit.diagnosis.run import Answer, run
from thermalkit.record.store import Record, save_record, with_decision
from thermalkit.site.folder import read_site

HERE = Path(__file__).parent
MINUTES_BETWEEN = 2

COLD_CORNER = {
    "water": (
        {
            "corner/cold: age": "older",
            "corner/cold: where": "corner",
            "corner/cold: timing": "winter",
            "corner/cold: wet-now": "wet",
        },
        "the occupant says it comes every winter; built about 1905",
    ),
    "factors": (["cold-bridge"], ""),
    "suspect": (None, "the whole height of the corner is wet to the touch"),
    "remark": (
        "The corner was wet to the touch over its whole height when we came, and the skirting below it is "
        "stained. The gutter outside could **not** be looked at.\n\nWater from outside is therefore not "
        "ruled out by this visit.",
        "",
    ),
}
SOUND_WALL = {
    "water": ({"aussenwand/Streifen: wet-now": "dry", "aussenwand/Streifen: age": "older"}, ""),
    "suspect": (
        [
            {
                "frame": "aussenwand",
                "id": "Streifen",
                "shape": "patch",
                "points": [[60, 40], [60, 70], [190, 70], [190, 40]],
                "role": "suspect",
            }
        ],
        "dunkler Streifen, den der Mieter zeigte; im Bild fällt dort nichts auf",
    ),
    "remark": (
        "Die Wand war trocken und ohne Verfärbung. Der dunkle Streifen hinter dem Schrank ist "
        "abwischbarer Staub.",
        "",
    ),
}
CASES = (("cold-corner", "damp", COLD_CORNER), ("sound-wall", "damp", SOUND_WALL))


def decide(site_name: str, kind: str, own: dict[str, tuple[Any, str]]) -> None:
    """Write `record/<kind>.json`: every proposal kept, but for the surveyor's own answers."""
    site = read_site(HERE / site_name)
    path = site.folder / "record" / f"{kind}.json"
    path.unlink(missing_ok=True)
    record = Record(path=path, kind=kind)
    at = site.keys.site.surveyed_at + timedelta(hours=3)
    by = site.keys.surveyor.name or ""

    def answer(step: Step, proposal: Any, inputs: dict[str, Any]) -> Answer:
        nonlocal record, at
        value, reason = own.get(step.name, (None, ""))
        value = _over(proposal, value)
        at = _later(at)
        record = with_decision(
            record, step, value, proposed=proposal, inputs=inputs, by=by, at=at, reason=reason
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
    for case in CASES:
        decide(*case)
