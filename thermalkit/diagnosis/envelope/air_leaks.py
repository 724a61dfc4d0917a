"""Air leaks from two frames of one view: without a pressure difference, and with one.

A cold bridge looks the same with a fan and without it; where outdoor air is drawn in, a place moves further
from the sound wall. Two frames from one stand share what the camera does across the picture, so their
difference is known to a fraction of a kelvin.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from thermalkit.diagnosis.cautions import flue_caution
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.envelope.examined import Examined, sound_on
from thermalkit.diagnosis.finding import Evidence, Finding, Limit, NextStep, quantity
from thermalkit.diagnosis.judging import verdict
from thermalkit.diagnosis.surface import View, naming, statistics_of, view
from thermalkit.glossary import TERMS
from thermalkit.imaging.mark import Mark
from thermalkit.language import Number, say
from thermalkit.measured import FloatArray, measured
from thermalkit.site.sections.pressure import PressureKeys

UNCHANGED = "unchanged"
LEAST_LEAK_K = 0.3  # own choice: twice what two frames from one stand may differ without a leak
_SPOT_PX = 9


def views_alike(case: Case) -> dict[str, tuple[str, ...]]:
    """For each frame in use, others of its room and size that may show the same view; none is left out."""
    used = [case.site.frames[name] for name in case.decided["frames"]]
    alike = {
        frame.keys.id: tuple(
            other.keys.id
            for other in used
            if other is not frame
            and other.room == frame.room
            and other.apparent_degc.shape == frame.apparent_degc.shape
        )
        for frame in used
    }
    return {name: others for name, others in alike.items() if others}


def repeated_views(case: Case) -> dict[str, str]:
    """Frames taken under pressure by the frame of the same view without it."""
    answers = case.decided.get("pressure", {})
    return {before: name for name, before in answers.items() if before != UNCHANGED and before != name}


def leaks(case: Case, item: Examined) -> Iterator[Finding]:
    """Whether a place moved away from the sound wall once air was drawn through."""
    repeated = repeated_views(case).get(item.mark.frame)
    sound = sound_on(case, item.mark.frame)
    if repeated is None or sound is None or not item.is_suspect:
        return
    pressure_pa = _pressure_pa(case, repeated)
    if pressure_pa is not None and pressure_pa >= 0.0:
        yield _wrong_way(case, item, pressure_pa)
        return
    moved = _moved_k(case, item.mark, sound, repeated)
    if moved is None:
        return
    shown = quantity("leak-contrast", measured(moved, "K"))
    limit = Limit(
        term=TERMS["leak-contrast"],
        sense="at_most",
        value=LEAST_LEAK_K,
        source=say("envelope.leak.limit"),
    )
    judged = verdict(shown, limit)
    yield Finding(
        code="envelope.leak.two-frames",
        place=item.label,
        frame=item.mark.frame,
        mark=item.mark.id,
        statement=say(
            f"envelope.leak.two-frames.{judged.replace(' ', '-')}",
            place=item.label,
            value=shown.shown(),
            limit=Number(LEAST_LEAK_K, "K", 1),
            pressure=say("envelope.pressure.not-measured")
            if pressure_pa is None
            else Number(pressure_pa, "Pa", 0),
        ),
        verdict=judged,
        quantities=(shown,),
        limit=limit,
        evidence=tuple(
            Evidence(kind="picture", reference=name, mark=mark)
            for name, mark in ((item.mark.frame, item.mark.id), (repeated, None))
        ),
        sources=(say("envelope.source.two-frames"),),
        cautions=(flue_caution(case), say("envelope.caution.fan")) if judged != "not indicated" else (),
        next_steps=_steps(judged),
        rests_on=("pressure", "suspect", "sound"),
    )


def _steps(judged: str) -> tuple[NextStep, ...]:
    if judged == "not indicated":
        return ()
    return (NextStep(step=say(f"envelope.next.leak.{judged}"), by=say("by.builder")),)


def _wrong_way(case: Case, item: Examined, pressure_pa: float) -> Finding:
    """Air that is pushed out warms the joint: such a frame shows no leak from inside."""
    return Finding(
        code="envelope.leak.wrong-way",
        place=item.label,
        frame=item.mark.frame,
        mark=item.mark.id,
        statement=say("envelope.leak.wrong-way", place=item.label, pressure=Number(pressure_pa, "Pa", 0)),
        cautions=(flue_caution(case), say("envelope.caution.fan")),
        rests_on=("pressure",),
    )


def _pressure_pa(case: Case, frame: str) -> float | None:
    written = next((p for p in case.site.sections(PressureKeys) if p.frame == frame), None)
    return None if written is None else written.pressure_difference_pa


def _moved_k(case: Case, mark: Mark, sound: Mark, repeated: str) -> FloatArray | None:
    """How much further from the sound wall the place is with the pressure difference, shape (draws,)."""
    before, after = (_contrast_k(case, mark, sound, frame) for frame in (mark.frame, repeated))
    if before is None or after is None:
        return None
    row = case.assumed("pair-drift")
    drift = case.draws.between(f"pair-drift {repeated} {mark.id}", row.low, row.high)
    sign = -1.0 if case.site.is_cooled(case.site.frames[mark.frame].room) else 1.0
    return sign * (after - before) + drift


def _contrast_k(case: Case, mark: Mark, sound: Mark, frame: str) -> FloatArray | None:
    """How much colder the extreme spot of the place is than the sound wall in one of both frames."""
    with naming(case, frame, mark.id):
        seen = view(case, frame)
        warm = case.site.is_cooled(case.site.frames[frame].room)
        here = statistics_of(case, replace(mark, frame=frame))
        spot = here.warmest if warm else here.coldest
        level = statistics_of(case, replace(sound, frame=frame)).mean_degc
        if spot is None:
            return None
        return _degc(case, seen, level, f"{sound.id} level") - _degc(
            case, seen, spot.temperature_degc, f"{mark.id} spot"
        )


def _degc(case: Case, seen: View, apparent_degc: float, place: str) -> FloatArray:
    """Surface temperature with noise alone: what the camera adds at a place is the same in both frames."""
    camera = seen.frame.camera
    stated = camera.noise_k if camera is not None else None
    noise = stated if stated is not None else case.assumed("camera-noise").high
    return seen.surface_degc(
        apparent_degc + case.draws.normal(f"camera-noise {seen.frame.keys.id} {place}", noise / _SPOT_PX**0.5)
    )
