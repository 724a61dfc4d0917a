"""What to do next at a place, and by whom."""

from __future__ import annotations

from typing import Any

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import NextStep, Verdict
from thermalkit.diagnosis.judging import limit_sets
from thermalkit.diagnosis.memo import kept
from thermalkit.diagnosis.narrowing import narrowings
from thermalkit.diagnosis.places import place
from thermalkit.imaging.mark import Mark
from thermalkit.language import Number, say
from thermalkit.measured import FloatArray

_RESULTS = {
    "damp.surface-humidity": "humidity_percent",
    "damp.temperature-factor": "factor",
    "damp.surface-humidity-at-conditions": "humidity_at_conditions_percent",
}
_REMEDIES = (
    "camera-accuracy",
    "emissivity",
    "reflected-temperature",
    "air-temperature-accuracy",
    "relative-humidity-accuracy",
    "daily-swing",
    "wall-lag",
    "film",
)
_WORTH_SAYING = 0.05


def next_steps(case: Case, mark: Mark, code: str, judged: Verdict) -> tuple[NextStep, ...]:
    """For an open verdict the reading that would narrow it most, for a broken limit what follows from it."""
    if mark.role != "suspect" or judged == "not indicated":
        return ()
    if judged == "indicated":
        if code != "damp.surface-humidity":
            return (NextStep(step=say("damp.next.construction"), by=say("by.consultant")),)
        return (
            NextStep(step=say("damp.next.look"), by=say("by.surveyor"), tells_apart=True),
            NextStep(step=say("damp.next.logger"), by=say("by.surveyor")),
        )
    ranked = _ranked(case, mark)[code]
    return tuple(
        NextStep(step=say(f"narrow.{name}", share=Number(100.0 * share, "%", 0)), by=say("by.surveyor"))
        for name, share in ranked[:2]
        if share > _WORTH_SAYING
    )


def _ranked(case: Case, mark: Mark) -> dict[str, list[tuple[str, float]]]:
    """What would narrow each result of a mark, by code; that of the latest mark is kept."""
    latest = kept(case, "narrowings", dict[str, Any])
    asked = (mark, case.decided["limit"])
    if latest.get("asked") != asked:
        latest |= {"asked": asked, "ranked": narrowings(case, lambda known: _results(known, mark), _REMEDIES)}
    ranked: dict[str, list[tuple[str, float]]] = latest["ranked"]
    return ranked


def _results(case: Case, mark: Mark) -> dict[str, FloatArray | None]:
    found = place(case, mark, limit_sets()[case.decided["limit"]])
    return {code: getattr(found, name) for code, name in _RESULTS.items()}
