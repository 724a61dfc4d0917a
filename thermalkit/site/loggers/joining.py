"""A logger that was read out more than once: one series of several files, the time between left open."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

import numpy as np

from thermalkit.site.loggers.series import LoggerSeries, gaps_in

_STEPS_ALIKE = 1.5


def joined(loggers: Iterable[LoggerSeries]) -> tuple[LoggerSeries, ...]:
    """Loggers with the files of one and the same put one after another.

    Files belong together where place, room, instrument and position are the same, the time from row to row
    is alike, and they do not contradict each other: rows of a time that both hold are the same in both,
    and the later one goes further. On a surface the position has to be written down, for a logger is easily
    moved to another place. Nothing is filled in between.

    Parameters
    ----------
    loggers : iterable of LoggerSeries

    Returns
    -------
    tuple of LoggerSeries
        Each under the keys of its earliest file; `parts` names all of them.
    """
    found: list[LoggerSeries] = []
    for series in sorted(loggers, key=lambda item: item.span[0]):
        before = next((i for i, item in enumerate(found) if _belongs(item, series)), None)
        if before is None:
            found.append(series)
        else:
            found[before] = _one(found[before], series)
    return tuple(found)


def _belongs(earlier: LoggerSeries, later: LoggerSeries) -> bool:
    keys = [(s.keys.place, s.keys.room, s.keys.instrument, s.keys.position) for s in (earlier, later)]
    steps = sorted((earlier.step_s, later.step_s))
    if keys[0] != keys[1] or not steps[1] <= _STEPS_ALIKE * steps[0]:
        return False
    if earlier.table.columns.tolist() != later.table.columns.tolist():
        return False
    is_anywhere = later.keys.place == "surface" and later.keys.position is None
    if is_anywhere or later.span[1] <= earlier.span[1]:
        return False
    ends = earlier.table.index[-1]
    again, known = later.table[later.table.index <= ends], earlier.table[earlier.table.index >= later.span[0]]
    return again.index.equals(known.index) and np.array_equal(
        again.to_numpy(dtype=np.float64), known.to_numpy(dtype=np.float64), equal_nan=True
    )


def _one(earlier: LoggerSeries, later: LoggerSeries) -> LoggerSeries:
    import pandas as pd

    new = later.table[later.table.index > earlier.table.index[-1]]
    table = pd.concat([earlier.table, new])
    step_s, gaps = gaps_in(table.index)
    return replace(
        earlier,
        table=table,
        step_s=step_s,
        gaps=gaps,
        assumed=(*earlier.assumed, *later.assumed),
        parts=(*(earlier.parts or (earlier.keys,)), later.keys),
    )
