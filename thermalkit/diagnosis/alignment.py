"""Laying a photo over its frame: the step that asks for pairs of points, and what follows from them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from thermalkit.diagnosis.decisions import Case, Pairs, PairsOn, Step
from thermalkit.diagnosis.marks import pixel_sizes_m
from thermalkit.diagnosis.memo import kept
from thermalkit.imaging.alignment import CLICK_PX, LEAST_PAIRS, Alignment, align
from thermalkit.imaging.leading import led_by_edges
from thermalkit.imaging.registration import proposal
from thermalkit.language import Number, Sentence, say
from thermalkit.site.photos import read_photo

if TYPE_CHECKING:
    from thermalkit.measured import FloatArray
    from thermalkit.site.survey import Site

STEP = "photo-pairs"
LOOKED_AT_PX = 800  # longer side of a photo whose edges are compared
LEAST_PX = 40  # shorter side of a frame that has outlines to compare
_SPREAD = np.array([[0.15, 0.15], [0.15, 0.85], [0.85, 0.85], [0.85, 0.15]])


def photo_pairs_step(
    kind: str, frames: Callable[[Case], tuple[str, ...]], *, is_proposed: bool = True
) -> Step:
    """The question how photos lie on frames, for any investigation.

    Parameters
    ----------
    kind : str
        The investigation.
    frames : callable
        Ids of the frames in use.
    is_proposed : bool
        Whether edges are searched for a first proposal; not where both pictures have few in common.
    """

    def with_photo(case: Case) -> tuple[str, ...]:
        return tuple(name for name in frames(case) if case.site.frames[name].photo is not None)

    return Step(
        name=STEP,
        kind=kind,
        control=PairsOn(with_photo),
        propose=lambda case: {
            name: pairs
            for name in (with_photo(case) if is_proposed else ())
            if (pairs := proposed_pairs(case.site, name))
        },
        reads=("frames", "photos"),
        uses=("frames",),
        applies=lambda case: bool(with_photo(case)),
    )


def proposed_pairs(site: Site, frame_id: str) -> list[list[list[float]]]:
    """Four pairs of a photo that lies on its frame beyond doubt, by their edges; none otherwise."""
    frame = site.frames[frame_id]
    if frame.photo is None:
        return []
    key = (site.files.get(frame.path, ""), site.files.get(frame.photo, ""))
    if key not in _KNOWN:
        _KNOWN[key] = _proposed(frame.apparent_degc, site.folder / frame.photo)
    return [[list(a), list(b)] for a, b in _KNOWN[key]]


_KNOWN: dict[tuple[str, str], Pairs] = {}  # by the bytes of frame and photo: a run asks again and again


def _proposed(apparent_degc: FloatArray, path: Path) -> Pairs:
    photo = read_photo(path, LOOKED_AT_PX)
    if photo is None or not _has_outlines(apparent_degc):
        return ()
    found = proposal(apparent_degc, photo.grey())
    if found is None or found.reason is not None:
        return ()
    first = _spread(apparent_degc.shape)
    second = np.round((found.alignment.mapped(first) + 0.5) * photo.reduction - 0.5, 1)
    inside = np.all((second >= 0) & (second <= (photo.rows - 1, photo.columns - 1)), axis=1)
    if not inside.all():
        return ()
    return tuple((tuple(a), tuple(b)) for a, b in zip(first.tolist(), second.tolist(), strict=True))


def photo_alignment(case: Case, frame_id: str) -> Alignment | None:
    """How the photo of a frame lies on it; None where fewer than four pairs say so.

    Edges lead on from pairs that a person set, where that can be trusted and the pairs could have been
    clicked on the map it leads to; else the pairs decide.

    Raises
    ------
    Unaligned
        The pairs fix no map; says why.
    """
    pairs = case.decided.get(STEP, {}).get(frame_id, ())
    as_set = tuple((tuple(a), tuple(b)) for a, b in pairs)
    return kept(case, ("photo", frame_id, as_set), lambda: _laid(case.site, frame_id, as_set))


def _laid(site: Site, frame_id: str, pairs: Pairs) -> Alignment | None:
    frame = site.frames[frame_id]
    clicked = aligned(pairs, frame.apparent_degc.shape)
    if clicked is None or frame.photo is None or is_proposed(site, frame_id, pairs):
        return clicked
    return _led(frame.apparent_degc, site.folder / frame.photo, clicked) or clicked


def _led(apparent_degc: FloatArray, path: Path, clicked: Alignment) -> Alignment | None:
    """The map that edges lead to, in pixels of the photo's file although a smaller one is looked at."""
    photo = read_photo(path, LOOKED_AT_PX)
    if photo is None or not _has_outlines(apparent_degc):
        return None
    scatter_px = CLICK_PX, _click_on_photo_px(clicked.pairs) / photo.reduction
    seen = clicked.onto_enlarged(1.0 / photo.reduction)
    led = led_by_edges(apparent_degc, photo.grey(), seen, scatter_px=scatter_px)
    return None if led is None else led.onto_enlarged(photo.reduction)


