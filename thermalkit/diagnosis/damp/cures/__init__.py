"""What cures it: ventilation, warmth, insulation, alone and together; water from elsewhere; looking again."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from thermalkit.diagnosis.damp.cures.again import again
from thermalkit.diagnosis.damp.cures.alone import alone
from thermalkit.diagnosis.damp.cures.combined import combination_chart, combined
from thermalkit.diagnosis.damp.cures.elsewhere import elsewhere
from thermalkit.diagnosis.damp.cures.humid_outdoors import humid_outdoors, is_airing_harmful
from thermalkit.diagnosis.damp.cures.inside import inside_insulation
from thermalkit.diagnosis.damp.cures.over_time import hours_left, months_chart, months_left
from thermalkit.diagnosis.damp.cures.remedy import advised, remedies
from thermalkit.diagnosis.damp.cures.running_cost import running_costs
from thermalkit.diagnosis.damp.cures.situations import Situation, Weathers, weathers
from thermalkit.diagnosis.damp.seasons.climate import room_of
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Chart, Finding
from thermalkit.diagnosis.judging import LimitSet
from thermalkit.diagnosis.labels import place_label
from thermalkit.diagnosis.places import Place
from thermalkit.measured import FloatArray


def cure_findings(
    case: Case,
    place: Place,
    limits: LimitSet,
    sources: Mapping[str, float] | None = None,
    *,
    label: str | None = None,
    air_change_per_h: FloatArray | float | None = None,
) -> Iterator[Finding]:
    """Everything that can be said of cures at a suspect place.

    Parameters
    ----------
    case, place, limits
        The run so far, the place as measured, what it is judged by.
    sources : mapping of str to float, optional
        Probability of each source of water; None where they were not weighed.
    label : str, optional
        What the place is called in the findings; its room and mark otherwise.
    air_change_per_h : float or ndarray of shape (draws,), optional
        The present air change of the room where it is known.
    """
    if place.mark.role != "suspect":
        return
    name = label or place_label(case, place.mark)
    yield from humid_outdoors(case, place, name)
    found = weathers(case, place, limits) if _is_condensation_worth_curing(case, place, sources) else None
    if found is not None:
        probability = None if sources is None else round(sources.get("condensation", 0.0), 2)
        yield from _condensation(case, place, found, name, air_change_per_h, probability)
    other = [] if sources is None else list(elsewhere(case, place, name, sources))
    yield from other
    asked = () if found is None else _all(found)
    is_any_needed = not asked or any(_needs_something(situation) for situation in asked)
    if not case.site.is_cooled(room_of(case, place.mark.frame)) and (other or is_any_needed):
        yield again(case, place, name, limits)


def cure_charts(
    case: Case,
    place: Place,
    limits: LimitSet,
    sources: Mapping[str, float] | None = None,
    *,
    label: str | None = None,
) -> Iterator[Chart]:
    """Room air against insulation, and the months of an average year, where they can be given."""
    if place.mark.role != "suspect" or not _is_condensation_worth_curing(case, place, sources):
        return
    name = label or place_label(case, place.mark)
    found = weathers(case, place, limits)
    if not found.present or not _needs_something(found.present[0]):
        return
    yield combination_chart(place, name, found.present[0])
    if found.months:
        yield months_chart(place, name, found.months, advised(found.stated, found.present[0]))


def _is_condensation_worth_curing(case: Case, place: Place, sources: Mapping[str, float] | None) -> bool:
    """Only a heated room on a day of heating; and not where another source is all but certain."""
    is_cooled = case.site.is_cooled(room_of(case, place.mark.frame))
    if is_cooled or is_airing_harmful(case, place) or place.factor is None:
        return False
    if sources is None:
        return True
    rivals = max((p for name, p in sources.items() if name not in _NO_RIVALS), default=0.0)
    least = _LEAST_BESIDE_ANOTHER if rivals >= _ANOTHER_LEADS else _LEAST_LIKELY
    return (
        sources.get("condensation", 0.0) + (0.0 if rivals >= _ANOTHER_LEADS else sources.get("unknown", 0.0))
        > least
    )


_NO_RIVALS = ("condensation", "unknown", "nothing")
_ANOTHER_LEADS = 0.5  # more likely than not
_LEAST_LIKELY = 0.05  # own choice
_LEAST_BESIDE_ANOTHER = 0.15  # own choice


def _condensation(
    case: Case,
    place: Place,
    found: Weathers,
    label: str,
    air_change_per_h: FloatArray | float | None,
    probability: float | None,
) -> Iterator[Finding]:
    for situation in _all(found):
        yield alone(case, place, label, situation, air_change_per_h)
    if not found.present or not _needs_something(found.present[0]):
        return
    situation = found.present[0]
    choice = advised(found.stated, situation)
    yield combined(case, place, label, situation, probability)
    if found.months:
        yield months_left(case, place, label, found.months, choice)
    yield from hours_left(case, place, label, situation, choice)
    yield from running_costs(case, place, label, situation, choice, air_change_per_h)
    if case.site.frames[place.mark.frame].keys.subject != "opening":
        yield from inside_insulation(case, place, label, choice[2])


def _all(found: Weathers) -> tuple[Situation, ...]:
    return found.present if found.stated is None else (found.stated, *found.present)


def _needs_something(situation: Situation) -> bool:
    return any(item.reach != "none" for item in remedies(situation))
