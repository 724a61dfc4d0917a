"""What to do next about a place, and by whom."""

from __future__ import annotations

from collections.abc import Callable
from typing import TYPE_CHECKING

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import NextStep, Verdict
from thermalkit.diagnosis.judging import limit_sets
from thermalkit.diagnosis.narrowing import narrowing
from thermalkit.diagnosis.places import place
from thermalkit.imaging.mark import Mark
from thermalkit.language import Number, say
from thermalkit.measured import FloatArray

if TYPE_CHECKING:
    from thermalkit.diagnosis.envelope.examined import Examined

_REMEDIES = (
    "camera-accuracy",
    "emissivity",
    "reflected-temperature",
    "air-temperature-accuracy",
    "daily-swing",
    "wall-lag",
    "film",
)
_WORTH_SAYING = 0.05


def next_steps(case: Case, item: Examined, judged: Verdict) -> tuple[NextStep, ...]:
    """For an open verdict the reading that would narrow it most, for a broken limit what follows from it."""
    if not item.is_suspect or judged == "not indicated":
        return ()
    if judged == "indicated":
        return (
            NextStep(step=say("envelope.next.construction"), by=say("by.consultant")),
            NextStep(step=say("envelope.next.airing"), by=say("by.occupant")),
        )
    ranked = narrowing(case, _factor_of(item.mark), _REMEDIES)
    return tuple(
        NextStep(step=say(f"narrow.{name}", share=Number(100.0 * share, "%", 0)), by=say("by.surveyor"))
        for name, share in ranked[:2]
        if share > _WORTH_SAYING
    )


def _factor_of(mark: Mark) -> Callable[[Case], FloatArray | None]:
    return lambda case: place(case, mark, limit_sets()[case.decided["limit"]]).factor
