"""What was worked out in a run, kept as long as its draws: findings, charts and evidence share it."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Any, TypeVar
from weakref import WeakKeyDictionary

from thermalkit.diagnosis.decisions import Case
from thermalkit.measured import Draws

T = TypeVar("T")

_KEPT: WeakKeyDictionary[Draws, dict[Hashable, Any]] = WeakKeyDictionary()


def kept(case: Case, key: Hashable, work: Callable[[], T]) -> T:
    """The result of `work`, done once for a key; the key names everything that it depends on in a run."""
    known = _KEPT.setdefault(case.draws, {})
    whole = (id(case.site), key)
    if whole not in known:
        known[whole] = work()
    result: T = known[whole]
    return result
