"""What of the envelope compares between two visits: factors, and extra heat flow."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from thermalkit.diagnosis.change import Compared, HigherIs
from thermalkit.diagnosis.envelope.examined import Examined, all_examined

if TYPE_CHECKING:
    from thermalkit.diagnosis.decisions import Case
    from thermalkit.measured import FloatArray

_RESTS_ON = ("frames", "limit", "suspect", "sound", "junction")


def compared(case: Case) -> Iterator[Compared]:
    """Temperature factor and extra heat flow of each place; in a cooled room the outdoor share instead."""
    for item in all_examined(case):
        for term, draws, higher_is in _quantities(item):
            if draws is not None:
                yield Compared(
                    place=item.label,
                    term=term,
                    draws=draws,
                    room=case.site.frames[item.mark.frame].keys.room,
                    frame=item.mark.frame,
                    mark=item.mark.id,
                    higher_is=higher_is,
                    rests_on=_RESTS_ON,
                )


def _quantities(item: Examined) -> tuple[tuple[str, FloatArray | None, HigherIs], ...]:
    if item.is_cooled:
        as_found = item.place.factor_as_found
        share = None if as_found is None else 1.0 - as_found
        return (("outdoor-share", share, "worse"), ("extra-heat-flow", item.loss.extra_w_k, "worse"))
    return (
        ("temperature-factor", item.place.factor, "better"),
        ("extra-heat-flow", item.loss.extra_w_k, "worse"),
    )
