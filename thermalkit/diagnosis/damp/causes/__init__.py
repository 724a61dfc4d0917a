"""Which water: the sources of damp, the questions that tell them apart, and what adds to any of them.

The likelihoods in `sources.csv` are common practice without a published source, and not calibrated: they
say what is seen where a source is active and the question was properly looked at. Doubt about the table
itself is what *unknown* stands for.
"""

from __future__ import annotations

from functools import cache

from thermalkit.diagnosis.causes import table_in
from thermalkit.diagnosis.decisions import Case
from thermalkit.diagnosis.weighing import Table
from thermalkit.language import Sentence, say

# What makes any source worse. A cold bridge is no rival of condensation, so none of these is weighed.
FACTORS = ("cold-bridge", "furniture", "little-heating", "shut-vents")


PREFIX = "damp.cause"  # of the texts


@cache
def table() -> Table:
    """The sources of damp with the questions that tell them apart."""
    return table_in("thermalkit.diagnosis.damp.causes")


def factor_options(case: Case) -> dict[str, Sentence]:
    """Conditions that add to any source, to be ticked where they were seen."""
    return {factor: say(f"damp.cause.factor.{factor}") for factor in FACTORS}
