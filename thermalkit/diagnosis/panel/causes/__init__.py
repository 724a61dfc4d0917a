"""What makes a part of a cabinet warm, and the questions that tell one from another.

The likelihoods in `sources.csv` are common practice without a published source, and not calibrated.
"""

from __future__ import annotations

from functools import cache

from thermalkit.diagnosis.causes import table_in
from thermalkit.diagnosis.weighing import Table

PREFIX = "panel.cause"  # of the texts


@cache
def table() -> Table:
    """The causes of warmth with the questions that tell them apart."""
    return table_in("thermalkit.diagnosis.panel.causes")