def is_proposed(site: Site, frame_id: str, pairs: Pairs | list[Any]) -> bool:
    """Whether pairs are those that edges proposed, so that nobody set one."""
    given = [[list(a), list(b)] for a, b in pairs]
    where = _spread(site.frames[frame_id].apparent_degc.shape).tolist()  # nobody clicks just there
    return [a for a, _ in given] == where and given == proposed_pairs(site, frame_id)


def _spread(shape: tuple[int, ...]) -> FloatArray:
    """Where on a frame pairs are proposed, rows and columns, shape (4, 2)."""
    return np.asarray(np.round(_SPREAD * (np.array(shape) - 1.0), 1))


def _has_outlines(apparent_degc: FloatArray) -> bool:
    return bool(np.isfinite(apparent_degc).any() and min(apparent_degc.shape) >= LEAST_PX)


def aligned(pairs: Pairs | list[Any], shape: tuple[int, ...]) -> Alignment | None:
    """The map from a frame to its photo through pairs; None where fewer than four are given.

    Raises
    ------
    Unaligned
        The pairs fix no map; says why.
    """
    if len(pairs) < LEAST_PAIRS:
        return None
    clicked = np.asarray(pairs, dtype=np.float64)
    scatter_px = CLICK_PX, _click_on_photo_px(clicked)
    return align(clicked[:, 0], clicked[:, 1], scatter_px=scatter_px, shape=(shape[0], shape[1]))


def _click_on_photo_px(pairs: FloatArray) -> float:
    """A photo has more pixels than a frame, and is clicked as finely as it is shown."""
    extent = np.ptp(pairs, axis=0).max(axis=-1)  # of the points on frame and photo
    return CLICK_PX * max(float(extent[1] / max(extent[0], 1e-9)), 1.0)


def residuals_px(found: Alignment) -> FloatArray:
    """How far apart the points of each pair lie, in pixels of the frame, shape (pairs,)."""
    moved = found.mapped(found.pairs[:, 0] + [[0.0, 1.0]]) - found.mapped(found.pairs[:, 0])
    return np.asarray(found.residual_px / np.linalg.norm(moved, axis=1))


def alignment_said(case: Case, frame_id: str, found: Alignment) -> tuple[Sentence, ...]:
    """How well a photo lies on its frame, in what plane that holds, and which pairs do not fit."""
    left = residuals_px(found)
    fit = _fit(case.site, frame_id, found, np.delete(left, found.left_out))
    slips = tuple(say("alignment.left-out", pair=i + 1) for i in found.left_out)
    doubt = () if found.is_consistent else (say("alignment.contradict", pair=int(np.argmax(left)) + 1),)
    return (fit, *slips, *doubt, say("alignment.parallax"))


def _fit(site: Site, frame_id: str, found: Alignment, left_px: FloatArray) -> Sentence:
    """By what the photo is laid over the frame, and how far the pairs in use lie apart."""
    count = len(left_px)
    if is_proposed(site, frame_id, found.pairs.tolist()):
        return say("alignment.by-edges")
    if count <= LEAST_PAIRS and not found.is_led:
        return say("alignment.four-fit", count=count)
    apart_px = float(np.sqrt(np.mean(left_px**2)))
    how, px = "led" if found.is_led else "fit", Number(apart_px, "", 1)
    size = pixel_sizes_m(site.frames[frame_id])
    if size is None:
        return say(f"alignment.{how}-px", count=count, px=px)
    return say(f"alignment.{how}-mm", count=count, px=px, mm=Number(1000.0 * apart_px * size[1], "mm", 0))
