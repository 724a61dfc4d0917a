"""What must be said wherever somebody may act on a finding."""

from __future__ import annotations

from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Verdict
from thermalkit.imaging.mark import Mark
from thermalkit.language import Sentence, say


def cautions(case: Case, mark: Mark, judged: Verdict | None) -> tuple[Sentence, ...]:
    """Mould is left to those who may touch it; nothing is sealed or extracted before flues are checked."""
    if mark.role != "suspect" or judged == "not indicated":
        return ()
    return (say("caution.mould"), flue_caution(case))


def flue_caution(case: Case) -> Sentence:
    """What is known of appliances that take their air from the rooms."""
    answer = case.decided.get("appliance", "no")
    stated = {room.open_flued_appliance for room in case.site.keys.rooms} - {"unknown"}
    flue = "yes" if "yes" in stated or answer == "yes" else answer
    return say(f"caution.flue.{flue}")
