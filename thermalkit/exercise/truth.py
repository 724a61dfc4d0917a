"""What is true of a case, as a key holds it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from thermalkit.diagnosis.class_.questions import questions
from thermalkit.diagnosis.class_.steps import STEPS
from thermalkit.diagnosis.decisions import Case
from thermalkit.exercise.outlines import polygons
from thermalkit.site import Site

TRUST = "limited"  # every visit has one trap that widens the result


def truth_table(
    kind: str,
    *,
    frames: tuple[str, str],
    same_view: tuple[str, ...] = (),
    area: NDArray[np.bool_],
    unfit: NDArray[np.bool_],
    comparable: NDArray[np.bool_] | None = None,
    brightest: tuple[int, int, int, int],
    numbers: Mapping[str, tuple[Iterable[float], float]],
    traps: tuple[str, str],
    neutral: Iterable[str] = (),
    **answers: Any,
) -> dict[str, Any]:
    """The truth of a case as plain data.

    Parameters
    ----------
    kind : str
    frames : (str, str)
        The frame with the place, and that of another room.
    same_view : tuple of str
        Frames that repeat the view of the first.
    area, unfit : ndarray of bool, shape (rows, columns)
        The place, and where a sound stretch must not be taken.
    comparable : ndarray of bool, optional
        Where alone one may be taken; anywhere else, if left out.
    brightest : box
        What is brightest in the picture.
    numbers : mapping
        What is accepted of each number, in step with one another, and how far off one may be.
    traps : (str, str)
        Of the visit and of the picture; `neutral` are traps that are the matter itself.
    **answers
        `look`, `emissivity`, `verdict`, `cause` and `order`.
    """
    return {
        "kind": kind,
        "frame": frames[0],
        "frame_of_another_room": frames[1],
        "same_view": list(same_view),
        "shape": list(area.shape),
        "area": polygons(area),
        "unfit": polygons(unfit),
        "comparable": [] if comparable is None else polygons(comparable),
        "brightest": list(brightest),
        "look": list(answers["look"]),
        "survey": [traps[0]],
        "trust": TRUST,
        "predict": sorted({_band(kind, abs(value)) for value in numbers["difference"][0]}),
        "emissivity": answers["emissivity"],
        "numbers": {
            name: {"accepted": [round(v, 2) for v in accepted], "within": round(within, 2)}
            for name, (accepted, within) in numbers.items()
        },
        "verdict": answers["verdict"],
        "cause": answers["cause"],
        "order": list(answers["order"]),
        "traps": [traps[1]],
        "neutral_traps": list(neutral),
    }


def mark_inputs(site: Site) -> dict[str, Any]:
    """What marks rest on besides earlier answers, as the record fingerprints it."""
    step = next(step for step in STEPS if step.name == "suspect")
    inputs = Case(site=site).inputs(step)
    return {name: inputs[name] for name in ("site", "files")}


def _band(kind: str, difference_k: float) -> str:
    bands = questions(kind).bands_k.items()
    return next(id for id, (low, high) in bands if low <= difference_k < high)
