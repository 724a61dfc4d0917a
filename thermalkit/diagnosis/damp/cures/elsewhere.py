"""Water that does not come from the room's air: stop it, let it dry, repair, look again.

Orders of work are common practice, as are drying times.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from thermalkit.diagnosis.damp.cures.wording import finding
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.finding import Finding, NextStep, Quantity, quantity
from thermalkit.diagnosis.places import Place
from thermalkit.language import Interval, Number, Sentence, say
from thermalkit.measured import measured
from thermalkit.site.sections.elements import ElementKeys

WORTH_WORKING_ON = 0.20  # own choice: below it a source is looked into, not yet worked on
DAYS_A_MONTH = 30.4
DRYING_STEP_MM = 25.0

# Who stops the water, and who may repair afterwards.
_STOPPED_BY = {
    "ground": "by.damp-specialist",
    "bridged": "by.builder",
    "rain": "by.roofer",
    "plumbing": "by.plumber",
    "air-leak": "by.ventilation",
    "construction": "by.builder",
    "salts": "by.laboratory",
}
_DRY_SLOWLY = ("ground", "bridged", "rain", "plumbing", "construction")


def elsewhere(case: Case, place: Place, label: str, sources: Mapping[str, float]) -> Iterator[Finding]:
    """An order of work for each source that is likely enough, the likeliest first."""
    found = {name: sources[name] for name in _STOPPED_BY if sources.get(name, 0.0) >= WORTH_WORKING_ON}
    for name in sorted(found, key=lambda item: -found[item]):
        dries = name in _DRY_SLOWLY
        drying, quantities = _drying(case, place) if dries else (None, ())
        statement = say(
            f"damp.cure.elsewhere{'' if drying is None else '.drying'}",
            place=label,
            source=say(f"damp.cure.water.{name}"),
            probability=Number(100.0 * found[name], "%", 0),
            **({} if drying is None else {"drying": drying}),
        )
        yield finding(
            case,
            place,
            label,
            f"elsewhere-{name}",
            statement,
            quantities,
            next_steps=tuple(_steps(name, dries)),
            probability=round(found[name], 2),
            extra_cautions=(say("damp.cure.caution.services"),),
            sources=("damp.cure.source.drying",),
        )


def _steps(name: str, dries: bool) -> Iterator[NextStep]:
    yield NextStep(step=say(f"damp.cure.stop.{name}"), by=say(_STOPPED_BY[name]))
    if dries:
        yield NextStep(step=say("damp.cure.dry"), by=say("by.occupant"))
    yield NextStep(step=say("damp.cure.repair"), by=say("by.builder"))
    yield NextStep(step=say("damp.cure.look-again"), by=say("by.surveyor"))


def _drying(case: Case, place: Place) -> tuple[Sentence, tuple[Quantity, ...]]:
    """How long the wall takes, in words and as a quantity where its thickness is known."""
    wall = only_wall(case, place)
    if wall is None:
        return say("damp.cure.drying.rule"), ()
    thickness_mm = sum(layer.thickness_mm for layer in wall.layers)
    pace, faces = (case.assumed(name) for name in ("drying-per-25-mm", "open-faces"))
    months_each = case.draws.between("drying-per-25-mm wall", pace.low, pace.high)
    open_faces = case.draws.between("open-faces wall", faces.low, faces.high)
    months = thickness_mm / open_faces / DRYING_STEP_MM * months_each
    m = measured(months, "")
    shown = Interval(m.value, m.low, m.high, "", 0)
    statement = say("damp.cure.drying.wall", thickness=Number(thickness_mm, "mm", 0), months=shown)
    return statement, (quantity("drying-time", measured(months * DAYS_A_MONTH, "d")),)


def only_wall(case: Case, place: Place) -> ElementKeys | None:
    """The wall written down for the room with its layers; None where there is none or more than one."""
    room = case.site.frames[place.mark.frame].keys.room
    walls = [e for e in case.site.sections(ElementKeys) if e.kind == "wall" and e.room == room and e.layers]
    return walls[0] if len(walls) == 1 else None
