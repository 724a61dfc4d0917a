"""What follows, in the trade's terms, by whom, and with which caution. Nothing is ever done under voltage."""

from __future__ import annotations

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import NextStep
from thermalkit.diagnosis.panel.evidence import LOW_LOAD
from thermalkit.diagnosis.panel.examined import Examined
from thermalkit.diagnosis.panel.ways import load_share
from thermalkit.language import Number, Sentence, say

STEADY_MINUTES = 60.0  # common practice: connections and conductors have settled after an hour of one load
_REPAIRED = ("connection", "overload", "unbalance", "neutral", "device", "neighbour")


def cautions(case: Case, item: Examined) -> tuple[Sentence, ...]:
    """Always that it is for qualified persons; then what a low or changing load hides."""
    found = [say("panel.caution.qualified")]
    share = load_share(item.way)
    if share is None:
        found.append(say("panel.caution.load-unknown"))
    elif share < LOW_LOAD:
        found.append(say("panel.caution.low-load", share=Number(100.0 * share, "%", 0)))
    minutes = item.way.circuit.minutes_since_load_changed
    if minutes is not None and minutes < STEADY_MINUTES:
        found.append(say("panel.caution.unsteady", minutes=Number(minutes, "min", 0)))
    if item.way.circuit.true_rms == "no":
        found.append(say("panel.caution.not-true-rms"))
    return tuple(found)


def repairs(item: Examined) -> tuple[NextStep, ...]:
    """When to act, and what to do about the likeliest cause."""
    qualified = say("panel.by.qualified")
    steps = [NextStep(step=say(f"panel.when.{item.band}"), by=qualified, at_once=item.band == "major")]
    cause = item.leading
    if cause in _REPAIRED:
        steps.append(NextStep(step=say(f"panel.repair.{cause}"), by=qualified))
    steps.append(NextStep(step=say("panel.repair.look-again"), by=say("panel.by.thermographer")))
    return tuple(steps)
